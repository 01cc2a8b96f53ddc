"""The plane of bump and rebound: what each pair does over a kerb or a road; coarse first, then fine."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Literal

from pydantic import BaseModel, Field

from fourpatch.analysis.damper_map import (
    Part,
    best_damping,
    damper_map,
    good_ratios,
    present_ratio,
    present_value,
    valley,
)
from fourpatch.app.answers.bumps import event_name
from fourpatch.app.jobs import Job, Jobs
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.document.digest import digest
from fourpatch.events.kerb_strike import KerbStrike
from fourpatch.events.rough_road import RoughRoad
from fourpatch.long_work import stretch
from fourpatch.picture.damper_map_meaning import maps_meaning, place_meaning

if TYPE_CHECKING:
    import xarray as xr

KIND = "damper-map"
"""Of the jobs."""

Axle = Literal["front", "rear"]

MEASURES = ("grip_lost", "load_variation", "time_off_ground", "body_throw", "body_acceleration_rms")
"""What is mapped; all are better small."""

COST = 0.001
"""What a good ratio of rebound to bump may cost above the least. [1]"""

_RATED = ("grip_lost", "load_variation")
"""Measures whose good ratios are told."""

COARSE, FINE = 7, 21
"""Factors in each direction."""

_COARSE_SHARE = 0.1  # of the work: 49 of 490 set-ups


class MeasureMap(BaseModel):
    """One measure over the plane."""

    measure: str
    unit: str = Field(description="SI.")
    meaning: str = Field(description="What the number is.")
    values: list[list[float]] = Field(description="By bump factor, then by rebound factor, in `unit`.")
    present: float = Field(description="As the set-up stands.")
    least: float
    best_bump: float = Field(description="Factor on the present bump damping where it is least.")
    best_rebound: float = Field(description="The same for rebound.")
    best_at_edge: bool = Field(description="Whether it may be less still beyond the map.")
    valley: list[float] = Field(description="For each bump factor the rebound factor where it is least.")
    good_ratio: tuple[float, float] | None = Field(
        description="Lowest and highest rebound over bump that cost at most 0.1 points above the least."
    )
    said: str = Field(description="In words.")


class DamperMapAnswer(BaseModel):
    """A damper map."""

    event: str = Field(description="As a heading.")
    axle: Axle
    part: str
    size: int = Field(description="Factors in each direction: 7 while coarse, 21 in the end.")
    factors: list[float] = Field(description="On the present damping, for bump and rebound alike. [1]")
    present_ratio: float = Field(description="Rebound over bump as it stands. [1]")
    maps: list[MeasureMap]
    computed_on: str = Field(default="rig", description="Rig or drive.")


def start_damper_map(
    jobs: Jobs, car: Car, event: KerbStrike | RoughRoad, *, axle: Axle, part: Part, unasked: bool = False
) -> Job:
    """Begin a map, unless the same is being made or is made already; return its job.

    Parameters
    ----------
    car : as it stands with the set-up.
    unasked : as `Jobs.start`.
    """
    return jobs.start(
        KIND,
        f"Damper map, {axle}: {event_name(event)}",
        map_key(car, event, axle=axle, part=part),
        damper_map_work(car, event, axle=axle, part=part),
        unasked=unasked,
    )


def map_key(car: Car, event: KerbStrike | RoughRoad, *, axle: Axle, part: Part) -> str:
    """Return what decides a map."""
    return digest(car, event, axle, part)


def damper_map_work(
    car: Car, event: KerbStrike | RoughRoad, *, axle: Axle, part: Part
) -> Callable[[Job], DamperMapAnswer]:
    """Return the work of a job that makes a map: its ``result`` is the coarse one until the fine is there.

    Parameters
    ----------
    car : as it stands with the set-up.
    """

    def work(job: Job) -> DamperMapAnswer:
        for size, begin, end in ((COARSE, 0.0, _COARSE_SHARE), (FINE, _COARSE_SHARE, 1.0)):
            # Stopped, the job keeps the result it has: the coarse map, if it is there.
            found = damper_map(
                car,
                event,
                axle=axle,
                part=part,
                size=size,
                progress=stretch(job.progress, begin, end),
                cancelled=job.cancelled,
            )
            job.result = damper_map_answer(found, event, ratio=present_ratio(pack(car), axle=axle, part=part))
        answer: DamperMapAnswer = job.result
        return answer

    return work


def damper_map_answer(found: "xr.Dataset", event: KerbStrike | RoughRoad, *, ratio: float) -> DamperMapAnswer:
    """Return a map in numbers and words.

    Parameters
    ----------
    ratio : rebound over bump as the set-up stands. [1]
    """
    return DamperMapAnswer(
        event=event_name(event),
        axle=found.attrs["axle"],
        part=found.attrs["part"],
        size=found.sizes["bump"],
        factors=found.bump.values.tolist(),
        present_ratio=ratio,
        maps=[_measure_map(found, name, event, ratio) for name in MEASURES],
    )


def _measure_map(
    found: "xr.Dataset", measure: str, event: KerbStrike | RoughRoad, ratio: float
) -> MeasureMap:
    best, values = best_damping(found, measure), found[measure]
    said, good = place_meaning(found, measure), None
    if measure in _RATED:
        ratios = good_ratios(found, cost=COST, measure=measure)
        good = (ratios.low * ratio, ratios.high * ratio)
        name = event_name(event)
        told = {name[0].lower() + name[1:]: found}
        said += " " + _capital(maps_meaning(told, measure=measure, cost=COST, ratio=ratio).strip())
    return MeasureMap(
        measure=measure,
        unit=values.attrs["units"],
        meaning=values.attrs["long_name"],
        values=values.values.tolist(),
        present=present_value(found, measure),
        least=best.value,
        best_bump=best.bump,
        best_rebound=best.rebound,
        best_at_edge=best.at_edge,
        valley=valley(found, measure).tolist(),
        good_ratio=good,
        said=_capital(said),
    )


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
