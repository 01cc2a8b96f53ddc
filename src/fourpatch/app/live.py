"""The loop behind a moving slider: wait until something changed, compute, show; the latest wins."""

import asyncio
import contextlib
import time
from collections.abc import Awaitable, Callable, Sequence
from dataclasses import dataclass
from typing import Any

LONGEST_WAIT = 0.25
"""However fast the hand moves, what is refined is shown at least this often. [s]"""


@dataclass(frozen=True, slots=True)
class Stage:
    """A part of an answer: what is looked at comes first, the rest after."""

    compute: Callable[[], Any]
    """Snapshots the state and computes, in a thread."""
    show: Callable[[Any], Awaitable[None]]
    """Sends the result to the page; the next computation waits until it is shown."""
    rest: float = 0.0
    """How long the hand must have rested before this part is begun, for one that takes longer than an answer
    may; 0 for one that is shown while the hand moves. [s]"""


class LiveLoop:
    """One worker of one browser tab.

    Nothing queues: whatever is asked for while a computation runs is computed once, with the state as it is
    then. A later stage is left out while the hand still moves, but not for longer than `LONGEST_WAIT`.
    Computations run in a thread; the kernels in them let go of the interpreter.
    """

    def __init__(self, stages: Sequence[Stage], *, refuse: Callable[[Exception], None]) -> None:
        """Make a loop that is not started.

        Parameters
        ----------
        refuse : is told what went wrong; the loop goes on.
        """
        self._stages, self._refuse = tuple(stages), refuse
        self._dirty = asyncio.Event()
        self._task: asyncio.Task[None] | None = None
        self._refined = 0.0
        self._first = 0  # stage from which an answer is due
        self._over = False

    def start(self) -> None:
        """Begin, unless the tab has left already; needs a running event loop."""
        if self._over:
            return
        self._task = asyncio.create_task(self._run(), name="live loop")
        self.wake()

    def wake(self) -> None:
        """Say that the state has changed."""
        self._first = 0
        self._dirty.set()

    def wake_last(self) -> None:
        """Say that the last stage alone is asked anew; what the others have shown still holds."""
        self._dirty.set()

    def stop(self) -> None:
        """End, when the tab has left."""
        self._over = True
        if self._task is not None:
            self._task.cancel()

    async def _run(self) -> None:
        while True:
            await self._dirty.wait()
            self._dirty.clear()
            try:
                await self._answer()
            except Exception as error:
                self._refuse(error)

    async def _answer(self) -> None:
        first, self._first = self._first, len(self._stages) - 1
        for place, stage in enumerate(self._stages[first:], start=first):
            if await self._overtaken(place, stage):
                self._first = min(self._first, place)
                return
            found = await asyncio.to_thread(stage.compute)
            # A page too busy to say that it has drawn still wants the stages that follow; stop() ends us
            # when it is gone.
            with contextlib.suppress(TimeoutError):
                await stage.show(found)
        self._refined = time.monotonic()

    async def _overtaken(self, place: int, stage: Stage) -> bool:
        """Return whether a part is to be left out for now, for what was asked meanwhile."""
        if stage.rest and self._refined:  # the first answer of all is not waited with
            with contextlib.suppress(TimeoutError):
                await asyncio.wait_for(self._dirty.wait(), stage.rest)
            return self._dirty.is_set()
        hurried = time.monotonic() - self._refined < LONGEST_WAIT
        return place > 0 and self._dirty.is_set() and hurried
