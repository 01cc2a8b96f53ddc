"""A car file's anti-dive, anti-lift and anti-squat: shares in the file, slopes of the links in the car.

A share holds for one brake bias, one share of drive, one centre of gravity; the links know nothing of these.
So it is turned into the links' slope once, when the file is read.
"""

import copy
from collections.abc import Iterator, Mapping, MutableMapping, Sequence
from typing import Any, NamedTuple

from fourpatch.car.car import Car
from fourpatch.car.pack import mass_properties, static_travel
from fourpatch.document.fault import Fault, Key
from fourpatch.document.refusals import read_part
from fourpatch.document.writing import toml_item
from fourpatch.errors import CarError
from fourpatch.units import Unit

Table = dict[str, Any]

SHARE = Unit("1", "%", -1.0, 2.0)
_STEEPEST = 3.0
"""Slope up to which a `RatioCurve` goes. [1]"""


class _Feature(NamedTuple):
    """A share that may stand in a file in place of a slope of the links."""

    end: str
    name: str
    slope: str

    @property
    def key(self) -> Key:
        return self.end, "geometry", self.name


# The slope of driving is part of that of braking, so it comes first.
FEATURES = (
    _Feature("front", "anti_lift", "driving_support"),
    _Feature("front", "anti_dive", "braking_support"),
    _Feature("rear", "anti_squat", "driving_support"),
    _Feature("rear", "anti_lift", "braking_support"),
)
_MISPLACED = (
    _Feature("front", "anti_squat", "driving_support"),
    _Feature("rear", "anti_dive", "braking_support"),
)


def read_car(data: Table) -> tuple[Car, list[Fault]]:
    """Return the car of a file's tables and everything that is wrong with them; see `refusals.read_part`."""
    rest = copy.deepcopy(data)
    shares, faults = _taken_out(rest)
    car, found = read_part(Car, rest)
    if not shares or faults or found:
        return car, [*found, *faults]
    for feature, share in shares.items():
        try:
            slope = _slope(car, feature, share)
        except CarError:  # no centre of gravity: said by the checks of the car
            return car, []
        except ValueError as error:
            faults.append(Fault(feature.key, str(error)))
            continue
        rest[feature.end]["geometry"][feature.slope] = {"value": slope}
        car, _ = read_part(Car, rest)  # nothing new can be wrong: the slope is in its range
    return car, faults


def write_slopes(data: MutableMapping[str, Any], car: Car) -> None:
    """Put the slopes of a car, read from these tables, in place of the shares: for them to be changed."""
    for feature, geometry in _written(data):
        del geometry[feature.name]
        support = getattr(getattr(car, feature.end).geometry, feature.slope)
        geometry[feature.slope] = toml_item({"value": support.value})


def _taken_out(data: Table) -> tuple[dict[_Feature, float], list[Fault]]:
    """Take the shares out of a file's tables."""
    shares, faults = {}, []
    for feature, geometry in _written(data):
        written = geometry.pop(feature.name)
        if feature.slope in geometry:
            said = f"says the same as {feature.slope} does by a slope. Delete one of the two."
            faults.append(Fault(feature.key, said))
            continue
        try:
            shares[feature] = SHARE.read(written, from_file=True)
        except ValueError as error:
            faults.append(Fault(feature.key, str(error)))
    for feature, geometry in _written(data, _MISPLACED):
        del geometry[feature.name]
        faults.append(Fault(feature.key, "is a feature of the other axle; on this one it is anti_lift."))
    return shares, faults


def _written(
    data: Mapping[str, Any], features: Sequence[_Feature] = FEATURES
) -> Iterator[tuple[_Feature, Table]]:
    """Yield the shares a file gives, each with the table it stands in."""
    for feature in features:
        axle = data.get(feature.end)
        geometry = axle.get("geometry") if isinstance(axle, dict) else None
        if isinstance(geometry, dict) and feature.name in geometry:
            yield feature, geometry


def _slope(car: Car, feature: _Feature, share: float) -> float:
    """Return the slope with which an axle's links carry a share of the longitudinal load transfer.

    Raises
    ------
    CarError
        If the car has no centre of gravity to count with.
    ValueError
        If no slope does: the end of a sentence about the feature.

    Notes
    -----
    With s the axle's part of the brake or drive force, u its wheels' share of the car's mass, h and L height
    of the centre of gravity and wheelbase:

      driving e_d = A h / (L (s - u)),   braking e_b = (A h / L + u e_d) / s.

    Source: `analysis.load_transfer.longitudinal_transfer`, solved for the slopes.
    """
    axle = car.front if feature.end == "front" else car.rear
    masses = mass_properties(car)
    wheels = 2.0 * axle.unsprung_mass / masses.total
    per_slope = share * masses.cg_height / car.chassis.wheelbase
    brakes, drive = car.brakes.front_share, car.driveline.front_drive_share
    if feature.end == "rear":
        brakes, drive = 1.0 - brakes, 1.0 - drive
    if feature.slope == "braking_support":
        support, travel = axle.geometry.driving_support, static_travel(axle)
        driving = support.value + travel * (support.slope + travel * support.curvature)
        slope = (per_slope + wheels * driving) / brakes
    elif share == 0.0:
        slope = 0.0
    elif drive > wheels:
        slope = per_slope / (drive - wheels)
    else:
        raise ValueError(
            f"is said of an axle that has {drive:.0%} of the drive, too little to lift or press anything. "
            "Delete it, or give the slope of the links as driving_support."
        )
    if abs(slope) > _STEEPEST:
        raise ValueError(
            f"is {share:.0%}, which would take links of slope {slope:.1f}, beyond {_STEEPEST:g}. Check it, "
            f"and the share of {'brakes' if feature.slope == 'braking_support' else 'drive'} on that axle."
        )
    return slope
