"""What chosen adjusters of a car give for each other."""

from collections.abc import Iterator, Sequence
from typing import Annotated, Any, ClassVar

from pydantic import Field

from fourpatch.advice.trade_drive import DrivenTrade, drive_picks
from fourpatch.advice.trade_off import (
    OBJECTIVES,
    TradeOff,
    TradePoint,
    chosen_adjusters,
    chosen_objectives,
    trade_off,
)
from fourpatch.analysis.quantity import OWN, POINTS, RATIO, SLIDING, TIME, Findings
from fourpatch.answers.answer import Answer
from fourpatch.answers.origins import origin_blocks
from fourpatch.answers.question import About, Asked, Found, Question
from fourpatch.document.content import settings_content
from fourpatch.errors import AdviceError
from fourpatch.picture.blocks import Block, Sentence, Table, means
from fourpatch.picture.head import Head
from fourpatch.picture.trade_off_words import (
    DECIMALS,
    driven_trade_meaning,
    trade_off_how,
    trade_off_meaning,
    unit_of,
)


class SetupTraded(Findings):
    """One set-up on the table."""

    positions: dict[str, float]
    """Of the chosen adjusters, by name."""
    unit: str
    """Of pace: s or points."""
    pace: Annotated[float, OWN]
    """Lap time with a track, else mean use of the worse axle in the corners; less is quicker."""
    bumps: Annotated[float, POINTS]
    """Grip lost on the surface and, by its share of the time, over the kerb."""
    calmness: Annotated[float, POINTS]
    """The lesser balance of entry and mid, mean of all corners; more is calmer."""
    scatter: Annotated[float, POINTS]
    """What one standard deviation of a driver's unevenness changes of the use of grip, of the axle that feels
    it more; a hint, see base-setup.md."""
    tyre_work: Annotated[float, SLIDING]
    """Work of sliding of the most worked tyre over the distance of a lap, without a track of the corners;
    1 J/m is 1 kJ/km."""
    total_work: Annotated[float, SLIDING]
    """Of all four tyres."""
    most_worked: str
    """Which tyre that is: FL, FR, RL or RR."""


class SetupDriven(Findings):
    """The laps of one set-up."""

    name: str
    """*present*, *calmer*, *quicker* or *driven quickest*."""
    positions: dict[str, float]
    """Of the chosen adjusters, by name."""
    laps: int
    """Driven."""
    good_laps: int
    """Of them on the road and in hand; fewer than two leave the numbers below `null`."""
    lap_time: Annotated[float | None, TIME]
    """Mean of the good laps."""
    lap_time_spread: Annotated[float | None, TIME]
    """Their standard deviation."""
    use_spread: Annotated[float | None, POINTS]
    """How far laps differ in the mean use of grip in a corner, of the axle that differs more."""
    tyre_work: Annotated[float | None, SLIDING]
    """Of the most worked tyre over the whole lap."""
    held_pace: Annotated[float | None, RATIO]
    """On the quasi-steady speeds of the present set-up, the highest at which 15 of 16 laps stay in hand, by
    draws it was not chosen by; `null` if not even the slowest tried does."""
    held_lap_time: Annotated[float | None, TIME]
    """Mean of the laps in hand at it."""


class FieldDriven(Findings):
    """Set-ups of which the quickest was sought by driving."""

    setups: int
    """Driven, the present one included."""
    laps: int
    """Driven with all of them, in single precision."""
    where: str
    """What drove them: a GPU by its name, or cores."""
    order: Annotated[float | None, RATIO]
    """Rank correlation of the laps held with the pace of the search; `null` with fewer than five."""
    not_driven: int
    """Set-ups that cannot be made or hold no pace that was tried."""
    not_finite: tuple[dict[str, float], ...]
    """Set-ups of which no lap was of finite numbers, by positions."""


class TradeDriven(Findings):
    """The present set-up and the picks, driven."""

    pace_factor: Annotated[float, RATIO]
    """On the quasi-steady speeds, the same for all."""
    setups: tuple[SetupDriven, ...]
    """The present one first."""
    field: FieldDriven
    """All that were driven to find the quickest."""


class TradeFound(Findings):
    """What there is to choose from."""

    occasion: str
    """What the numbers were computed in."""
    objectives: tuple[str, ...]
    """Those that count for `front` and the picks."""
    present: SetupTraded
    """The set-up as it stands."""
    calmer: SetupTraded | None
    """As quick, no worse in the others that count, and calmest; `null` if none is calmer."""
    quicker: SetupTraded | None
    """As calm, no worse in the others that count, and quickest; `null` if none is quicker."""
    front: tuple[SetupTraded, ...]
    """What no other set-up beats in everything, quickest first."""
    points: tuple[SetupTraded, ...]
    """All that were computed and can run."""
    possible: int
    """Set-ups there are."""
    exhaustive: bool
    """Whether all of them were computed."""
    stopped: bool
    """Whether it was stopped before the end."""
    seed: int
    """Of the sample, where one was drawn."""
    driven: TradeDriven | None
    """The present set-up and the picks, driven; `null` unless asked for."""


class TradeOffs(Question):
    """Compute what chosen adjusters of CAR give for each other.

    Traded are pace, grip on bumps, calmness, scatter (what your own unevenness does to the use of grip) and
    tyre work.

    All their steps are computed if there are at most 512 set-ups (96 with a track), else a seeded sample and
    its best neighbours. Ctrl-C stops it and shows what is known.
    """

    command: ClassVar[str] = "advise trade-off"
    question: ClassVar[str] = "What can be had for what?"
    finds: ClassVar[dict[str, Found]] = {"trade_off": TradeFound}
    of: ClassVar[About] = "car, on a track or not"
    takes_long: ClassVar[bool] = True
    page: ClassVar[str] = "/trade-off"

    adjusters: Annotated[tuple[Annotated[str, Field(max_length=200)], ...], Field(min_length=1)]
    """Those that may be turned; in one text with semicolons between, or commas where no name has one."""
    objectives: tuple[Annotated[str, Field(max_length=60)], ...] = ()
    """Those that count, with commas between: pace, bumps, calmness, scatter, tyre work. All if left out."""
    drive: bool = False
    """Also drive the present set-up and the picks on the track, with a driver's scatter, and seek by driving
    which set-up lets him hold the quickest lap: of the best dozen, of thousands with a GPU."""
    seed: int = 1
    """Of the sample, where one is drawn, and of the drive."""

    def refuse(self, asked: Asked) -> None:
        """Refuse what the car has not, what is named twice, and a drive without a track."""
        chosen_adjusters(asked.car.car, self._names(asked))
        self._counted()
        if self.drive and asked.track is None:
            raise AdviceError("--drive needs a track. Name one with --track.")

    def computed(self) -> Question:
        """Return the question without what counts, and without the drive."""
        return self.model_copy(update={"objectives": (), "drive": False})

    def _names(self, asked: Asked) -> list[str]:
        known = [one.name for one in asked.car.car.adjusters]
        return [name for text in self.adjusters for name in read_names(text, known)]

    def _counted(self) -> tuple[str, ...]:
        named = [part.strip() for text in self.objectives for part in text.split(",") if part.strip()]
        return chosen_objectives(named if self.objectives else OBJECTIVES)

    def answer(self, asked: Asked) -> Answer:
        """Compute it."""
        car, setup, track, show = asked.car.car, asked.car.setup, asked.track, asked.show
        watched: dict[str, Any] = {"progress": asked.progress, "cancelled": asked.cancelled}
        found = trade_off(
            car,
            setup,
            self._names(asked),
            track=track,
            seed=self.seed,
            objectives=self._counted(),
            known=asked.known.source if asked.known else None,
            show=lambda part: show(self._answered(asked, part, None)) if show else None,
            **watched,
        )
        driven = None
        if self.drive and track is not None and not found.stopped:
            driven = drive_picks(car, setup, found, track, seed=self.seed, **watched)
        return self._answered(asked, found, driven)

    def _answered(self, asked: Asked, found: TradeOff, driven: DrivenTrade | None) -> Answer:
        about, mode = asked.car, "rig" if asked.track is None else "quasi-steady, then rig"
        return Answer(
            title=f"{about.named}: trade-off for {found.occasion.name}",
            about={**about.content(), "mode": mode, **settings_content(self)},
            found={"trade_off": trade_found(found, driven)},
            blocks=[
                *trade_blocks(found),
                *(driven_blocks(found, driven) if driven else ()),
                *origin_blocks(about.car),
            ],
            source=found,
            stopped=found.stopped,
        )


def read_names(text: str, known: Sequence[str]) -> list[str]:
    """Return the adjusters that a text names; a comma may be part of a name."""
    if ";" in text or text.strip() in known:
        return [part.strip() for part in text.split(";") if part.strip()]
    parts, names = [part.strip() for part in text.split(",") if part.strip()], []
    while parts:
        # The longest run of parts that is a name, else the first part alone.
        length = next((n for n in range(len(parts), 0, -1) if ", ".join(parts[:n]) in known), 1)
        names.append(", ".join(parts[:length]))
        parts = parts[length:]
    return names


def trade_found(found: TradeOff, driven: DrivenTrade | None = None) -> TradeFound:
    """Return a trade-off in numbers."""
    names = [adjuster.name for adjuster in found.adjusters]

    def setup(point: TradePoint) -> SetupTraded:
        numbers = {name: getattr(point, name) for name in SetupTraded.model_fields if hasattr(point, name)}
        positions = dict(zip(names, point.positions, strict=True))
        return SetupTraded(**{**numbers, "positions": positions, "unit": found.pace_unit})

    return TradeFound(
        occasion=found.occasion.name,
        objectives=found.objectives,
        present=setup(found.present),
        calmer=None if found.calmer is None else setup(found.calmer),
        quicker=None if found.quicker is None else setup(found.quicker),
        front=tuple(map(setup, found.front)),
        points=tuple(map(setup, found.points)),
        possible=found.possible,
        exhaustive=found.exhaustive,
        stopped=found.stopped,
        seed=found.seed,
        driven=None if driven is None else _driven(driven, names),
    )


def _driven(driven: DrivenTrade, names: list[str]) -> TradeDriven:
    numbers = ("name", "laps", "good_laps", "lap_time", "lap_time_spread", "use_spread", "tyre_work")
    setups = [
        SetupDriven(
            **{name: getattr(one, name) for name in numbers},
            positions=dict(zip(names, one.point.positions, strict=True)),
            held_pace=one.held.pace,
            held_lap_time=one.held.lap_time,
        )
        for one in driven.picks
    ]
    field = driven.field
    said = ("setups", "laps", "where", "order", "not_driven")
    not_finite = tuple(dict(zip(names, one, strict=True)) for one in field.not_finite)
    return TradeDriven(
        pace_factor=driven.pace,
        setups=tuple(setups),
        field=FieldDriven(**{name: getattr(field, name) for name in said}, not_finite=not_finite),
    )


_ROWS = 15
"""Set-ups of the front that are shown; JSON has all."""


def trade_blocks(found: TradeOff) -> Iterator[Block]:
    """Yield the present set-up, the picks and the front, and what it means."""
    yield from map(Sentence, found.occasion.notes)
    yield Sentence(trade_off_how(found))
    rows = [_row(found, found.present, "present")]
    for label, one in (("as quick, calmer", found.calmer), ("as calm, quicker", found.quicker)):
        if one is not None:
            rows.append(_row(found, one, label))
    every = max(1, -(-len(found.front) // _ROWS))
    rows += [_row(found, one, "") for one in found.front[::every]]
    best = found.objectives[0]
    first = {"pace": "quickest", "calmness": "calmest"}.get(best, f"least {best}")
    heads = [
        Head(text="", right=False),
        *(Head(text=one.name, unit=one.unit) for one in found.adjusters),
        *(Head(text=name, unit=unit_of(found, name)) for name in OBJECTIVES),
    ]
    yield Table(heads=heads, rows=rows, title=f"Set-ups that no other beats in everything, {first} first")
    if every > 1:
        yield Sentence(f"One of {every} is shown of {len(found.front)} that no other beats; JSON has all.")
    worked = found.present
    yield Sentence(
        f"Most worked tyre at present: {worked.most_worked}, {worked.tyre_work:.0f} kJ/km; all four: "
        f"{worked.total_work:.0f} kJ/km."
    )
    yield means(trade_off_meaning(found))


def _row(found: TradeOff, point: TradePoint, label: str) -> tuple[str, ...]:
    return (
        label,
        *(f"{at:g}" for at in point.positions),
        *(f"{point.of(name):{'+' if name == 'calmness' else ''}.{DECIMALS[name]}f}" for name in OBJECTIVES),
    )


_DRIVEN_HEADS = (
    Head(text="", right=False),
    Head(text="good laps"),
    Head(text="lap time", unit="s"),
    Head(text="spread", unit="s"),
    Head(text="spread of use", unit="points"),
    Head(text="tyre work", unit="kJ/km"),
    Head(text="pace\nheld", unit="%"),
    Head(text="lap\nat it", unit="s"),
)


def driven_blocks(found: TradeOff, driven: DrivenTrade) -> Iterator[Block]:
    """Yield the laps of the present set-up and the picks, and whether they bear the search out."""
    rows = [
        (
            one.name,
            f"{one.good_laps} of {one.laps}",
            _known(one.lap_time, 2),
            _known(one.lap_time_spread, 3),
            _known(one.use_spread, 2),
            _known(one.tyre_work, 0),
            _known(one.held.pace and 100.0 * one.held.pace, 1),
            _known(one.held.lap_time, 2),
        )
        for one in driven.picks
    ]
    title = f"Driven with a driver's scatter, seed {driven.seed}, the same draws for all"
    yield Table(heads=_DRIVEN_HEADS, rows=rows, title=title)
    yield from map(Sentence, driven_trade_meaning(found, driven))


def _known(value: float | None, places: int) -> str:
    return "-" if value is None else f"{value:.{places}f}"
