"""Whether the engine is being compiled, which it is once after an update."""

import time
from typing import Any

from numba.core import event

PREPARING = (
    "Preparing the engine, once after an update: about half a minute for the rig, a minute more when "
    "something is first driven. Everything answers at once from then on."
)


class Engine(event.Listener):
    """Listens to the compiler, which alone knows."""

    def __init__(self) -> None:
        self._under_way = 0
        self._begun = self._spent = 0.0
        # numba's register and unregister carry no types.
        event.register("numba:compile", self)  # type: ignore[no-untyped-call]

    @property
    def preparing(self) -> bool:
        """Whether something is being compiled."""
        return self._under_way > 0

    @property
    def spent(self) -> float:
        """How long has been compiled since the app was started. [s]"""
        return self._spent + (time.monotonic() - self._begun if self.preparing else 0.0)

    def on_start(self, event: Any) -> None:
        """Count a function whose compilation begins; compilations nest."""
        if not self._under_way:
            self._begun = time.monotonic()
        self._under_way += 1

    def on_end(self, event: Any) -> None:
        """Count it out again."""
        if self._under_way == 1:
            self._spent += time.monotonic() - self._begun
        self._under_way -= 1

    def close(self) -> None:
        """Listen no more."""
        event.unregister("numba:compile", self)  # type: ignore[no-untyped-call]
