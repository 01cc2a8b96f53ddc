"""Telling a user why the first run after an update takes long."""

import sys
import tempfile
from typing import Any

LINE = (
    "Preparing the engine, once after an update: about half a minute for the rig, a minute for the drive, "
    "longer on a busy machine ..."
)

_said: list[str] = []


def unkept() -> str:
    """Return a sentence on why what is compiled cannot be kept; empty if it can."""
    from fourpatch.physics._compile import cache_folder

    folder = cache_folder()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            return ""
    except OSError as error:
        return (
            f"It cannot be kept in {folder} ({error.strerror}), so every start will take as long. Name a "
            "folder that can be written in FOURPATCH_CACHE."
        )


def announce_compilation() -> None:
    """Write a line to standard error, once, when a kernel has to be compiled because the cache has none.

    Notes
    -----
    The compiler itself says when it begins; nothing is guessed from the files of the cache.
    """
    from numba.core import event

    class Announcer(event.Listener):
        def on_start(self, event: Any) -> None:
            if not _said:
                _said.append(LINE)
                print(LINE, file=sys.stderr, flush=True)
                if reason := unkept():
                    print(reason, file=sys.stderr, flush=True)

        def on_end(self, event: Any) -> None:
            """Nothing to say: the answer follows."""

    if not _said:
        event.register("numba:compile", Announcer())  # type: ignore[no-untyped-call]
