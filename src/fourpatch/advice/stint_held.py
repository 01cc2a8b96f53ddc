"""Where the balance goes over a stint, why, and which single adjuster holds it, at what price in lap time."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Final, NamedTuple

from fourpatch.analysis.lap_duty import LapDuty, lap_duty
from fourpatch.analysis.lap_profile import lap_profile
from fourpatch.analysis.limits_map import limits_map
from fourpatch.analysis.stint import Stint, StintLap, run_stint
from fourpatch.car.adjusters import Adjuster
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.errors import CarError, EventError, SolveError
from fourpatch.long_work import Cancelled, Progress, go_on, never, unwatched

WORTH_A_WORD: Final = 0.5
"""Change of balance below which a driver has nothing to say: a little, as in complaints. [points]"""

_OFFERED = 3
"""Changes whose whole stint is computed."""
_LEFT: Final = 0.5
"""Share of the drift that a change may leave."""
_OF_NO_LAP: Final = ("fuel", "gears")
"""Systems that are not set for balance."""
_FARTHEST: Final = 0.5
"""Share of its scale that an adjuster is turned by at most."""


class Part(NamedTuple):
    """What one of the things that laps change does to the balance over a stint."""

    temperature: float
    """Of the treads. [points]"""
    pressure: float
    """[points]"""
    wear: float
    """[points]"""
    fuel: float
    """[points]"""


class Held(NamedTuple):
    """An adjuster that brings the balance after the stint back to what it was on warm tyres."""

    adjuster: Adjuster
    before: float
    after: float
    """Positions."""
    warm_balance: float
    """With it, on the warm tyres of the stint. [points]"""
    last_balance: float
    """With it, after the stint. [points]"""
    warm_time: float
    """What it costs of a lap on the warm tyres of the stint. [s]"""
    last_time: float
    """What it costs of the lap after the stint. [s]"""
    stint: Stint
    """With it from the first lap."""


def parts_of_drift(stint: Stint) -> Part:
    """Return what temperature, pressure, wear and fuel each do to the balance from warm tyres to the end.

    Notes
    -----
    Each alone put back to what it was on warm tyres, at the end; what they do together is in none.
    """
    warm, last = stint.warm.condition, stint.last.condition
    now = stint.standing(last)
    then = stint.standing(warm)

    def without(path: str) -> float:
        axles = {
            end: getattr(now, end).model_copy(
                update={
                    "tyre": getattr(now, end).tyre.model_copy(
                        update={path: getattr(getattr(then, end).tyre, path)}
                    )
                }
            )
            for end in ("front", "rear")
        }
        return _gone(stint, now.model_copy(update=axles))

    return Part(
        temperature=without("temperature"),
        pressure=without("pressure"),
        wear=without("worn"),
        fuel=_gone(stint, now.model_copy(update={"fuel": then.fuel})),
    )


def _gone(stint: Stint, other: Car) -> float:
    return stint.last.alike.balance - _alike(stint, other).balance


def _alike(stint: Stint, car: Car) -> LapDuty:
    return lap_duty(car, stint.reference, share=stint.conditions.pace)


def holding(
    car: Car,
    setup: Setup,
    stint: Stint,
    *,
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> list[Held]:
    """Return single adjusters that take the drift back, the quickest stint first; none if it is small.

    Parameters
    ----------
    car : as written.
    setup : with which it did the stint.
    progress, cancelled : as `long_work`; stopped, it returns those that are known.

    Notes
    -----
    Each adjuster of the car alone, turned as many whole steps as take back the drift by what one step does,
    at most half its scale. Those that leave more than half of the drift are left out; of the rest the three
    that ask least of the worse axle are computed over the whole stint.
    """
    if abs(stint.drift) < WORTH_A_WORD:
        return []
    found = sorted(_candidates(car, setup, stint), key=lambda one: one[0])[:_OFFERED]
    held = []
    for k, (_, adjuster, other) in enumerate(found):
        if cancelled():
            break
        progress(k / max(len(found), 1), f"{adjuster.name} over the stint")
        try:
            held.append(_held(car, setup, other, adjuster, stint, cancelled))
        except (CarError, EventError, SolveError):
            continue
    return sorted(held, key=lambda one: one.stint.total_time / max(one.stint.driven, 1))


def _candidates(car: Car, setup: Setup, stint: Stint) -> Iterator[tuple[float, Adjuster, Setup]]:
    """Yield the price in use of the worse axle, the adjuster and the set-up that takes back the drift."""
    for adjuster in car.adjusters:
        if adjuster.system in _OF_NO_LAP:
            continue
        tried = _turned(setup, adjuster, 1) or _turned(setup, adjuster, -1)
        effect = _effect(car, tried, stint) if tried else None
        if not tried or effect is None:
            continue
        way = (tried.position(adjuster) - setup.position(adjuster)) / adjuster.step
        per_step = (effect.balance - stint.last.alike.balance) / way
        if abs(per_step) < 1e-6:
            continue
        steps = round(-stint.drift / per_step)
        most = _FARTHEST * (adjuster.highest - adjuster.lowest) / adjuster.step
        other = _turned(setup, adjuster, steps) if 0 < abs(steps) <= most else None
        after = other and _effect(car, other, stint)
        if other and after and abs(after.balance - stint.warm.alike.balance) <= _LEFT * abs(stint.drift):
            yield after.use - stint.last.alike.use, adjuster, other


def _turned(setup: Setup, adjuster: Adjuster, steps: int) -> Setup | None:
    """Return the set-up with an adjuster moved by steps, None beyond its scale."""
    wanted = setup.position(adjuster) + steps * adjuster.step
    if not adjuster.lowest <= wanted <= adjuster.highest:
        return None
    return setup.model_copy(update={"values": {**setup.values, adjuster.name: adjuster.nearest(wanted)}})


def _effect(car: Car, setup: Setup, stint: Stint) -> LapDuty | None:
    """Return what the lap after the stint asks with another set-up; None if the car cannot stand so."""
    try:
        return _alike(stint, stint.standing(stint.last.condition, apply_setup(car, setup)))
    except (CarError, EventError, SolveError):
        return None


def _held(
    car: Car, setup: Setup, other: Setup, adjuster: Adjuster, stint: Stint, cancelled: Cancelled
) -> Held:
    changed = apply_setup(car, other)
    warm, last = (_there(stint, one, changed) for one in (stint.warm, stint.last))
    go_on(cancelled, f"{adjuster.name} over the stint")
    conditions = replace(stint.conditions, laps=stint.driven)
    return Held(
        adjuster=adjuster,
        before=setup.position(adjuster),
        after=other.position(adjuster),
        warm_balance=warm[0],
        last_balance=last[0],
        warm_time=warm[1] - stint.warm.profile.lap_time,
        last_time=last[1] - stint.last.profile.lap_time,
        stint=run_stint(changed, stint.reference.line, conditions, like=stint, hot=stint.hot),
    )


def _there(stint: Stint, lap: StintLap, car: Car) -> tuple[float, float]:
    """Return balance [points] and lap time [s] of another car on the tyres of a lap."""
    standing = stint.standing(lap.condition, car)
    profile = lap_profile(limits_map(standing, near=lap.limits), stint.reference.line)
    return _alike(stint, standing).balance, profile.lap_time
