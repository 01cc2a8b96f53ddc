"""What is said of an error: what can be mended as it is said, a fault of ours as one, with what to do."""

import logging

from fourpatch.errors import FourpatchError

log = logging.getLogger(__name__)

OURS = "This is a fault of Fourpatch, not of your input:"

_REMEDY = (
    "What you made is in the notebook and safe. Load the page again, or go on on another page; if it comes "
    "back, write down what you did before it and report it with these words."
)


def fault_text(error: BaseException) -> str:
    """Return an error as a user is told it; of a fault of ours the log has the whole."""
    if isinstance(error, FourpatchError):
        return str(error)
    log.error("%s", error, exc_info=error)
    named = f"{type(error).__name__}: {error}".rstrip(": .")
    return f"{OURS} {named}. {_REMEDY}"
