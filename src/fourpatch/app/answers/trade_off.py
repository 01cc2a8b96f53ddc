"""What chosen adjusters of a car give for each other."""

from collections.abc import Sequence
from math import prod

from pydantic import BaseModel, Field, PrivateAttr

from fourpatch.advice.trade_off import (
    MOST_LAPS,
    MOST_SETUPS,
    OBJECTIVES,
    TradeOff,
    TradePoint,
    chosen_adjusters,
    chosen_objectives,
    recounted,
    trade_off,
)
from fourpatch.app.jobs import Job, Jobs
from fourpatch.car.adjusters import adjuster
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.document.digest import digest
from fourpatch.errors import AdviceError
from fourpatch.picture.trade_off_words import change_words, trade_off_how, trade_off_meaning
from fourpatch.track.track import Track

KIND = "trade-off"

MOST_ADJUSTERS = 6
"""Adjusters that are traded at once; of more a sample says little."""


class TradeSetup(BaseModel):
    """One set-up on the table."""

    positions: dict[str, float] = Field(description="Of the chosen adjusters.")
    pace: float = Field(description="In the answer's `pace_unit`; less is quicker.")
    bumps: float = Field(description="Grip lost on the surface and over the kerb; less is better. [points]")
    calmness: float = Field(
        description="What the rear has in hand where the car turns; more is calmer. [points]"
    )
    scatter: float = Field(
        description="What a driver's unevenness changes of the use of grip; less is better. [points]"
    )
    tyre_work: float = Field(description="Of the most worked tyre; less spares it. [kJ/km]")
    total_work: float = Field(description="Of all four tyres. [kJ/km]")
    most_worked: str = Field(description="Which tyre that is: FL, FR, RL or RR.")
    on_front: bool = Field(description="Whether no other set-up beats it in everything.")
    moved: str = Field(description="Which adjusters stand elsewhere than at present: from where to where.")
    change: str = Field(description="What it has more or less of than the present set-up.")


class TradeOffAnswer(BaseModel):
    """What was found."""

    car: int = Field(description="Its id in the notebook.")
    track: int | None = Field(description="Its id in the notebook; null where pace is use of grip.")
    setup: dict[str, float] = Field(description="Where all adjusters stood when it was asked.")
    adjusters: list[str] = Field(description="Those that were traded.")
    occasion: str = Field(description="What the numbers were computed in.")
    notes: list[str] = Field(description="What was taken for what.")
    pace_unit: str = Field(description="s or points.")
    objectives: list[str] = Field(description="Those that count for `on_front` and the picks.")
    setups: list[TradeSetup] = Field(description="All that can run, the present one first.")
    calmer: int | None = Field(description="Place in `setups`: as quick as the present one and calmest.")
    quicker: int | None = Field(description="Place in `setups`: as calm as the present one and quickest.")
    possible: int = Field(description="Set-ups there are.")
    exhaustive: bool = Field(description="Whether all of them were computed.")
    finished: bool = Field(description="Whether nothing is left to compute.")
    stopped: bool = Field(description="Whether it was stopped; asked again, it goes on from here.")
    how: str = Field(description="What the numbers are, and how many set-ups were computed.")
    meaning: str = Field(description="What can be had for what, in a sentence.")
    _found: TradeOff = PrivateAttr()


def usual_adjusters(car: Car) -> list[str]:
    """Return what is traded unless others are chosen: the anti-roll bars, else the springs."""
    for system in ("anti-roll bars", "springs"):
        if names := [one.name for one in car.adjusters if one.system == system]:
            return names[:2]
    return [one.name for one in car.adjusters[:2]]


def setups_words(car: Car, names: Sequence[str], *, with_track: bool) -> str:
    """Say how many set-ups a choice of adjusters makes, and how many of them are computed."""
    if not names:
        return "Choose at least one adjuster."
    sizes = [len(adjuster(car, name).positions()) for name in names]
    possible, most = prod(sizes), MOST_LAPS if with_track else MOST_SETUPS
    counted = f"{' × '.join(map(str, sizes))} = {possible:,}" if len(sizes) > 1 else f"{possible}"
    part = "all are computed" if possible <= most else f"a sample and its best neighbours, at most {most}"
    return f"{counted} set-ups: {part}."


def start_trade_off(
    jobs: Jobs,
    car_id: int,
    car: Car,
    setup: Setup,
    names: Sequence[str],
    *,
    track: tuple[int, Track] | None = None,
    objectives: Sequence[str] = OBJECTIVES,
) -> Job:
    """Begin a trade-off, or go on with one that was stopped; the result is a `TradeOffAnswer`.

    Raises
    ------
    AdviceError, CarError
        If an adjuster or an objective is unknown, named twice, none or too many are named, or the set-up does
        not fit.
    """
    if len(names) > MOST_ADJUSTERS:
        raise AdviceError(
            f"{len(names)} adjusters are named, more than {MOST_ADJUSTERS}: a sample of so many set-ups says "
            "little. Choose those you would turn."
        )
    chosen_adjusters(car, names)
    counted = chosen_objectives(objectives)
    standing = apply_setup(car, setup)
    positions = {one.name: setup.position(one) for one in car.adjusters}
    track_id, on = track or (None, None)
    question = f"{car_id}:{digest(standing, sorted(names), track_id, on)}:"
    before = jobs.latest(KIND, question)
    known = before.result._found if before and isinstance(before.result, TradeOffAnswer) else None

    def work(job: Job) -> TradeOffAnswer:
        def show(found: TradeOff) -> None:
            job.result = _answer(found, car_id, track_id, positions)

        found = trade_off(
            car,
            setup,
            sorted(names),
            track=on,
            objectives=counted,
            known=known,
            progress=job.progress,
            cancelled=job.cancelled,
            show=show,
        )
        return _answer(found, car_id, track_id, positions)

    about = f"trade-off of {', '.join(names)} on {car.name}"
    return jobs.start(KIND, about, question + ",".join(counted), work)


def recounted_answer(answer: TradeOffAnswer, objectives: Sequence[str]) -> TradeOffAnswer:
    """Return the same set-ups with other objectives that count; nothing is computed again.

    Raises
    ------
    AdviceError
        If an objective is unknown, named twice, or none is named.
    """
    return _answer(recounted(answer._found, objectives), answer.car, answer.track, answer.setup)


def _answer(
    found: TradeOff, car_id: int, track_id: int | None, positions: dict[str, float]
) -> TradeOffAnswer:
    places = {point.positions: place for place, point in enumerate(found.points)}
    front = {point.positions for point in found.front}
    answer = TradeOffAnswer(
        car=car_id,
        track=track_id,
        setup=positions,
        adjusters=[one.name for one in found.adjusters],
        occasion=found.occasion.name,
        notes=list(found.occasion.notes),
        pace_unit=found.pace_unit,
        objectives=list(found.objectives),
        setups=[_setup(found, point, point.positions in front) for point in found.points],
        calmer=None if found.calmer is None else places[found.calmer.positions],
        quicker=None if found.quicker is None else places[found.quicker.positions],
        possible=found.possible,
        exhaustive=found.exhaustive,
        finished=found.finished,
        stopped=found.stopped,
        how=trade_off_how(found),
        meaning=trade_off_meaning(found),
    )
    answer._found = found
    return answer


def _moved(found: TradeOff, point: TradePoint) -> str:
    return ", ".join(
        f"{one.name} {now:g}\u00a0→\u00a0{at:g} {one.unit if one.unit != 'position' else ''}".rstrip()
        for one, now, at in zip(found.adjusters, found.present.positions, point.positions, strict=True)
        if at != now
    )


def _setup(found: TradeOff, point: TradePoint, on_front: bool) -> TradeSetup:
    names = [one.name for one in found.adjusters]
    return TradeSetup(
        positions=dict(zip(names, point.positions, strict=True)),
        pace=point.pace,
        bumps=point.bumps,
        calmness=point.calmness,
        scatter=point.scatter,
        tyre_work=point.tyre_work,
        total_work=point.total_work,
        most_worked=point.most_worked,
        on_front=on_front,
        moved=_moved(found, point),
        change=change_words(found, point),
    )
