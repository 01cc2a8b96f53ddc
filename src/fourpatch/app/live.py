"""The loop behind a moving slider: wait until something changed, compute, show; the latest wins."""

import asyncio
from collections.abc import Awaitable, Callable
from typing import Generic, TypeVar

from nicegui import background_tasks

T = TypeVar("T")


class LiveLoop(Generic[T]):
    """One worker of one browser tab.

    Nothing queues: whatever is asked for while a computation runs is computed once, with the state as it is
    then. Computations run in a thread; the kernels in them let go of the interpreter.
    """

    def __init__(
        self,
        *,
        compute: Callable[[], T],
        show: Callable[[T], Awaitable[None]],
        refuse: Callable[[Exception], None],
    ) -> None:
        """Make a loop that is not started.

        Parameters
        ----------
        compute : snapshots the state and computes, in a thread.
        show : sends a result to the page; the next computation waits until it is shown.
        refuse : is told what went wrong; the loop goes on.
        """
        self._compute, self._show, self._refuse = compute, show, refuse
        self._dirty = asyncio.Event()
        self._task: asyncio.Task[None] | None = None

    def start(self) -> None:
        """Begin; needs a running event loop."""
        self._task = background_tasks.create(self._run(), name="live loop")

    def wake(self) -> None:
        """Say that the state has changed."""
        self._dirty.set()

    def stop(self) -> None:
        """End, when the tab has left."""
        if self._task is not None:
            self._task.cancel()

    async def _run(self) -> None:
        while True:
            await self._dirty.wait()
            self._dirty.clear()
            try:
                await self._show(await asyncio.to_thread(self._compute))
            except TimeoutError:
                continue  # the page was too busy to answer, or is gone; stop() ends us then
            except Exception as error:
                self._refuse(error)
