"""A part of a page that may fail alone: what went wrong stands in its place, the rest of the page stays."""

from collections.abc import Iterator
from contextlib import contextmanager

from nicegui import context, ui

from fourpatch.app.fault import fault_text


@contextmanager
def surviving(what: str) -> Iterator[None]:
    """Draw a part; if that fails, take away what is drawn of it and say what went wrong.

    Parameters
    ----------
    what : the part's name at the head of a sentence; it is not there.
    """
    slot = context.slot
    before = set(slot.children)
    try:
        yield
    except Exception as error:
        for drawn in [one for one in slot.children if one not in before]:
            slot.parent.remove(drawn)
        with slot:
            said = ui.label(f"{what} cannot be shown. {fault_text(error)}")
            said.classes("fp-warnbox").props('role="alert"')
