"""What one step of every adjuster does: the first answer."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

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
from fourpatch.events.motion import RigMotion
from fourpatch.events.run import stable_step, stacked
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
    "lateral_transfer",
    "damper_transfer",
    "ride_height",
    "downforce",
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


@dataclass(frozen=True, slots=True, kw_only=True)
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
    events: dict[str, Corner | BumpEvent]
    """The events behind the numbers, by name."""

    def index(self, name: str) -> int:
        """Return the place of the measure with this dotted name."""
        return [measure.name for measure in self.measures].index(name)

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
    events: dict[str, Corner | BumpEvent] | None = None,
    progress: Callable[[str], None] = lambda text: None,
) -> EffectTable:
    """Compute what one step of every adjuster does in each event.

    Parameters
    ----------
    setup : where to step from.
    events : by name; by default three corners, a rough road and a kerb scaled to the car.
    progress : told what is being computed.

    Notes
    -----
    All set-ups meet the same motion: speeds, accelerations and road are those of the set-up as it
    stands. A change that would need another motion (more grip, so a faster corner) shows as less use
    of the same motion, not as speed.
    """
    base = apply_setup(car, setup)
    cars, places = _stepped_cars(car, setup, base)
    vectors = stacked([pack(one) for one in cars])
    interval = stable_step(vectors)
    chosen = standard_events(base) if events is None else events
    measures: list[Measure] = []
    values: list[Array] = []
    for name, event in chosen.items():
        progress(name)
        motion = event.motion(base, interval)
        history = run_possible(base, event, motion, vectors)
        found = _corner_measures if isinstance(event, Corner) else _bump_measures
        for measure, value in found(name, vectors, history, motion):
            measures.append(measure)
            values.append(value)
    table = np.stack(values, axis=1)
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


def _measure(event: str, part: str, axle: str, values: xr.DataArray) -> tuple[Measure, Array]:
    return (
        Measure(
            event=event,
            part=part,
            quantity=str(values.name),
            axle=axle,
            unit=values.attrs["units"],
            meaning=values.attrs["long_name"],
        ),
        values.values,
    )


def _corner_measures(name: str, vectors: Array, history: History, motion: RigMotion) -> _Found:
    phases = phase_balance(vectors, history, motion, [str(k) for k in range(vectors.shape[0])])
    found = []
    for part in CORNER_PHASES:
        one = phases.sel(phase=part)
        for quantity in CAR_QUANTITIES:
            found.append(_measure(name, part, "", one[quantity]))
        for quantity in AXLE_QUANTITIES:
            for axle in ("front", "rear"):
                found.append(_measure(name, part, axle, one[quantity].sel(axle=axle)))
    return found


def _bump_measures(name: str, vectors: Array, history: History, motion: RigMotion) -> _Found:
    since = motion.phases[1].start
    labels = [str(k) for k in range(vectors.shape[0])]
    bumps = contact_patch_load(vectors, history, motion, labels, since=since)
    found = []
    for axle, corners in (("front", ["FL", "FR"]), ("rear", ["RL", "RR"])):
        of_axle = bumps.sel(corner=corners)
        for quantity in ("grip_lost", "grip_left", "load_variation", "time_off_ground", "stop_contact"):
            found.append(_measure(name, "", axle, of_axle[quantity].mean("corner", keep_attrs=True)))
        found.append(_measure(name, "", axle, of_axle.longest_flight.max("corner", keep_attrs=True)))
    for quantity in ("body_throw", "body_acceleration_peak", "body_acceleration_rms", "roll_peak"):
        found.append(_measure(name, "", "", bumps[quantity]))
    return found
