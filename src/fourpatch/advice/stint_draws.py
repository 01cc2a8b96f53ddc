"""How sure a stint is: the same laps with plausible cars and surfaces."""

from collections.abc import Mapping
from dataclasses import replace
from math import exp, log, sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.plausible import OF_LAPS, Groups, drawn, unknowns
from fourpatch.analysis.stint import Stint, Surface, run_stint
from fourpatch.car.car import Car
from fourpatch.car.parameters import STINT_SPREADS
from fourpatch.car.paths import Parameter
from fourpatch.car.provenance import RELATIVE_SPREAD, spread
from fourpatch.errors import CarError, EventError, SolveError
from fourpatch.long_work import Cancelled, Progress, never, unwatched

Array = NDArray[np.float64]

DRAWS = 12
"""Plausible cars."""


class StintSpread(NamedTuple):
    """What plausible cars say of a stint; rows by car."""

    tread: Array
    """Temperature after it, (cars, 4). [K]"""
    pressure: Array
    """Gauge, after it, (cars, 4). [Pa]"""
    worn: Array
    """Share of life gone, (cars, 4). [1]"""
    fuel: Array
    """Burnt for each lap, (cars,). [kg]"""
    slower: Array
    """Lap time after it less that on warm tyres, (cars,). [s]"""
    drift: Array
    """Change of balance meanwhile, (cars,). [points]"""
    lost: int
    """Cars that cannot stand or have no lap."""

    def between(self, values: Array) -> tuple[Array, Array]:
        """Return what two thirds of the cars lie between."""
        low, high = np.percentile(values, [16.0, 84.0], axis=0)
        return low, high


def unknown_over_laps(car: Car) -> Groups:
    """Return what is uncertain of a stint: what motions hang on, and what only laps bring about.

    Notes
    -----
    What the car's file says of a constant of laps counts; where it has our own number and no spread, ours
    does. Fuel and pressure are no unknowns: the driver fills and sets them.
    """
    filled = ("fuel.mass", "front.tyre.pressure", "rear.tyre.pressure")

    def size(one: Parameter) -> float:
        if one.path in filled:
            return 0.0
        stated = spread(car, one.path)
        return stated or (_ours(one) if OF_LAPS.fullmatch(one.path) else 0.0)

    return unknowns(car, size)


def _ours(one: Parameter) -> float:
    """Return the spread of a number that is ours, 0 of one that somebody has changed."""
    usual = one.owner.model_fields[one.field].default
    stated = STINT_SPREADS.get(one.field, "")
    return RELATIVE_SPREAD.parse(stated) * one.value if stated and one.value == usual else 0.0


def stint_spread(
    stint: Stint,
    *,
    count: int = DRAWS,
    seed: int = 1,
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> StintSpread | None:
    """Ask plausible cars about a stint; None where none of them could be asked.

    Parameters
    ----------
    progress, cancelled : as `long_work`; stopped, it returns what the cars that were asked say.

    Notes
    -----
    Of each are computed the first lap, the third, the one at which the car's own tyres are warm, and the
    last, with powers in between as on the first of them. All spreads are taken as independent.
    """
    groups = unknown_over_laps(stint.car)
    generator = np.random.default_rng(seed)
    at = sorted({1, min(3, stint.warm.lap), stint.warm.lap})
    rows, lost = [], 0
    for k in range(count):
        if cancelled():
            break
        progress(k / count, f"plausible car {k + 1} of {count}")
        other = drawn(stint.car, groups, generator)
        surface = _drawn_surface(stint.conditions.surface, generator)
        try:
            if other is None:
                raise CarError("it cannot stand")
            conditions = replace(stint.conditions, laps=stint.driven, surface=surface)
            line = stint.reference.line
            rows.append(_row(run_stint(other, line, conditions, at=at, like=stint), stint))
        except (CarError, EventError, SolveError):
            lost += 1
    if not rows:
        return None
    tread, pressure, worn, fuel, slower, drift = (np.array(column) for column in zip(*rows, strict=True))
    return StintSpread(tread, pressure, worn, fuel, slower, drift, lost)


def _row(one: Stint, stint: Stint) -> tuple[Array, Array, Array, float, float, float]:
    air, end = stint.conditions.air, one.last
    warm = next(lap for lap in one.laps if lap.lap >= min(stint.warm.lap, end.lap))
    laps = max(one.driven, 1)
    burnt = (one.laps[0].condition.fuel - end.condition.fuel) / laps
    return (
        air + end.condition.rise[:, 0],
        end.pressure,
        end.condition.worn,
        burnt,
        end.profile.lap_time - warm.profile.lap_time,
        end.alike.balance - warm.alike.balance,
    )


def _drawn_surface(surface: Surface, generator: np.random.Generator) -> Surface:
    scores = generator.standard_normal(3)
    moved: Mapping[str, float] = {
        name: getattr(surface, name) * exp(sqrt(log(1.0 + size**2)) * score)
        for name, size, score in zip(
            ("friction", "cooling", "wear"),
            (surface.friction_spread, surface.spread, surface.spread),
            scores.tolist(),
            strict=True,
        )
    }
    return replace(surface, **moved)
