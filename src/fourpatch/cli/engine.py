"""Telling a user why the first run after an update takes long."""

import sys
from typing import Any

LINE = "Preparing the engine, once after an update: about 20 s, longer on a busy machine ..."

_said: list[str] = []


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

        def on_end(self, event: Any) -> None:
            """Nothing to say: the answer follows."""

    if not _said:
        event.register("numba:compile", Announcer())  # type: ignore[no-untyped-call]
