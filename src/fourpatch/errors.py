"""What can go wrong for a user, by who can mend it. Every message names place, value and remedy."""


class FourpatchError(Exception):
    """Base of all errors a user can meet; its text is shown as it is, never a traceback."""


class FileError(FourpatchError):
    """A file is missing, unreadable, or says something that cannot be meant."""


class CarError(FourpatchError):
    """A car or set-up that cannot exist or cannot stand."""


class SolveError(FourpatchError):
    """A computation that did not reach an answer."""


class TrackError(FourpatchError):
    """A road, kerb or track that cannot be driven or is described too coarsely."""


class EventError(FourpatchError):
    """A test the car cannot be put through as described."""


class AdviceError(FourpatchError):
    """A question to the advice that cannot be read, contradicts itself, or is beyond the model."""


class NotebookError(FourpatchError):
    """A notebook that cannot be opened, read or written, or that has not what was asked for."""


class NotebookConflict(NotebookError):
    """A change to something that has been changed since it was read: nothing was overwritten."""


class Stopped(FourpatchError):
    """Long work that whoever asked for it stopped before it had an answer."""
