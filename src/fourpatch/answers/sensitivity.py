"""What one step of every adjuster does, down and up."""

import difflib
from collections.abc import Iterator, Sequence
from typing import Any, ClassVar, get_args

from fourpatch.advice.sensitivity import DIRECTIONS, EffectTable, sensitivity
from fourpatch.analysis.event_measures import CORNER_PHASES
from fourpatch.answers.answer import Answer
from fourpatch.answers.origins import origin_blocks
from fourpatch.answers.question import Asked, Found, Question
from fourpatch.car.adjusters import Adjuster
from fourpatch.car.scale_words import counted
from fourpatch.document.content import finite, json_unit, settings_content
from fourpatch.errors import EventError
from fourpatch.events.bumps import BumpEvent
from fourpatch.events.corner import Corner
from fourpatch.events.files import Event
from fourpatch.events.trial import Trial
from fourpatch.picture.blocks import Block, Picture, Sentence, Table, drawing, means
from fourpatch.picture.head import Head
from fourpatch.picture.sensitivity_words import BALANCE, bumps_meaning, corner_meaning, load_meaning
from fourpatch.picture.shown import measure_of, pretty, rounded, shown


class Sensitivity(Question):
    """Compute what one step of every adjuster of CAR does, down and up, phase by phase."""

    command: ClassVar[str] = "advise sensitivity"
    question: ClassVar[str] = "What does one step of each adjuster do?"
    finds: ClassVar[dict[str, Found]] = {"measures": {}, "effects": {}}
    events: ClassVar[tuple[type[Event], ...]] = (Corner, *get_args(BumpEvent))
    events_for: ClassVar[str] = "the effect of a step is computed"
    drawn: ClassVar[bool] = True
    nothing_drawn: ClassVar[str] = (
        "it draws the phases of a corner, and no event is one; add an event file of a corner."
    )
    takes_long: ClassVar[bool] = True

    corner: str | None = None
    """The corner to show, or all of them: all. The middle one if left out."""
    sort_by: str | None = None
    """A measure or parts of its name: entry, kerb.body_throw. Largest first if left out."""
    all: bool = False
    """Every measure of every adjuster."""

    def computed(self) -> Question:
        """Return the question without what is only another order of the same numbers."""
        return Sensitivity()

    def answer(self, asked: Asked) -> Answer:
        """Compute it."""
        about = asked.car
        table = asked.known.source if asked.known else None
        if table is None:
            events: dict[str, Trial] = {
                name: one for name, one in asked.events.items() if isinstance(one, Corner | BumpEvent)
            }
            table = sensitivity(
                about.car,
                about.setup,
                events=events or None,
                progress=asked.progress,
                cancelled=asked.cancelled,
            )
        order = table.order(chosen_measures(table, self.sort_by)) if self.sort_by else None
        corners = _shown_corners(table, self.corner)
        first = f"{about.named}: what one step does, computed on the rig; the same motion for every step."
        return Answer(
            title=first,
            about={**about.content(), "mode": "rig", "events": _events(table), **settings_content(self)},
            found={"measures": _measures(table), "effects": _effects(table)},
            blocks=[
                Sentence(BALANCE),
                *(self._all(table, order) if self.all else _by_event(table, corners, order)),
                *origin_blocks(about.car),
                *(_picture(table, one) for one in corners[:1]),
            ],
            source=table,
        )

    def _all(self, table: EffectTable, order: Sequence[int] | None) -> Iterator[Block]:
        """Yield every measure that an adjuster changes, adjuster by adjuster."""
        for place in table.order(table.balance_measures()) if order is None else order:
            rows = list(_measure_rows(table, place))
            if rows:
                yield Table(heads=_ALL_HEADS, rows=rows, title=step_of(table.adjusters[place]))


def _picture(table: EffectTable, corner: str) -> Picture:
    return Picture(
        draw=drawing("effects.effect_figure", table, corner),
        says=f"What does one step do to the balance in the {corner}?",
    )


def _by_event(table: EffectTable, corners: Sequence[str], order: Sequence[int] | None) -> Iterator[Block]:
    for name in corners:
        yield from corner_blocks(table, name, order)
    for name in bumps_of(table):
        yield from bumps_blocks(table, name, order)


def _shown_corners(table: EffectTable, wanted: str | None) -> list[str]:
    """Return the corners to show: the one asked for, all, or the middle one of those there are."""
    corners = corners_of(table)
    if wanted == "all":
        return corners
    if wanted is None:
        return corners[len(corners) // 2 : len(corners) // 2 + 1]
    if wanted not in corners:
        raise EventError(
            f'--corner is "{wanted}", which is not among the events. There are: '
            f"{', '.join(corners) or 'none'}; or all."
        )
    return [wanted]


_STEPS = "one step down / up"

_BUMPS = (
    ("grip_left", "front"),
    ("grip_left", "rear"),
    ("time_off_ground", "front"),
    ("time_off_ground", "rear"),
    ("body_throw", ""),
)

_SHORT = {
    "grip_left": "side force\nthere is",
    "time_off_ground": "time off\nground",
    "body_throw": "body\nthrow",
}

_SIDE_FORCE = (
    "Side force there is: what the tyres of an axle could give sideways meanwhile, on average, as a share of "
    "the weight they carry at rest; above 100 % they could hold more than 1 g."
)

_ALL_HEADS = (
    Head(text="measure", right=False),
    Head(text="now"),
    Head(text="one step down"),
    Head(text="one step up"),
    Head(text="unit", right=False),
)


def _measure_rows(table: EffectTable, place: int) -> Iterator[tuple[str, ...]]:
    for k, measure in enumerate(table.measures):
        pair = [shown(table.effects[place, d, k], measure.unit, signed=True) for d in range(len(DIRECTIONS))]
        if any(text not in ("0", "-") for text in pair):
            unit = pretty(measure_of(measure.unit).shown)
            yield measure.name, shown(table.present[k], measure.unit), *pair, unit


def chosen_measures(table: EffectTable, text: str) -> list[int]:
    """Return the measures whose dotted name holds all parts of a text: ``balance``, ``kerb.body_throw``.

    Raises
    ------
    EventError
        If there is none; the text proposes near names.
    """
    wanted = set(text.split("."))
    found = [k for k, measure in enumerate(table.measures) if wanted <= set(measure.name.split("."))]
    if not found:
        parts = sorted({part for measure in table.measures for part in measure.name.split(".")})
        near = difflib.get_close_matches(text, [*parts, *(m.name for m in table.measures)], n=3, cutoff=0.5)
        meant = f" Did you mean {' or '.join(near)}?" if near else ""
        raise EventError(
            f'--sort-by is "{text}", which no measure is called.{meant} Name one, or some of its parts '
            "between "
            f"points: {', '.join(parts)}."
        )
    return found


def corners_of(table: EffectTable) -> list[str]:
    """Return the names of the corners among the events."""
    return [name for name, event in table.events.items() if isinstance(event, Corner)]


def bumps_of(table: EffectTable) -> list[str]:
    """Return the names of the roads and kerbs among the events."""
    return [name for name, event in table.events.items() if not isinstance(event, Corner)]


def corner_blocks(table: EffectTable, corner: str, order: Sequence[int] | None = None) -> Iterator[Block]:
    """Yield what one step does in the phases of a corner: to the balance, and to the front axle's load.

    Parameters
    ----------
    order : of the adjusters; by their largest effect on the balance in this corner if None.
    """
    balances = _phases(table, corner, "balance")
    rows = table.order(balances) if order is None else order
    now = [
        Head(text=phase, now=rounded(float(table.present[k]), 1, signed=True))
        for phase, k in zip(CORNER_PHASES, balances, strict=True)
    ]
    plain = [Head(text=phase) for phase in CORNER_PHASES]
    yield from _pairs(table, rows, now, balances, title=f"{corner}: change of balance [points], {_STEPS}")
    yield means(corner_meaning(table, corner))
    dampers = [k for k in rows if table.adjusters[k].system == "dampers"]
    for shown_rows, quantity, title in (
        (dampers, ("balance_swing",), "damper adjusters, largest momentary change of balance [points]"),
        (rows, ("axle_load_swing", "front"), "largest momentary change of the front axle's load [N]"),
    ):
        places = _phases(table, corner, *quantity)
        if order is None:
            shown_rows = [k for k in table.order(places) if k in shown_rows]
        if _moving(table, shown_rows, places):
            yield from _pairs(table, shown_rows, plain, places, title=f"{corner}: {title}, {_STEPS}")
    yield means(load_meaning(table, corner))


def _phases(table: EffectTable, corner: str, *quantity: str) -> list[int]:
    """Return a quantity's places in the phases of a corner."""
    return [table.index(".".join((corner, phase, *quantity))) for phase in CORNER_PHASES]


def bumps_blocks(table: EffectTable, event: str, order: Sequence[int] | None = None) -> Iterator[Block]:
    """Yield what one step does on a road or over a kerb.

    Parameters
    ----------
    order : of the adjusters; by their largest effect on the grip that bumps leave if None.
    """
    places = [table.index(".".join(part for part in (event, *names) if part)) for names in _BUMPS]
    heads = []
    for (quantity, axle), place in zip(_BUMPS, places, strict=True):
        unit = table.measures[place].unit
        heads.append(
            Head(
                text=_SHORT[quantity] + f"\n{axle}" if axle else _SHORT[quantity],
                unit="% of weight" if quantity == "grip_left" else pretty(measure_of(unit).shown),
                now=shown(table.present[place], unit),
            )
        )
    rows = table.order(places[:2]) if order is None else order
    yield from _pairs(table, rows, heads, places, title=f"{event}: change for {_STEPS}", with_step=False)
    yield Sentence(_SIDE_FORCE)
    yield means(bumps_meaning(table, event))


def _pairs(
    table: EffectTable,
    order: Sequence[int],
    heads: Sequence[Head],
    places: Sequence[int],
    *,
    title: str,
    with_step: bool = True,
) -> Iterator[Block]:
    moving = _moving(table, order, places)
    called = {k: step_of(table.adjusters[k]) if with_step else table.adjusters[k].name for k in moving}
    rows = [(called[k], *(_pair(table, k, place) for place in places)) for k in moving]
    first = "adjuster, one step" if with_step else "adjuster"
    yield Table(heads=[Head(text=first, right=False), *heads], rows=rows, title=title)
    still = [table.adjusters[k].name for k in order if k not in moving]
    if still:
        yield Sentence(f"No change here: {'; '.join(still)}.")


def step_of(adjuster: Adjuster) -> str:
    """Return an adjuster's name and its step."""
    return f"{adjuster.name}, {counted(adjuster.step, adjuster.unit)}"


def _moving(table: EffectTable, order: Sequence[int], places: Sequence[int]) -> list[int]:
    """Return the adjusters that change one of the measures enough to show."""
    return [
        k for k in order if any(_pair(table, k, place) not in ("0 / 0", "- / 0", "0 / -") for place in places)
    ]


def _pair(table: EffectTable, adjuster: int, place: int) -> str:
    unit = table.measures[place].unit
    return " / ".join(shown(value, unit, signed=True) for value in table.effects[adjuster, :, place])


def _events(table: EffectTable) -> dict[str, Any]:
    return {
        name: {"kind": event.kind, **settings_content(event)}
        for name, event in table.events.items()
        if isinstance(event, Corner | BumpEvent)
    }


def _measures(table: EffectTable) -> dict[str, Any]:
    return {
        measure.name: {"value": finite(value), "unit": json_unit(measure.unit), "meaning": measure.meaning}
        for measure, value in zip(table.measures, table.present, strict=True)
    }


def _effects(table: EffectTable) -> dict[str, Any]:
    return {
        one.name: {
            name: dict(zip(table.names, map(finite, table.effects[k, column]), strict=True))
            for column, name in enumerate(("step_down", "step_up"))
        }
        for k, one in enumerate(table.adjusters)
    }
