"""The full car on the rig, linearised about a steady state: x' = A x + B u, y = C x + D u."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.quantity import Axles
from fourpatch.analysis.wheel_rates import DamperSide, damper_slopes, heave_damper_slopes
from fourpatch.events.run import rig_instant, settle
from fourpatch.physics.layout import CORNER_BASE, KNOTS, N_CORNER, N_POSITION, N_RIG, C, I, O, P

Vector = NDArray[np.float64]
Matrix = NDArray[np.float64]

CORNERS = ("FL", "FR", "RL", "RR")

_POSITIONS = ("heave", "roll", "pitch", *(f"wheel {corner}" for corner in CORNERS))
STATES = (*_POSITIONS, *(f"{name} rate" for name in _POSITIONS))
"""Sprung centre of gravity [m], angles [rad], wheels [m], all from static; then their rates."""

INPUT_SLOTS = {
    **{f"road {corner}": I.road + k for k, corner in enumerate(CORNERS)},
    **{f"road speed {corner}": I.road_speed + k for k, corner in enumerate(CORNERS)},
    "longitudinal acceleration": I.longitudinal_acceleration,
    "lateral acceleration": I.lateral_acceleration,
}
"""Inputs of the linear car and where they stand among the rig's: [m], [m/s], [m/s^2]."""

FOUR_OUTPUTS = ("tyre_load", "travel", "damper_speed")
SINGLE_OUTPUTS = (
    "heave_acceleration",
    "roll_acceleration",
    "pitch_acceleration",
    "front_ride_height",
    "rear_ride_height",
)
OUTPUT_SLOTS = {
    **{f"{name} {corner}": getattr(O, name) + k for name in FOUR_OUTPUTS for k, corner in enumerate(CORNERS)},
    **{name: getattr(O, name) for name in SINGLE_OUTPUTS},
}
"""Outputs of the linear car and where they stand among the engine's; units as in `runs.channels.CHANNELS`."""

_STEPS = np.repeat([1e-5, 1e-3], N_POSITION)  # of positions [m], [rad] and of their rates
_NEVER = 1e6  # a damper speed that is not reached


class LinearDampers(NamedTuple):
    """Which straight line stands for each damper curve in a linear model."""

    side: DamperSide = "mean"
    speed: float = 0.0
    """Damper speed at which the slope of the curve is read. [m/s]"""


AT_REST = LinearDampers()
"""Mean of bump and rebound at zero damper speed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LinearModel:
    """A car near a steady state; all values are departures from it. SI units."""

    A: Matrix
    """(14, 14), rows and columns as `STATES`."""
    B: Matrix
    """(14, 10), columns as `INPUT_SLOTS`."""
    C: Matrix
    """(17, 14), rows as `OUTPUT_SLOTS`."""
    D: Matrix
    state: Vector
    """The steady state, (14,)."""
    vector: Vector
    """The packed car, its dampers made straight."""

    @staticmethod
    def columns_of(name: str) -> list[int]:
        """Return where an input stands: ``"road"`` for its four, or one by its full name."""
        return _places(list(INPUT_SLOTS), name)

    @staticmethod
    def rows_of(name: str) -> list[int]:
        """Return where an output stands: ``"tyre_load"`` for its four, or one by its full name."""
        return _places(list(OUTPUT_SLOTS), name)


def _places(names: list[str], name: str) -> list[int]:
    wanted = [name] if name in names else [f"{name} {corner}" for corner in CORNERS]
    return [names.index(one) for one in wanted]


def with_linear_dampers(vector: Vector, dampers: LinearDampers) -> Vector:
    """Return a packed car whose dampers are straight lines without friction.

    Notes
    -----
    A damper curve has a kink at zero speed, where bump's slope meets rebound's, so there is no derivative at
    rest and a choice must be stated. ``mean`` of both slopes loses, over a sine of damper speed below the
    knees, the energy the real curve loses; what is left out is the even part |v| (c_b - c_r) / 2, which
    moves the body's mean height (rebound above bump: down) and excites twice the frequency. ``bump`` or
    ``rebound`` is the car of small motions about a steady movement in that direction. The slope is
    read at ``speed``: 0 is the first slope, a speed past the knees gives high-speed damping. It is the local
    slope, not force over speed.
    Friction is left out: turned over within 5 mm/s it would outweigh the damper about rest and be nothing
    beyond.

    Source: derived here.
    """
    return with_damper_slopes(
        vector,
        damper_slopes(vector, side=dampers.side, speed=dampers.speed),
        heave_damper_slopes(vector, dampers.side),
    )


def with_damper_slopes(vector: Vector, slopes: Vector, heave: Axles) -> Vector:
    """Return a packed car whose dampers are straight lines of given slopes without friction.

    Parameters
    ----------
    slopes : (4,), at the damper. [N s/m]
    heave : of the heave dampers, at the wheels' mean travel. [N s/m]
    """
    straight = vector.copy()
    for corner, slope in enumerate(slopes):
        block = straight[CORNER_BASE + corner * N_CORNER : CORNER_BASE + (corner + 1) * N_CORNER]
        block[C.damper_friction] = 0.0
        block[C.bump_slope] = block[C.rebound_slope] = slope
        for knots in (C.bump_knots, C.rebound_knots):
            block[knots : knots + KNOTS] = _NEVER
            block[knots + KNOTS : knots + 2 * KNOTS] = 0.0
    straight[[P.front_heave_bump, P.front_heave_rebound]] = heave.front
    straight[[P.rear_heave_bump, P.rear_heave_rebound]] = heave.rear
    return straight


def linearise(
    vector: Vector, inputs: Vector, *, dampers: LinearDampers = AT_REST, name: str = "linear model"
) -> LinearModel:
    """Linearise a packed car about the state in which it rests under held inputs.

    Parameters
    ----------
    vector : (N_PARAMETER,)
    inputs : (N_INPUT,), from `events.motion.steady_inputs`.
    dampers : which straight line stands for each damper curve.
    name : of what is computed, for an error.

    Raises
    ------
    SolveError
        If the car finds no place to rest.

    Notes
    -----
    Central differences of the compiled right-hand side, steps of 10 um, 10 urad, 1 mm/s and 1 mm/s^2. The
    equations are at most quadratic there but for products of curves, so that rounding is what is left: about
    1e-11 of the largest element. Kinks other than the dampers' give the mean of both sides if the steady
    state lies on one within a step: a stop or a heave spring that just touches, and the change from drive to
    brakes (with no drag and no engine braking it lies at a_x = 0 and matters to the a_x column alone).

    Source: derived here.
    """
    return linearise_straight(with_linear_dampers(vector, dampers), inputs, name=name)


def linearise_straight(straight: Vector, inputs: Vector, *, name: str = "linear model") -> LinearModel:
    """Linearise a packed car whose dampers are straight lines already; as `linearise`."""
    state = settle(straight[None], inputs, name=name)[0]
    outputs = list(OUTPUT_SLOTS.values())
    A, C_matrix = _by_states(straight, state, inputs, outputs)
    B, D = _by_inputs(straight, state, inputs, outputs)
    return LinearModel(A=A, B=B, C=C_matrix, D=D, state=state, vector=straight)


def _by_states(vector: Vector, state: Vector, inputs: Vector, outputs: list[int]) -> tuple[Matrix, Matrix]:
    """Return how rates and outputs change with each state: A and C."""
    steps = np.diag(_STEPS)
    near = rig_instant(
        np.repeat(vector[None], 2 * N_RIG, axis=0), np.vstack([state + steps, state - steps]), inputs
    )
    rates, found = near.rates[:, 0], near.outputs[:, 0][:, outputs]
    A = (rates[:N_RIG] - rates[N_RIG:]) / (2.0 * _STEPS[:, None])
    C_matrix = (found[:N_RIG] - found[N_RIG:]) / (2.0 * _STEPS[:, None])
    return A.T, C_matrix.T


def _by_inputs(vector: Vector, state: Vector, inputs: Vector, outputs: list[int]) -> tuple[Matrix, Matrix]:
    """Return how rates and outputs change with each input: B and D."""
    B = np.empty((N_RIG, len(INPUT_SLOTS)))
    D = np.empty((len(outputs), len(INPUT_SLOTS)))
    for column, slot in enumerate(INPUT_SLOTS.values()):
        step = 1e-5 if I.road <= slot < I.road + len(CORNERS) else 1e-3
        sides = []
        for direction in (1.0, -1.0):
            moved = inputs.copy()
            moved[slot] += direction * step
            sides.append(rig_instant(vector[None], state[None], moved))
        B[:, column] = (sides[0].rates[0, 0] - sides[1].rates[0, 0]) / (2.0 * step)
        D[:, column] = (sides[0].outputs[0, 0] - sides[1].outputs[0, 0])[outputs] / (2.0 * step)
    return B, D
