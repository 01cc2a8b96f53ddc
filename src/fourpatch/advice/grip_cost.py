"""What a set-up costs in grip: in corners, on bumps, over kerbs, and by a floor that meets the road.

One currency, points: hundredths of the grip the tyres could have.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.occasion import Occasion
from fourpatch.analysis.axle_use import AxleUse, axle_use
from fourpatch.analysis.contact_patch_load import contact_patch_load
from fourpatch.analysis.phase_balance import phase_window
from fourpatch.analysis.tyre_work import corner_slips
from fourpatch.analysis.use_scatter import use_scatter
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.errors import CarError, SolveError
from fourpatch.events.bumps import BumpEvent
from fourpatch.events.motion import RigMotion
from fourpatch.events.run import run_rig, stable_step, stacked
from fourpatch.long_work import Cancelled, Progress, go_on, never, unwatched
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import O

Array = NDArray[np.float64]

PHASES = ("braking", "entry", "mid", "exit")

HARDLY = 0.1
"""Points that hardly matter: a twentieth of a per cent of corner speed. A choice of this project."""

FLOOR_MARGIN = 0.004
"""Least ride height that a base set-up leaves over the surface and in corners. [m]"""

FLOOR_COST = 1000.0
"""Points for each metre the floor comes below that: a point a millimetre. A choice, no published source."""

BATCH = 64
"""Set-ups run together."""

PARTS = ("corners", "bumps", "kerbs", "floor")
"""What the cost is made of."""


class GripCost(NamedTuple):
    """What set-ups cost, in points; rows by set-up. A set-up that cannot run is not a number throughout."""

    parts: Array
    """(set-ups, 4) as `PARTS`."""
    balance: Array
    """Mean balance, (set-ups, corners, 4 phases). [points]"""
    use: Array
    """Mean use, (set-ups, corners, 4 phases, 2 axles). [1]"""
    floor: Array
    """Least ride height of both axles anywhere, (set-ups, 2). [m]"""
    stop_contact: Array
    """Share of the time on the bump stops on the surface, mean of an axle, (set-ups, 2). [1]"""
    tyre_work: Array
    """Work of sliding of each tyre over the distance driven, (set-ups, corners, 4). [J/m]"""
    use_scatter: Array
    """What one standard deviation of the driver's unevenness changes of the use of each axle, (set-ups,
    corners, 2). [1]"""

    @property
    def total(self) -> Array:
        """Sum of the parts, (set-ups,); infinite where a set-up cannot run."""
        total = self.parts.sum(axis=1)
        return np.asarray(np.where(np.isfinite(total), total, np.inf))

    def row(self, place: int) -> "GripCost":
        """Return one set-up alone."""
        return GripCost(*(values[place : place + 1] for values in self))


@dataclass(frozen=True, slots=True, kw_only=True)
class Judge:
    """What every set-up of a car is judged by: one occasion, one balance sought, one motion for all."""

    car: Car
    """As written."""
    reference: Car
    """As it stood when the motions were made."""
    occasion: Occasion
    balance: float
    """Sought in every phase; positive is understeer. [points]"""
    wear: bool = False
    """Whether the tyres' work and the scatter of use are computed too, which takes a fifth more time; not a
    number if not."""

    def cost(
        self, setups: Sequence[Setup], *, progress: Progress = unwatched, cancelled: Cancelled = never
    ) -> GripCost:
        """Return what set-ups cost.

        Parameters
        ----------
        progress, cancelled : as `long_work`.

        Raises
        ------
        Stopped
            If it is cancelled between two batches.

        Notes
        -----
        Corners: the mean over time, from the first touch of the brake to the end of the exit, of the use of
        the axle that has less left, 100 max(U_f - b/200, U_r + b/200), b the balance sought: least for a
        given sum of uses where the balance is b, and less for every tyre that carries its share. Bumps: the
        grip lost on the surface, mean of four tyres. Kerbs: the grip lost over the kerb, times the share of
        the time on kerbs. Floor: `FLOOR_COST` for each metre that either end comes below `FLOOR_MARGIN`, on
        the surface or in a corner.
        """
        found = []
        for k in range(0, len(setups), BATCH):
            go_on(cancelled, f"{k} of {len(setups)} set-ups of a batch were computed")
            found.append(self._batch(setups[k : k + BATCH]))
            progress(min(k + BATCH, len(setups)) / len(setups), f"{len(setups)} set-ups")
        return GripCost(*(np.concatenate(values) for values in zip(*found, strict=True)))

    def _batch(self, setups: Sequence[Setup]) -> GripCost:
        """Cost of some set-ups; halved and halved again where one of them cannot run."""
        try:
            vectors = stacked([pack(apply_setup(self.car, one)) for one in setups])
            return self._run(vectors)
        except (CarError, SolveError):
            if len(setups) == 1:
                return self._impossible()
            middle = len(setups) // 2
            halves = (self._batch(setups[:middle]), self._batch(setups[middle:]))
            return GripCost(*(np.concatenate(values) for values in zip(*halves, strict=True)))

    def _impossible(self) -> GripCost:
        n = len(self.occasion.corners)
        shapes = ((1, len(PARTS)), (1, n, 4), (1, n, 4, 2), (1, 2), (1, 2), (1, n, 4), (1, n, 2))
        return GripCost(*(np.full(shape, np.nan) for shape in shapes))

    def _run(self, vectors: Array) -> GripCost:
        step = stable_step(vectors)
        corners = np.zeros(vectors.shape[0])
        floor = np.full((vectors.shape[0], 2), np.inf)
        balances, uses, works, scatters = [], [], [], []
        for name, event in self.occasion.corners.items():
            motion = event.motion(self.reference, step)
            history = run_rig(vectors, motion)
            grip = axle_use(vectors, history.outputs)
            worse, use = _corner(grip, motion, self.balance)
            work, scatter = self._wear(vectors, history, motion, grip)
            works.append(work)
            scatters.append(scatter)
            corners += self.occasion.weights[name] * worse
            uses.append(use)
            balances.append(100.0 * (use[..., 0] - use[..., 1]))
            floor = np.minimum(floor, _least_heights(history))
        bumps, stops, low = _bumps(vectors, self.occasion.road, self.reference, step)
        kerbs, _, _ = _bumps(vectors, self.occasion.kerb, self.reference, step)
        floor = np.minimum(floor, low)
        short = np.maximum(FLOOR_MARGIN - floor, 0.0).sum(axis=1)
        parts = [corners, bumps, self.occasion.kerb_share * kerbs, FLOOR_COST * short]
        return GripCost(
            parts=np.stack(parts, axis=1),
            balance=np.stack(balances, axis=1),
            use=np.stack(uses, axis=1),
            floor=floor,
            stop_contact=stops,
            tyre_work=np.stack(works, axis=1),
            use_scatter=np.stack(scatters, axis=1),
        )

    def _wear(
        self, vectors: Array, history: History, motion: RigMotion, grip: AxleUse
    ) -> tuple[Array, Array]:
        """Work of the tyres (cars, 4) [J/m] and scatter of use (cars, 2) [1] in a corner."""
        cars = vectors.shape[0]
        if not self.wear:
            return np.full((cars, 4), np.nan), np.full((cars, 2), np.nan)
        slips = corner_slips(vectors, history, motion)
        ratio = self.reference.steering.ratio
        return slips.work, use_scatter(vectors, motion, grip, slips, steering_ratio=ratio)


def _corner(grip: AxleUse, motion: RigMotion, sought: float) -> tuple[Array, Array]:
    """Cost of a corner (cars,) [points] and mean use by phase (cars, 4, 2)."""
    use = grip.use
    samples = use.shape[1]
    windows = [phase_window(motion, phase, samples) for phase in motion.phases if phase.name in PHASES]
    inside = use[:, windows[0].start : windows[-1].stop]
    shift = sought / 200.0
    worse = np.maximum(inside[..., 0] - shift, inside[..., 1] + shift)
    return 100.0 * worse.mean(axis=1), np.stack([use[:, w].mean(axis=1) for w in windows], axis=1)


def _least_heights(history: History) -> Array:
    heights = history.outputs[:, :, [O.front_ride_height, O.rear_ride_height]]
    return np.asarray(heights.min(axis=1))


def _bumps(vectors: Array, event: BumpEvent, reference: Car, step: float) -> tuple[Array, Array, Array]:
    """Grip lost (cars,) [points], share on the stops (cars, 2), least heights (cars, 2)."""
    motion = event.motion(reference, step)
    history = run_rig(vectors, motion)
    labels = [str(k) for k in range(vectors.shape[0])]
    found = contact_patch_load(vectors, history, motion, labels, since=motion.phases[1].start)
    contact = found.stop_contact.values.reshape(-1, 2, 2).mean(axis=2)
    return 100.0 * found.grip_lost.values.mean(axis=1), contact, _least_heights(history)
