"""What is measured of an event on the rig, as plain numbers with a name, a unit and a meaning."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis import contact_patch_load, phase_balance
from fourpatch.analysis.contact_patch_load import contact_patch_numbers
from fourpatch.analysis.phase_balance import phase_numbers, phase_series
from fourpatch.events.motion import RigMotion
from fourpatch.physics.integrate import History

Array = NDArray[np.float64]

CORNER_PHASES = ("braking", "entry", "mid", "exit")
"""Phases of a corner that are measured, in their order."""

CAR_QUANTITIES = (
    "balance",
    "early_balance",
    "late_balance",
    "balance_swing",
    "front_transfer_share",
    "roll",
    "pitch",
)
AXLE_QUANTITIES = (
    "use",
    "axle_load",
    "axle_load_swing",
    "axle_load_swing_time",
    "axle_load_delay",
    "axle_load_peak",
    "longitudinal_use",
    "lateral_transfer",
    "elastic_transfer",
    "damper_transfer",
    "geometric_transfer",
    "ride_height",
    "downforce",
)

BUMP_AXLE_QUANTITIES = (
    "grip_lost",
    "grip_left",
    "load_variation",
    "time_off_ground",
    "stop_contact",
    "longest_flight",
)
BUMP_CAR_QUANTITIES = (
    "body_throw",
    "body_acceleration_peak",
    "body_acceleration_rms",
    "roll_peak",
    "front_height_rms",
    "rear_height_rms",
    "front_height_least",
    "rear_height_least",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """One number of one part of one event."""

    event: str
    """Name of the event."""
    part: str
    """Phase of a corner; empty for a road or kerb."""
    quantity: str
    """What is measured."""
    axle: str
    """front, rear, or empty for the whole car."""
    unit: str
    """SI, or points."""
    meaning: str
    """One sentence."""

    @property
    def name(self) -> str:
        """Dotted name: event, part, quantity, axle, those that apply."""
        return ".".join(part for part in (self.event, self.part, self.quantity, self.axle) if part)


Found = list[tuple[Measure, Array]]
"""Measures, each with its values, (cars,)."""

_AXLES = ("front", "rear")


def corner_described(event: str, parts: Sequence[str] = CORNER_PHASES) -> tuple[Measure, ...]:
    """Return what is measured of a corner, in the order of `corner_values`.

    Parameters
    ----------
    parts : the phases it has.
    """
    found = []
    for part in parts:
        found += [_described(event, part, name, "", phase_balance.UNITS) for name in CAR_QUANTITIES]
        for name in AXLE_QUANTITIES:
            found += [_described(event, part, name, axle, phase_balance.UNITS) for axle in _AXLES]
    return tuple(found)


def corner_values(numbers: Mapping[str, Array], motion: RigMotion) -> Array:
    """Return the values of `corner_described`, (cars, measures).

    Parameters
    ----------
    numbers : of `phase_numbers`.
    """
    names = [phase.name for phase in motion.phases]
    rows = [names.index(part) for part in CORNER_PHASES if part in names]
    of_car = np.stack([numbers[name] for name in CAR_QUANTITIES], axis=-1)
    of_axles = np.stack([numbers[name] for name in AXLE_QUANTITIES], axis=2)
    cars, phases = of_car.shape[:2]
    together = np.concatenate([of_car, of_axles.reshape(cars, phases, -1)], axis=-1)
    return np.asarray(together[:, rows].reshape(cars, -1))


def bumps_described(event: str, *, grip_too: bool = True) -> tuple[Measure, ...]:
    """Return what is measured of a road or kerb, in the order of `bump_values`."""
    units = contact_patch_load.UNITS
    found = []
    for axle in _AXLES:
        found += [_described(event, "", name, axle, units) for name in _bump_quantities(grip_too)]
    return (*found, *(_described(event, "", name, "", units) for name in BUMP_CAR_QUANTITIES))


def bump_values(numbers: Mapping[str, Array], *, grip_too: bool = True) -> Array:
    """Return the values of `bumps_described`, (cars, measures).

    Parameters
    ----------
    numbers : of `contact_patch_numbers`.
    """
    columns = []
    for wheels in (slice(0, 2), slice(2, 4)):
        for name in _bump_quantities(grip_too):
            both = numbers[name][:, wheels]
            columns.append(both.max(axis=1) if name == "longest_flight" else both.mean(axis=1))
    return np.stack([*columns, *(numbers[name] for name in BUMP_CAR_QUANTITIES)], axis=1)


def corner_measures(name: str, vectors: Array, history: History, motion: RigMotion) -> Found:
    """Return what is measured of a corner, each with its values, (cars,).

    Parameters
    ----------
    name : of the event.
    vectors : (cars, N_PARAMETER); swings are counted from the first car.
    """
    numbers = phase_numbers(phase_series(vectors, history, motion), motion)
    there = [phase.name for phase in motion.phases]
    described = corner_described(name, [part for part in CORNER_PHASES if part in there])
    return list(zip(described, corner_values(numbers, motion).T, strict=True))


def bump_measures(
    name: str, vectors: Array, history: History, motion: RigMotion, *, grip_too: bool = True
) -> Found:
    """Return what is measured of a road or kerb, each with its values, (cars,).

    Parameters
    ----------
    name : of the event.
    vectors : (cars, N_PARAMETER)
    grip_too : also what grip was lost, which takes longer than all the rest.
    """
    since = motion.phases[1].start
    numbers = contact_patch_numbers(vectors, history, motion, since=since, grip_too=grip_too)
    described = bumps_described(name, grip_too=grip_too)
    return list(zip(described, bump_values(numbers, grip_too=grip_too).T, strict=True))


def _bump_quantities(grip_too: bool) -> list[str]:
    return [name for name in BUMP_AXLE_QUANTITIES if grip_too or not name.startswith("grip_")]


def _described(
    event: str, part: str, quantity: str, axle: str, units: Mapping[str, tuple[str, str]]
) -> Measure:
    unit, meaning = units[quantity]
    return Measure(event=event, part=part, quantity=quantity, axle=axle, unit=unit, meaning=meaning)
