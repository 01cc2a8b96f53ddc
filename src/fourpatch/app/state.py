"""What one browser tab has open."""

import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from fourpatch.car.adjusters import adjuster
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup
from fourpatch.document.digest import digest

_ONE_TURN = 1.0
"""Turns of the same adjuster closer together than this are one step of undo. [s]"""


MOST_STEPS = 300
"""Changes that can be undone."""


@dataclass(slots=True)
class Trail:
    """What B was before its changes, and what was taken back of them."""

    undo: list[Setup] = field(default_factory=list)
    redo: list[Setup] = field(default_factory=list)


@dataclass(slots=True, kw_only=True)
class Tab:
    """What is known of a browser tab from page to page."""

    name: str
    """What it is called where its changes are kept."""
    trails: dict[str, Trail] = field(default_factory=dict)
    """By set-up and what can be turned on its car."""


@dataclass(kw_only=True)
class Desk:
    """The car on the desk, set-up A beside it and set-up B in hand; nothing here is shared between tabs."""

    car_id: int
    """The car in the notebook."""
    car: Car
    setup_id: int
    """The set-up in the notebook that B is kept as."""
    head: int
    """Version of it that the notebook has of this tab."""
    a_version: int
    """Version of a set-up that A is."""
    window: str
    """What this tab is called where its changes are kept."""
    a: Setup
    """The reference."""
    b: Setup
    """What is being changed."""
    kept: Setup
    """B as the notebook has it."""
    misfit: str = ""
    """What the car could not take of the set-ups as they were kept, and what stands instead."""
    sequence: int = 0
    """Counts the turns of this tab, so that an answer can be told from an older one."""
    changed: list[Callable[[], None]] = field(default_factory=list)
    """Called after A or B changed."""
    seated: list[Callable[[], None]] = field(default_factory=list)
    """Called after it is known which tab of the browser sits at it."""
    turned_by_hand: bool = False
    """Whether the last change came from a stepper, which shows it already."""
    _trail: Trail = field(default_factory=Trail)
    _last: tuple[frozenset[str], float] = (frozenset(), -1e9)

    def sit(self, tab: Tab) -> None:
        """Go on as a tab that was at other desks before: what it turned there can be undone."""
        self.window = tab.name
        key = f"{self.setup_id} {digest(*self.car.adjusters)}"
        before = tab.trails.get(key)
        if before is not self._trail:
            if before is not None:
                before.undo += self._trail.undo
                self._trail = before
            tab.trails[key] = self._trail
        for listener in self.seated:
            listener()

    def turn(self, values: Mapping[str, float], sequence: int = 0) -> None:
        """Put adjusters of B to new positions, each the nearest that its scale has."""
        new = {name: adjuster(self.car, name).nearest(value) for name, value in values.items()}
        if self.b.values == {**self.b.values, **new}:  # told twice: no step of undo
            self.sequence = sequence
            self._tell(by_hand=True)
            return
        now = time.monotonic()
        names = frozenset(new)
        if names != self._last[0] or now - self._last[1] > _ONE_TURN:
            self._remember()
        self._last = (names, now)
        self._trail.redo.clear()
        self.sequence = sequence
        self._put(self.b.model_copy(update={"values": {**self.b.values, **new}}), by_hand=True)

    def put(self, setup: Setup) -> None:
        """Put another set-up in the place of B; it can be undone."""
        self._remember()
        self._trail.redo.clear()
        self._put(setup)

    def undo(self) -> bool:
        """Take the last change back; False if there is none."""
        return self._swap(self._trail.undo, self._trail.redo)

    def redo(self) -> bool:
        """Do again what was taken back; False if there is nothing."""
        return self._swap(self._trail.redo, self._trail.undo)

    @property
    def can_undo(self) -> bool:
        """Whether there is a change to take back."""
        return bool(self._trail.undo)

    @property
    def can_redo(self) -> bool:
        """Whether there is a change to do again."""
        return bool(self._trail.redo)

    def query(self) -> dict[str, str]:
        """Return what is open, as a page's address carries it to the next page."""
        return {"setup": str(self.setup_id), "a": str(self.a_version)}

    def became(self, head: int, *, name: str, note: str) -> None:
        """Take over the name and note that the notebook now has of B."""
        self.head = head
        self.b = self.b.model_copy(update={"name": name, "note": note})
        self.kept = self.b

    def hold_as_a(self) -> None:
        """Make B, as it stands, the reference."""
        self.a, self.a_version = self.b, self.head
        self._tell()

    def back_to_a(self) -> None:
        """Put B where A stands."""
        self.put(self.b.model_copy(update={"values": dict(self.a.values)}))

    def differing(self) -> list[tuple[str, float, float]]:
        """Return the adjusters that stand elsewhere in B: name, A's position, B's."""
        pairs = ((one.name, self.a.position(one), self.b.position(one)) for one in self.car.adjusters)
        return [(name, before, after) for name, before, after in pairs if before != after]

    def _remember(self) -> None:
        self._trail.undo.append(self.b)
        del self._trail.undo[:-MOST_STEPS]

    def _swap(self, source: list[Setup], sink: list[Setup]) -> bool:
        if not source:
            return False
        sink.append(self.b)
        self._last = (frozenset(), -1e9)
        then = source.pop()
        # It may have been called or annotated otherwise since, on another page.
        self._put(self.b.model_copy(update={"values": then.values}))
        return True

    def _put(self, setup: Setup, *, by_hand: bool = False) -> None:
        self.b = setup
        self._tell(by_hand=by_hand)

    def _tell(self, *, by_hand: bool = False) -> None:
        self.turned_by_hand = by_hand
        for listener in self.changed:
            listener()
