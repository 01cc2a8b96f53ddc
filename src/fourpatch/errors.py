"""What can go wrong for a user, by who can mend it. Every message names place, value and remedy."""

from collections.abc import Mapping


class FourpatchError(Exception):
    """Base of all errors a user can meet; its text is shown as it is, never a traceback."""

    def _render_traceback_(self) -> list[str]:
        """Return what a notebook shows in the place of a traceback (a method that IPython asks for)."""
        return [f"{type(self).__name__}: {self}"]


class FileError(FourpatchError):
    """A file is missing, unreadable, or says something that cannot be meant."""


class CarError(FourpatchError):
    """A car or set-up that cannot exist or cannot stand."""


class FieldsError(CarError):
    """What was filled in cannot be meant; each fault belongs to a field."""

    def __init__(self, fields: Mapping[str, str]) -> None:
        super().__init__("\n".join(f"{name} {text}".strip() for name, text in fields.items()))
        self.fields = dict(fields)
        """By the name of the field, the rest of a sentence whose subject it is; under "" a whole one."""


class SolveError(FourpatchError):
    """A computation that did not reach an answer."""


class TrackError(FourpatchError):
    """A road, kerb or track that cannot be driven or is described too coarsely."""


class RunError(FourpatchError):
    """A run that has not the channels that a question needs, or whose channels cannot be meant."""


class RecordingError(FourpatchError):
    """A recording that cannot be read, or that does not tell what was asked."""


class EventError(FourpatchError):
    """A test the car cannot be put through as described."""


class AdviceError(FourpatchError):
    """A question to the advice that cannot be read, contradicts itself, or is beyond the model."""


class NotebookError(FourpatchError):
    """A notebook that cannot be opened, read or written, or that has not what was asked for."""


class NotebookMissing(NotebookError):
    """Something asked for that the notebook has not."""


class NotebookConflict(NotebookError):
    """A change to something that has been changed since it was read: nothing was overwritten."""


class Stopped(FourpatchError):
    """Long work that whoever asked for it stopped before it had an answer."""
