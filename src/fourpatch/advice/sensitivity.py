"""What one step of every adjuster does: the first answer."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from fourpatch.analysis.contact_patch_load import contact_patch_load
from fourpatch.analysis.phase_balance import phase_balance
from fourpatch.analysis.standard_events import standard_corners, standard_kerb, standard_road
from fourpatch.analysis.within_grip import run_possible
from fourpatch.car.adjusters import Adjuster
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.car.setup import Setup, apply_setup, step
from fourpatch.events.bumps import BumpEvent
from fourpatch.events.corner import Corner
from fourpatch.events.drive import drive
from fourpatch.events.motion import RigMotion
from fourpatch.events.run import run_rig, stable_step, stacked
from fourpatch.events.step_steer import StepSteer, step_steer_values
from fourpatch.events.track_corner import CornerOnLap
from fourpatch.events.trial import Trial, pressed_on, rig_motion
from fourpatch.physics.integrate import History

Array = NDArray[np.float64]

DIRECTIONS = (-1, 1)

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
RESPONSE_QUANTITIES = {
    "yaw_rate_gain": ("1/s", "steady yaw rate over steady road-wheel angle"),
    "yaw_response_time": ("s", "from half of the steer to 90 % of the steady yaw rate"),
    "yaw_overshoot": ("1", "peak above steady yaw rate, over the steady one"),
}
"""Of a step of steer, by the drive: unit and meaning."""


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


@dataclass(frozen=True, kw_only=True)
class EffectTable:
    """What ±1 step of every adjuster changes, beside the values of the set-up as it stands."""

    car: str
    setup: str
    adjusters: tuple[Adjuster, ...]
    measures: tuple[Measure, ...]
    present: Array
    """(measures,) as the set-up stands."""
    effects: Array
    """(adjusters, 2, measures): change for one step down and one step up; not a number at a stop."""
    events: dict[str, Trial]
    """The events behind the numbers, by name."""

    @cached_property
    def names(self) -> list[str]:
        """Dotted names of the measures."""
        return [measure.name for measure in self.measures]

    def index(self, name: str) -> int:
        """Return the place of the measure with this dotted name."""
        return self.names.index(name)

    def largest(self, chosen: Sequence[int]) -> Array:
        """Largest change either way over the chosen measures, (adjusters,)."""
        return np.asarray(np.nanmax(np.abs(self.effects[:, :, list(chosen)]), axis=(1, 2), initial=0.0))

    def order(self, chosen: Sequence[int]) -> list[int]:
        """Adjusters by their largest effect on the chosen measures, largest first."""
        return [int(k) for k in np.argsort(-self.largest(chosen), kind="stable")]

    def balance_measures(self) -> list[int]:
        """Places of the phase balances."""
        return [k for k, measure in enumerate(self.measures) if measure.quantity == "balance"]


def sensitivity(
    car: Car,
    setup: Setup,
    *,
    events: Mapping[str, Trial] | None = None,
    compared: bool = True,
    progress: Callable[[str], None] = lambda text: None,
) -> EffectTable:
    """Compute what one step of every adjuster does in each event.

    Parameters
    ----------
    setup : where to step from.
    events : by name; by default three corners, a rough road and a kerb scaled to the car.
    compared : also how each step differs from the present set-up from instant to instant (swings).
    progress : told what is being computed.

    Notes
    -----
    All set-ups meet the same motion: speeds, accelerations and road are those of the set-up as it
    stands. A change that would need another motion (more grip, so a faster corner) shows as less use
    of the same motion, not as speed.
    """
    base = apply_setup(car, setup)
    cars, places = _stepped_cars(car, setup, base)
    chosen = standard_events(base) if events is None else events
    measures, table = measured(cars, chosen, compared=compared, progress=progress)
    effects = np.full((len(car.adjusters), len(DIRECTIONS), len(measures)), np.nan)
    for row, (adjuster, direction) in enumerate(places, start=1):
        effects[adjuster, direction] = table[row] - table[0]
    return EffectTable(
        car=car.name,
        setup=setup.name,
        adjusters=tuple(car.adjusters),
        measures=tuple(measures),
        present=table[0],
        effects=effects,
        events=dict(chosen),
    )


def measured(
    cars: Sequence[Car],
    events: Mapping[str, Trial],
    *,
    compared: bool = True,
    progress: Callable[[str], None] = lambda text: None,
) -> tuple[list[Measure], Array]:
    """Put cars through events and return what is measured, and its values, (cars, measures).

    Parameters
    ----------
    cars : the first one sets the motion, and swings are counted from it.
    compared : with swings.
    progress : told what is being computed.

    Notes
    -----
    Corners, roads and kerbs by the rig, a step of steer by the drive.
    """
    level = stacked([pack(one) for one in cars])
    interval = stable_step(level)
    measures: list[Measure] = []
    values: list[Array] = []
    for name, event in events.items():
        progress(name)
        if isinstance(event, StepSteer):
            found = _response_measures(name, cars, event)
        else:
            motion, vectors = rig_motion(event, cars[0], interval), pressed_on(event, level)
            if isinstance(event, Corner):
                history = run_possible(cars[0], event, motion, vectors)
            else:
                history = run_rig(vectors, motion)
            if isinstance(event, Corner | CornerOnLap):
                found = _corner_measures(name, vectors, history, motion, compared=compared)
            else:
                found = bump_measures(name, vectors, history, motion)
        measures += [measure for measure, _ in found]
        values += [value for _, value in found]
    return measures, np.stack(values, axis=1)


def standard_events(car: Car) -> dict[str, Corner | BumpEvent]:
    """Return the events of a first answer, scaled to the car as it stands."""
    return {**standard_corners(car), "rough road": standard_road(car), "kerb": standard_kerb(car)}


def _stepped_cars(car: Car, setup: Setup, base: Car) -> tuple[list[Car], list[tuple[int, int]]]:
    """The car as it stands, then one per possible step; and which adjuster and direction each is."""
    cars, places = [base], []
    for place, adjuster in enumerate(car.adjusters):
        for column, direction in enumerate(DIRECTIONS):
            stepped = step(setup, adjuster, direction)
            if stepped is not None:
                cars.append(apply_setup(car, stepped))
                places.append((place, column))
    return cars, places


_Found = list[tuple[Measure, Array]]


def _measure(event: str, part: str, axle: str, found: xr.DataArray, values: Array) -> tuple[Measure, Array]:
    return (
        Measure(
            event=event,
            part=part,
            quantity=str(found.name),
            axle=axle,
            unit=found.attrs["units"],
            meaning=found.attrs["long_name"],
        ),
        values,
    )


def _corner_measures(
    name: str, vectors: Array, history: History, motion: RigMotion, *, compared: bool
) -> _Found:
    labels = [str(k) for k in range(vectors.shape[0])]
    phases = phase_balance(vectors, history, motion, labels, tyres_too=False, compared=compared)
    there = list(phases.phase.values)
    rows = {part: there.index(part) for part in CORNER_PHASES if part in there}
    # Indexed as plain arrays: a labelled look-up takes longer than the runs do.
    of_car = [one for one in CAR_QUANTITIES if one in phases]
    of_axle = [one for one in AXLE_QUANTITIES if one in phases]
    columns = {quantity: phases[quantity] for quantity in (*of_car, *of_axle)}
    arrays = {quantity: column.values for quantity, column in columns.items()}
    found = []
    for part, row in rows.items():
        for quantity in of_car:
            found.append(_measure(name, part, "", columns[quantity], arrays[quantity][:, row]))
        for quantity in of_axle:
            for k, axle in enumerate(("front", "rear")):
                found.append(_measure(name, part, axle, columns[quantity], arrays[quantity][:, row, k]))
    return found


def bump_measures(
    name: str, vectors: Array, history: History, motion: RigMotion, *, grip_too: bool = True
) -> list[tuple[Measure, Array]]:
    """Return what is measured of a road or kerb, each with its values, (cars,).

    Parameters
    ----------
    name : of the event.
    vectors : (cars, N_PARAMETER)
    grip_too : also what grip was lost, which takes longer than all the rest.
    """
    since = motion.phases[1].start
    labels = [str(k) for k in range(vectors.shape[0])]
    bumps = contact_patch_load(vectors, history, motion, labels, since=since, grip_too=grip_too)
    found = []
    for axle, corners in (("front", ["FL", "FR"]), ("rear", ["RL", "RR"])):
        of_axle = bumps.sel(corner=corners)
        for quantity in BUMP_AXLE_QUANTITIES:
            if quantity in of_axle:
                values = of_axle[quantity]
                both = values.max if quantity == "longest_flight" else values.mean
                of_both = both("corner", keep_attrs=True)
                found.append(_measure(name, "", axle, of_both, of_both.values))
    for quantity in BUMP_CAR_QUANTITIES:
        found.append(_measure(name, "", "", bumps[quantity], bumps[quantity].values))
    return found


def _response_measures(name: str, cars: Sequence[Car], event: StepSteer) -> _Found:
    values = step_steer_values(drive(cars, event))
    found = {
        "yaw_rate_gain": [one.yaw_rate.gain for one in values],
        "yaw_response_time": [one.yaw_rate.response_time for one in values],
        "yaw_overshoot": [one.yaw_rate.overshoot for one in values],
    }
    return [
        (
            Measure(event=name, part="", quantity=quantity, axle="", unit=unit, meaning=meaning),
            np.array(found[quantity]),
        )
        for quantity, (unit, meaning) in RESPONSE_QUANTITIES.items()
    ]
