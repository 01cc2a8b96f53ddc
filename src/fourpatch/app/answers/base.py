"""A base set-up to begin from, with the reason of every value."""

from pydantic import BaseModel, Field

from fourpatch.advice.base_setup import BaseSetup, BaseValue, base_setup
from fourpatch.advice.base_targets import STYLES, StyleName
from fourpatch.advice.grip_cost import PARTS, PHASES, GripCost
from fourpatch.app.answers.asked import Positions
from fourpatch.app.answers.cure import car_key
from fourpatch.app.jobs import Job, Jobs
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup
from fourpatch.document.digest import digest
from fourpatch.picture.base_first import first_of_base
from fourpatch.picture.base_words import (
    around_text,
    base_meaning,
    because_text,
    drive_text,
    stopped_text,
    targets_text,
)
from fourpatch.picture.first_answer import FirstAnswer
from fourpatch.picture.shown import pretty
from fourpatch.track.track import Track

KIND = "base"
"""Of the jobs."""


class BaseAsked(BaseModel):
    """A car, the set-up to start from, and how much understeer the driver wants."""

    car: int = Field(ge=1, le=2**31, description="The car's id in the notebook.")
    setup: Positions = Field(default_factory=dict)
    track: int | None = Field(
        default=None,
        ge=1,
        le=2**31,
        description="Id of the track to set up for; null for standard corners, a rough road and a kerb.",
    )
    style: StyleName = Field(default="neutral", description=f"One of {', '.join(STYLES)}.")


class BaseFound(BaseModel):
    """Where one adjuster is put, and why."""

    adjuster: str
    system: str
    unit: str = Field(description="Of the driver's own scale, as shown.")
    before: float
    position: float
    low: float | None = Field(description="Lowest step around it that hardly matters; null if not computed.")
    high: float | None
    around: str = Field(description="The same as shown.")
    because: str


class CostFound(BaseModel):
    """What a set-up costs, in hundredths of the grip the tyres could have."""

    name: str
    parts: dict[str, float] = Field(description=f"Points by {', '.join(PARTS)}.")
    total: float = Field(description="[points]")


class BalanceFound(BaseModel):
    """Balance of one corner, by phase; above 0 the front runs out first."""

    corner: str
    given: dict[str, float] = Field(description="Points by phase, as given.")
    found: dict[str, float] = Field(description="Points by phase, with the base set-up.")


class TurnFound(BaseModel):
    """A steady turn of a corner it is for, driven."""

    corner: str
    lateral_acceleration: float = Field(description="[m/s^2]")
    given: float = Field(description="Growth of a disturbance as given; below 0 it dies away [1/s]")
    found: float | None = Field(description="The same with the base set-up; null if it is not held [1/s]")


class BaseAnswer(BaseModel):
    """A base set-up and everything behind it."""

    car: int
    style: str
    track: str = Field(description="Name of the track; empty for the standard corners, road and kerb.")
    occasion: str
    stopped: bool
    given: dict[str, float] = Field(description="The set-up it started from.")
    setup: dict[str, float]
    values: list[BaseFound]
    costs: list[CostFound]
    balance: list[BalanceFound]
    sought: float = Field(description="Balance that is sought [points]")
    tried: int = Field(description="Set-ups that were computed.")
    notes: list[str]
    targets: str
    meaning: str
    drive: str = Field(description="What the drive says of it: steady turns, a lap before and after.")
    turns: list[TurnFound]
    lap_given: float | None = Field(description="Driven lap as given; null if there is none [s]")
    lap_found: float | None = Field(description="Driven lap with the base set-up [s]")
    lap_uncertainty: float | None = Field(description="Below it the two cannot be told apart [s]")
    first_read: FirstAnswer | None = Field(default=None, description="What is read first.")


def start_base(
    jobs: Jobs, car_id: int, car: Car, setup: Setup, style: StyleName, *, track: Track | None = None
) -> Job:
    """Start to look for a base set-up, or return the job that does so or has done.

    Parameters
    ----------
    track : to set up for; standard corners, a rough road and a kerb if left out.
    """

    def work(job: Job) -> BaseAnswer:
        found = base_setup(
            car,
            setup,
            track=track,
            style=style,
            progress=job.progress,
            cancelled=job.cancelled,
        )
        return base_answer(car_id, setup, found)

    key = f"{car_key(car_id)}{digest(car, setup.values, style, track)}"
    return jobs.start(
        KIND, f"a base set-up of {car.name}{f' for {track.name}' if track else ''}, style {style}", key, work
    )


def base_answer(car_id: int, given: Setup, found: BaseSetup) -> BaseAnswer:
    """Return a base set-up for the page and the API."""
    laps = found.drive.laps
    return BaseAnswer(
        car=car_id,
        style=found.targets.style.name,
        track=found.occasion.name if found.occasion.study else "",
        occasion=found.occasion.name,
        stopped=found.stopped,
        given=dict(given.values),
        setup={one.adjuster.name: one.position for one in found.values},
        values=[_value(one) for one in found.values],
        costs=[
            _cost(name, cost)
            for name, cost in (
                ("as given", found.given),
                ("targets alone", found.start),
                ("this set-up", found.found),
            )
        ],
        balance=[
            BalanceFound(corner=name, given=_phases(found.given, k), found=_phases(found.found, k))
            for k, name in enumerate(found.occasion.corners)
        ],
        sought=found.targets.style.balance,
        tried=found.tried,
        notes=[*([stopped_text(found)] if found.stopped else []), *found.occasion.notes],
        targets=targets_text(found),
        meaning=base_meaning(found),
        drive=drive_text(found),
        turns=[
            TurnFound(
                corner=one.corner,
                lateral_acceleration=one.lateral_acceleration,
                given=one.given,
                found=one.found,
            )
            for one in found.drive.turns
        ],
        lap_given=laps.given if laps else None,
        lap_found=laps.found if laps else None,
        lap_uncertainty=laps.uncertainty if laps else None,
        first_read=first_of_base(found),
    )


def _value(one: BaseValue) -> BaseFound:
    return BaseFound(
        adjuster=one.adjuster.name,
        system=one.adjuster.system,
        unit=pretty(one.adjuster.unit),
        before=one.before,
        position=one.position,
        low=one.low,
        high=one.high,
        around=around_text(one),
        because=because_text(one),
    )


def _cost(name: str, cost: GripCost) -> CostFound:
    parts = {part: float(value) for part, value in zip(PARTS, cost.parts[0], strict=True)}
    return CostFound(name=name, parts=parts, total=float(cost.total[0]))


def _phases(cost: GripCost, corner: int) -> dict[str, float]:
    return {phase: float(value) for phase, value in zip(PHASES, cost.balance[0, corner], strict=True)}
