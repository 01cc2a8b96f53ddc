"""Autosave: what is turned on a desk is in the notebook a moment later, or said not to be."""

import asyncio
import contextlib
import threading
from collections.abc import Callable

from fourpatch.app.fitting import fitting, misfit_text
from fourpatch.app.state import Desk
from fourpatch.errors import FourpatchError, NotebookConflict
from fourpatch.notebook.notebook import Notebook

REST = 0.7
"""Rest of the hand after which a change is kept as a version. [s]"""
AT_LATEST = 10.0
"""How long a change waits for the hand to rest. [s]"""

RESTORED = (
    "The notebook was restored since this page was opened. Load the page again; what is turned here is not "
    "kept."
)

_OUTDATED = (
    "What can be turned on this car was changed since this page was opened. B is kept as far as the car can "
    "still take it; load the page again to go on."
)
_NAMED = 3  # adjusters that the reason of a version names


class Keeper:
    """Keeps the set-up of one tab."""

    def __init__(self, desk: Desk, notebook: Notebook) -> None:
        self.desk = desk
        self._notebook = notebook
        self._task: asyncio.Task[None] | None = None
        self._since: float | None = None
        """When the first change that is not yet kept was made, by the loop's clock."""
        self._ended = False
        self._lock = threading.Lock()
        self.told: list[Callable[[], None]] = []
        """Called after it was kept, or could not be."""
        self.fault = ""
        """Why the last change is not kept; empty if it is."""
        self.conflict = False
        """Whether another window has changed the set-up since this one opened it."""
        self.outdated = False
        """Whether what can be turned on the car was changed since this tab opened it."""
        self.kept_turn = 0
        """The last turn that is in the notebook."""
        desk.changed.append(self._soon)

    def keep_now(self) -> None:
        """Keep B as it stands, if it differs from what is kept."""
        desk = self.desk
        with self._lock:
            turn, b = desk.sequence, desk.b  # in this order: B holds this turn at least
            if self.conflict or self._ended:
                return
            if dict(b.values) == dict(desk.kept.values):
                self.kept_turn = turn
                return
            try:
                car = self._notebook.cars.read(desk.car_id)
                self.outdated = car.adjusters != desk.car.adjusters
                version = self._notebook.setups.change(
                    desk.setup_id,
                    head=desk.head,
                    values=fitting(car, b).values if self.outdated else b.values,
                    reason=change_text(desk.kept.values, b.values),
                    by=desk.window,
                )
            except FourpatchError as error:
                self.fault, self.conflict = str(error), isinstance(error, NotebookConflict)
            else:
                desk.head, desk.kept, desk.misfit = version.id, b, ""
                self.fault = f"{_OUTDATED} {misfit_text(car, b)}".rstrip() if self.outdated else ""
                self.kept_turn = turn

    def end(self, why: str) -> None:
        """Keep nothing from now on, and say why."""
        with self._lock:
            self._ended, self.fault = True, why

    def take_fit(self) -> None:
        """Keep B as it was put to fit the car as it is now, though nobody has turned it since."""
        desk = self.desk
        with self._lock:
            if self._ended:
                return
            version = self._notebook.setups.change(
                desk.setup_id,
                head=desk.head,
                values=desk.b.values,
                reason="put to what the car now has",
                by=desk.window,
            )
            desk.head, desk.kept, desk.misfit = version.id, desk.b, ""
        for listener in self.told:
            listener()

    def keep_as_own(self) -> None:
        """After a conflict: keep B as a set-up of its own, beside what the other window made of it."""
        desk = self.desk
        name = f"{desk.b.name}, my own"[:80]
        version = self._notebook.setups.add(
            desk.car_id,
            desk.b.model_copy(update={"name": name}),
            reason="kept beside what another tab made",
            by=desk.window,
        )
        desk.setup_id, desk.head = version.setup_id, version.id
        desk.b = desk.kept = desk.b.model_copy(update={"name": name})
        self.fault, self.conflict = "", False

    def _soon(self) -> None:
        if self._task is not None:
            self._task.cancel()
        with contextlib.suppress(RuntimeError):  # outside a page there is no loop: who turns it keeps it
            loop = asyncio.get_running_loop()
            if self._since is None:
                self._since = loop.time()
            wait = min(REST, self._since + AT_LATEST - loop.time())
            self._task = loop.create_task(self._after_rest(wait), name="autosave")

    async def _after_rest(self, wait: float) -> None:
        if wait > 0.0:
            await asyncio.sleep(wait)
        self._since, self._task = None, None  # from here on it is not called off
        await asyncio.to_thread(self.keep_now)
        for listener in self.told:
            listener()


def change_text(before: dict[str, float], after: dict[str, float]) -> str:
    """Return what was changed, in one line: "front bar 4 → 6"."""
    moved = [name for name, value in after.items() if before.get(name) != value]
    said = [
        f"{name} {before[name]:g} → {after[name]:g}" if name in before else f"{name} {after[name]:g}"
        for name in moved[:_NAMED]
    ]
    more = len(moved) - len(said)
    return ", ".join(said) + (f" and {more} more" if more > 0 else "")
