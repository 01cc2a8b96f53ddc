"""A car over a run of laps."""

from dataclasses import replace
from math import isnan
from typing import Annotated, ClassVar

from pydantic import Field

from fourpatch.advice.stint_draws import DRAWS, StintSpread, stint_spread
from fourpatch.advice.stint_held import Held, holding, parts_of_drift
from fourpatch.analysis.lap_duty import DRIVEN
from fourpatch.analysis.quantity import MASS, OWN, POINTS, SHARE, TIME, Axles, Corners, Findings, Measure
from fourpatch.analysis.stint import (
    SURFACES,
    Conditions,
    Stint,
    StintLap,
    TrackState,
    run_stint,
    stint_line,
)
from fourpatch.answers.answer import Answer
from fourpatch.answers.origins import origin_blocks
from fourpatch.answers.question import About, Asked, Found, Question
from fourpatch.car.parameters import Pressure
from fourpatch.document.content import settings_content
from fourpatch.long_work import stretch
from fourpatch.picture.blocks import Block, Picture, Sentence, Table, drawing, means
from fourpatch.picture.head import Head
from fourpatch.picture.stint_words import StintWords, stint_meaning, stint_said
from fourpatch.units import Unit

TEMPERATURE = Measure("degC", "°C")
PRESSURE = Measure("Pa", "bar", 1e5)
FREEZING = 273.15


class StintLapFound(Findings):
    """A lap, as it begins."""

    lap: int
    """From one; the last is the lap that would follow."""
    lap_time: Annotated[float, TIME]
    """Quasi-steady."""
    balance: Annotated[float, POINTS]
    """Mean in corners; positive is toward understeer."""
    entry_balance: Annotated[float | None, POINTS]
    """Of it while slowing down."""
    mid_balance: Annotated[float | None, POINTS]
    """At an even speed."""
    exit_balance: Annotated[float | None, POINTS]
    """While gaining speed."""
    tread_temperature: Annotated[Corners, TEMPERATURE]
    """Of the whole tread."""
    gas_temperature: Annotated[Corners, TEMPERATURE]
    """Of carcass and gas."""
    pressure: Annotated[Corners, PRESSURE]
    """Gauge."""
    worn: Annotated[Corners, SHARE]
    """Of the life of the tread."""
    fuel: Annotated[float, MASS]
    """On board."""


class StintHeld(Findings):
    """An adjuster that brings the balance at the end back to that on warm tyres."""

    adjuster: str
    """Its name."""
    unit: str
    """Of its scale."""
    before: Annotated[float, OWN]
    """Where it stands."""
    after: Annotated[float, OWN]
    """Where it goes."""
    warm_balance: Annotated[float, POINTS]
    """With it, on the tyres of the warm lap."""
    last_balance: Annotated[float, POINTS]
    """With it, on the tyres at the end."""
    warm_time: Annotated[float, TIME]
    """What it costs of the warm lap."""
    last_time: Annotated[float, TIME]
    """What it costs of the lap at the end."""
    drift: Annotated[float, POINTS]
    """Of the stint with it from the first lap."""
    driven: int
    """Laps of that stint."""
    total_time: Annotated[float, TIME]
    """What it costs over that stint."""


class StintSure(Findings):
    """Two thirds of plausible cars lie between low and high (16th and 84th percentile)."""

    cars: int
    """That were asked."""
    lost: int
    """That could not stand or had no lap."""
    tread_temperature_low: Annotated[Corners, TEMPERATURE]
    """At the end."""
    tread_temperature_high: Annotated[Corners, TEMPERATURE]
    """At the end."""
    pressure_low: Annotated[Corners, PRESSURE]
    """At the end."""
    pressure_high: Annotated[Corners, PRESSURE]
    """At the end."""
    worn_low: Annotated[Corners, SHARE]
    """At the end."""
    worn_high: Annotated[Corners, SHARE]
    """At the end."""
    fuel_per_lap_low: Annotated[float, MASS]
    """Burnt."""
    fuel_per_lap_high: Annotated[float, MASS]
    """Burnt."""
    slower_low: Annotated[float, TIME]
    """At the end than on warm tyres."""
    slower_high: Annotated[float, TIME]
    """At the end than on warm tyres."""
    drift_low: Annotated[float, POINTS]
    """Of the balance."""
    drift_high: Annotated[float, POINTS]
    """Of the balance."""


class StintFound(Findings):
    """What a run of laps does."""

    driven: int
    """Laps."""
    ended: str
    """By what: laps, fuel or tread."""
    warm_lap: int
    """The first computed lap with treads within a tenth of their highest rise."""
    cold_pressure: Annotated[Axles, PRESSURE]
    """Gauge, at the air's temperature, that leads to the pressures of the set-up."""
    total_time: Annotated[float, TIME]
    """Of all laps, quasi-steady."""
    slower: Annotated[float, TIME]
    """Lap time at the end less that of the warm lap."""
    fuel_per_lap: Annotated[float, MASS]
    """Burnt."""
    drift: Annotated[float, POINTS]
    """Balance at the end less that of the warm lap; positive is toward understeer."""
    drift_by_temperature: Annotated[float, POINTS]
    """What of it goes if the treads are as warm as in the warm lap."""
    drift_by_pressure: Annotated[float, POINTS]
    """If the pressures are."""
    drift_by_wear: Annotated[float, POINTS]
    """If they are as worn."""
    drift_by_fuel: Annotated[float, POINTS]
    """If as much fuel is on board."""
    laps: tuple[StintLapFound, ...]
    """Those that were computed."""
    sure: StintSure | None
    """What plausible cars say; `null` if none was asked."""
    held: tuple[StintHeld, ...]
    """Adjusters that hold the balance, the quickest first; none where it keeps within half a point."""


class StintAsked(Question):
    """Run CAR for many laps of a track: tyre temperature, pressure and wear, fuel, lap time and balance.

    Heat of each tyre follows from its work of sliding and rolling, pressure from the ideal gas law, wear from
    the work of sliding, fuel from the work of the engine. The constants are the car's; where they are our
    estimates, plausible cars say how far to trust them.
    """

    command: ClassVar[str] = "analyse stint"
    question: ClassVar[str] = "What do tyres, fuel and balance do over a stint, and what holds the balance?"
    finds: ClassVar[dict[str, Found]] = {"stint": StintFound}
    of: ClassVar[About] = "car on a track"
    drawn: ClassVar[bool] = True
    takes_long: ClassVar[bool] = True

    laps: Annotated[int, Field(ge=2, le=300)] = 20
    """To drive; fewer if fuel or treads do not last."""
    air_temperature: Annotated[float, Unit("K", "degC", 243.15, 333.15)] = 293.15
    """Of the air, and of tyres when they are cold."""
    start_temperature: Annotated[float, Unit("K", "degC", 243.15, 403.15)] | None = None
    """Of the tyres as the first lap begins, such as from warmers; that of the air if left out."""
    track_state: TrackState = "dry"
    """What the road is like: dry, damp or wet, with tyres that are fit for it."""
    grip: Annotated[float, Unit("1", "%", 0.2, 1.2)] | None = None
    """Peak friction on the road as it is, over that on a dry one; by the state of the track if left out."""
    fuel: Annotated[float, Unit("kg", "kg", 0.5, 300.0)] | None = None
    """On board at the start; as the car stands if left out."""
    front_cold_pressure: Annotated[float, Pressure.__metadata__[0]] | None = None
    """Gauge, at the air's temperature; what leads to the pressure of the set-up if left out."""
    rear_cold_pressure: Annotated[float, Pressure.__metadata__[0]] | None = None
    """Gauge, at the air's temperature; what leads to the pressure of the set-up if left out."""
    pace: Annotated[float, Unit("1", "%", 0.5, 1.0)] = DRIVEN
    """Of the quasi-steady speeds, at which the tyres work."""
    plausible: Annotated[int, Field(ge=0, le=64)] = DRAWS
    """Plausible cars that are asked how sure this is; none with 0."""
    seed: Annotated[int, Field(ge=0)] = 1
    """Of those cars."""

    def answer(self, asked: Asked) -> Answer:
        """Compute it."""
        about, cancelled = asked.car, asked.cancelled
        standing = about.standing
        if self.fuel is not None:
            standing = standing.model_copy(
                update={"fuel": standing.fuel.model_copy(update={"mass": self.fuel})}
            )
        stint = run_stint(
            standing,
            stint_line(standing, asked.on),
            self.conditions(),
            progress=stretch(asked.progress, 0.0, 0.2),
            cancelled=cancelled,
        )
        held = holding(
            about.car, about.setup, stint, progress=stretch(asked.progress, 0.2, 0.5), cancelled=cancelled
        )
        sure = stint_spread(
            stint,
            count=self.plausible,
            seed=self.seed,
            progress=stretch(asked.progress, 0.5, 1.0),
            cancelled=cancelled,
        )
        found = stint_found(stint, sure, held)
        title = f"{about.named}; {asked.on.name}, {found.driven} laps, {self.track_state}, quasi-steady"
        draw = drawing("stint.stint_figure", stint, sure, question=self.question, source=title)
        return Answer(
            title=title,
            about={
                **about.content(),
                "track": asked.on.name,
                "line": "least curvature",
                "mode": "quasi-steady",
                **settings_content(self),
            },
            found={"stint": found},
            blocks=[
                *stint_blocks(found, self.track_state, StintWords(stint, sure, held)),
                *origin_blocks(about.car),
                Picture(draw=draw, says=self.question),
            ],
            source=stint,
            stopped=cancelled(),
        )

    def conditions(self) -> Conditions:
        """Return what it is driven in."""
        surface = SURFACES[self.track_state]
        if self.grip is not None:
            surface = replace(surface, friction=self.grip)
        return Conditions(
            laps=self.laps,
            air=self.air_temperature,
            start=self.air_temperature if self.start_temperature is None else self.start_temperature,
            pace=self.pace,
            surface=surface,
            cold_pressure=(self.front_cold_pressure, self.rear_cold_pressure),
        )


def stint_found(stint: Stint, sure: StintSpread | None, held: list[Held]) -> StintFound:
    """Return a stint in numbers."""
    parts = parts_of_drift(stint)
    return StintFound(
        driven=stint.driven,
        ended=stint.ended,
        warm_lap=stint.warm.lap,
        cold_pressure=Axles(*stint.cold_pressures()),
        total_time=stint.total_time,
        slower=stint.last.profile.lap_time - stint.warm.profile.lap_time,
        fuel_per_lap=stint.fuel_per_lap,
        drift=stint.drift,
        drift_by_temperature=parts.temperature,
        drift_by_pressure=parts.pressure,
        drift_by_wear=parts.wear,
        drift_by_fuel=parts.fuel,
        laps=tuple(_lap(stint, one) for one in stint.laps),
        sure=found_sure(sure),
        held=tuple(_held(stint, one) for one in held),
    )


def _lap(stint: Stint, one: StintLap) -> StintLapFound:
    air, now = stint.conditions.air - FREEZING, one.condition
    entry, mid, leaving = (None if isnan(each) else each for each in one.alike.balances.tolist())
    return StintLapFound(
        lap=one.lap,
        lap_time=one.profile.lap_time,
        balance=one.alike.balance,
        entry_balance=entry,
        mid_balance=mid,
        exit_balance=leaving,
        tread_temperature=Corners(*(air + now.rise[:, 0]).tolist()),
        gas_temperature=Corners(*(air + now.rise[:, 1]).tolist()),
        pressure=Corners(*one.pressure.tolist()),
        worn=Corners(*now.worn.tolist()),
        fuel=now.fuel,
    )


def found_sure(sure: StintSpread | None) -> StintSure | None:
    """Return what plausible cars say, in numbers."""
    if sure is None:
        return None
    numbers: dict[str, float | Corners] = {}
    for name, values, unit in (
        ("tread_temperature", sure.tread - FREEZING, Corners),
        ("pressure", sure.pressure, Corners),
        ("worn", sure.worn, Corners),
        ("fuel_per_lap", sure.fuel, float),
        ("slower", sure.slower, float),
        ("drift", sure.drift, float),
    ):
        low, high = sure.between(values)
        numbers[f"{name}_low"] = Corners(*low.tolist()) if unit is Corners else float(low)
        numbers[f"{name}_high"] = Corners(*high.tolist()) if unit is Corners else float(high)
    return StintSure.model_validate({"cars": len(sure.fuel), "lost": sure.lost, **numbers})


def _held(stint: Stint, one: Held) -> StintHeld:
    laps = range(1, min(one.stint.driven, stint.driven) + 1)
    return StintHeld(
        adjuster=one.adjuster.name,
        unit=one.adjuster.unit,
        before=one.before,
        after=one.after,
        warm_balance=one.warm_balance,
        last_balance=one.last_balance,
        warm_time=one.warm_time,
        last_time=one.last_time,
        drift=one.stint.drift,
        driven=one.stint.driven,
        total_time=float(one.stint.lap_times(laps).sum() - stint.lap_times(laps).sum()),
    )


_LAP_HEADS = (
    Head(text="lap"),
    Head(text="time", unit="s"),
    Head(text="balance", unit="points"),
    Head(text="treads\nFL / FR", unit="°C"),
    Head(text="treads\nRL / RR", unit="°C"),
    Head(text="pressure\nFL / FR", unit="bar"),
    Head(text="pressure\nRL / RR", unit="bar"),
    Head(text="most\nworn", unit="%"),
    Head(text="fuel", unit="kg"),
)
_HELD_HEADS = (
    Head(text="adjuster", right=False),
    Head(text="from"),
    Head(text="to"),
    Head(text="unit", right=False),
    Head(text="balance\nwarm", unit="points"),
    Head(text="balance\nat the end", unit="points"),
    Head(text="a warm lap\ncosts", unit="s"),
    Head(text="the last lap\ncosts", unit="s"),
    Head(text="the stint\ncosts", unit="s"),
)


def stint_blocks(found: StintFound, state: TrackState, words: StintWords) -> list[Block]:
    """Return what happens over the stint, lap by lap, and what holds the balance."""
    rows = [_row(one) for one in found.laps]
    blocks: list[Block] = [Sentence(text) for text in stint_said(words, state)]
    blocks.append(Table(heads=_LAP_HEADS, rows=rows, title="As each lap begins; the last row is the end"))
    if found.held:
        held = [_held_row(one) for one in found.held]
        title = "Adjusters that bring the balance at the end back to that on warm tyres"
        blocks.append(Table(heads=_HELD_HEADS, rows=held, title=title))
    return [*blocks, means(stint_meaning(words))]


def _row(one: StintLapFound) -> tuple[str, ...]:
    tread, pressure = one.tread_temperature, one.pressure
    return (
        str(one.lap),
        f"{one.lap_time:.2f}",
        f"{one.balance:+.1f}",
        f"{tread.FL:.0f} / {tread.FR:.0f}",
        f"{tread.RL:.0f} / {tread.RR:.0f}",
        f"{pressure.FL / 1e5:.2f} / {pressure.FR / 1e5:.2f}",
        f"{pressure.RL / 1e5:.2f} / {pressure.RR / 1e5:.2f}",
        f"{100.0 * max(one.worn):.1f}",
        f"{one.fuel:.1f}",
    )


def _held_row(one: StintHeld) -> tuple[str, ...]:
    times = (one.warm_time, one.last_time, one.total_time)
    return (
        one.adjuster,
        f"{one.before:g}",
        f"{one.after:g}",
        one.unit,
        f"{one.warm_balance:+.1f}",
        f"{one.last_balance:+.1f}",
        *(f"{time:+.2f}" for time in times),
    )
