"""Long work: how far it has come, and whether whoever asked for it still wants it.

One pattern for every computation that takes more than a second or two. It takes::

    progress: Progress = unwatched
    cancelled: Cancelled = never

It calls ``progress`` with the share that is done, never less than before, and with what is computed next; and
it asks ``cancelled`` wherever it can stop, which is between batches of runs, a second or so apart. Both are
called in the thread that does the work, so neither must take long. When ``cancelled`` says yes, work that
has an answer to show returns it with ``stopped`` set; work that has none raises `fourpatch.errors.Stopped`.
Never is an answer returned that looks complete and is not.
"""

from collections.abc import Callable

from fourpatch.errors import Stopped

Progress = Callable[[float, str], None]
"""Told the share that is done, 0 to 1, and what is being computed."""

Cancelled = Callable[[], bool]
"""Says whether to stop."""


def unwatched(share: float, text: str) -> None:
    """Let work go on without telling anybody how far it is."""


def never() -> bool:
    """Let work go on to its end."""
    return False


def go_on(cancelled: Cancelled, doing: str) -> None:
    """Stop here if that is wanted.

    Parameters
    ----------
    doing : what is given up, for the message.

    Raises
    ------
    Stopped
        If it is.
    """
    if cancelled():
        raise Stopped(f"Stopped before there was anything to show: {doing}.")


def stretch(progress: Progress, begin: float, end: float, *, of: str = "") -> Progress:
    """Return what tells the progress of a part that lies between two shares of the whole.

    Parameters
    ----------
    of : put before what the part says.
    """
    named = f"{of}: " if of else ""
    return lambda share, text: progress(begin + (end - begin) * share, named + text)
