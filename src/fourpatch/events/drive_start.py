"""Driven cars at one instant: their rates, the steady state they start in, the step that can follow them."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from fourpatch.errors import SolveError
from fourpatch.events.drive_inputs import LEVEL_ROAD, DriveRoad, Engines
from fourpatch.events.equilibrium import Residuals, balanced, newton, walk
from fourpatch.events.run import FOUR_STAGES, empty_history, lanes_pay, settle, stable_step
from fourpatch.physics.full_car import LETTING_GO, SLIDING, SLOWEST
from fourpatch.physics.integrate import (
    Clock,
    Controls,
    EngineTable,
    History,
    RoadTable,
    run_drive_lanes,
    run_drive_singly,
)
from fourpatch.physics.layout import (
    CORNER_BASE,
    N_CORNER,
    N_DRIVE,
    N_INPUT,
    N_POSITION,
    N_RIG,
    C,
    I,
    O,
    P,
    X,
    Y,
)

Array = NDArray[np.float64]

_HEAVIEST = 3.0  # times its static load that a tyre is taken to carry at most
_SMALL_SLIP = 1e-5
_HOLD = np.array([[0.0, 0.0, 0.0, 1.0]])  # controls: the held throttle, nothing else
CLOSED = -0.01
"""Throttle that counts as closed: camber thrust pulls at a standing car."""

LONGEST_LEAP = 2.0
"""From one steady turn to the next on the way to a harder one. [m/s^2]"""

_UNLOADED = 0.01  # of its static load, below which a wheel that nothing turns is held to rolling
_ROLLING = 100.0  # rate of spin per slip by which it is, that of a tyre's grip at half that load [1/s^2]

_WHEELS = tuple(slot + k for slot in (X.spin, X.slip, X.slip_angle) for k in range(4))
_FREE = (*range(N_POSITION), X.forward_velocity, X.lateral_velocity, X.yaw_rate, *_WHEELS)
_VANISHING = (*range(N_POSITION, N_RIG), X.forward_velocity, X.lateral_velocity, X.yaw_rate, *_WHEELS)
_SIZES = {X.forward_velocity: 20.0, **{X.spin + k: 100.0 for k in range(4)}}
_SCALE = np.array([*(_SIZES.get(slot, 1.0) for slot in _FREE), 1.0, 1.0])

Ties: TypeAlias = Callable[[Array, Array], Array]
"""What else must vanish in a steady motion, (rows, 2), of states, (rows, N_DRIVE), and steer, (rows,)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DriveStart:
    """Cars rolling steadily, each with the steer and the throttle that keep it so."""

    states: Array
    """(cars, N_DRIVE)"""
    steer: Array
    """(cars,) of the road wheels. [rad]"""
    throttle: Array
    """(cars,) 0 to 1."""


def engine_table(engines: Engines) -> EngineTable:
    """Return engines as the kernels read them."""
    return EngineTable(np.ascontiguousarray(engines.torque), engines.spacing)


def road_table(road: DriveRoad) -> RoadTable:
    """Return a road as the kernels read it."""
    return RoadTable(road.stretches, road.spacing, road.origin, road.lap)


def run_block(
    parameters: Array,
    states: Array,
    controls: Controls,
    engines: EngineTable,
    road: RoadTable,
    clock: Clock,
    history: History,
) -> None:
    """Run cars in the way that is quicker for their number; `history` is filled."""
    kernel = run_drive_lanes if lanes_pay(parameters.shape[0], clock) else run_drive_singly
    kernel(parameters, states, controls, engines, road, clock, history)


def drive_instant(
    parameters: Array,
    states: Array,
    engines: Engines,
    drivers: Array,
    controls: Array = _HOLD,
    road: DriveRoad = LEVEL_ROAD,
) -> History:
    """Evaluate rates and outputs of driven cars at one instant.

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    states : (cars, N_DRIVE)
    drivers : (cars, 3) steer at the start [rad], factor on the steer of the controls, holding throttle.
    controls : (1, 4) steer from the start [rad], throttle, brake, share of the holding throttle.
    """
    history = empty_history(parameters.shape[0], 1, N_DRIVE)
    given = Controls(np.ascontiguousarray(controls), np.ascontiguousarray(drivers))
    run_block(parameters, states, given, engine_table(engines), road_table(road), Clock(1e-6, 0, 1), history)
    return history


def settle_drive(
    parameters: Array,
    engines: Engines,
    *,
    speed: float,
    lateral_acceleration: float = 0.0,
    name: str = "start",
) -> DriveStart:
    """Return the state in which cars roll steadily at a speed, straight or in a steady turn.

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    speed : forward. [m/s]
    lateral_acceleration : forward speed times yaw rate, left positive. [m/s^2]
    name : of the event, for an error.

    Raises
    ------
    SolveError
        If a car finds no balance: it cannot turn that hard, or its engine cannot hold the speed.

    Notes
    -----
    Newton's method on 22 rates (vertical and planar accelerations, spins, lagged slips), the speed and the
    lateral acceleration, as functions of heights and angles, planar velocities, spins, slips, throttle and
    steer. It starts from the car settled on the rig, straight on, and walks to the turn from there: begun far
    from it, near the limit it would find none, or one in which an axle slides. At a standstill steer has no
    effect and is put at 0.
    """

    def ties(lateral: float) -> Ties:
        def vanishing(states: Array, steer: Array) -> Array:
            forward, yaw_rate = states[:, X.forward_velocity], states[:, X.yaw_rate]
            turning = speed * yaw_rate - lateral if speed > 0.0 else steer
            return np.column_stack([forward - speed, turning])

        return vanishing

    straight = _guess(parameters, speed, name)
    found, settled = newton(steady_residuals(parameters, engines, ties(0.0)), straight)
    reached = np.zeros(parameters.shape[0])
    for car in np.flatnonzero(settled).tolist() if lateral_acceleration else ():
        own, engine = parameters[car : car + 1], engines.only(car)
        residuals_for = partial(_residuals_tied, own, engine, ties)
        start = balanced(residuals_for(0.0), found[car : car + 1], 0.0)
        turn = walk(residuals_for, start, lateral_acceleration, longest=LONGEST_LEAP)
        found[car], reached[car] = turn.unknowns[0], turn.asked
    states, steer, throttle = unpacked(found)
    held = settled & (reached == lateral_acceleration)
    wrong = np.flatnonzero(~held | (throttle > 1.0) | (throttle < CLOSED))
    if wrong.size:
        first = int(wrong[0])
        spin = np.max(states[first, X.spin : X.spin + 4])
        row = min(int(max(spin, 0.0) / engines.spacing), engines.torque.shape[1] - 1)
        cause = _no_start(
            float(engines.torque[first, row, 0]),
            float(throttle[first]),
            held=bool(held[first]),
            speed=speed,
            lateral_acceleration=lateral_acceleration,
            reached=float(reached[first]),
        )
        raise SolveError(f"{name}: set-up {first + 1} of {parameters.shape[0]} has no steady start: {cause}.")
    states[:, X.distance] = -parameters[:, P.cg_to_front]
    return DriveStart(states=states, steer=steer, throttle=np.maximum(throttle, 0.0))


def _no_start(
    pull: float, throttle: float, *, held: bool, speed: float, lateral_acceleration: float, reached: float
) -> str:
    """Say why a car whose engine can pull so much, [N m], cannot roll steadily, and what to do."""
    pace = f"{speed * 3.6:.0f} km/h"
    if pull <= 0.0:
        return f"at {pace} its engine is past its highest speed in top gear. Start slower"
    if held:
        return f"it would need {throttle:.0%} throttle to hold {pace}. Start slower"
    turn = f" and {abs(lateral_acceleration):.1f} m/s²" if lateral_acceleration else ""
    most = f" (it corners with up to {abs(reached):.1f} m/s² there)" if reached else ""
    remedy = "Ask for less, or check grip, springs and stops"
    return f"it cannot roll steadily at {pace}{turn}{most}. {remedy}"


def _guess(parameters: Array, speed: float, name: str) -> Array:
    """Where `settle_drive` starts from, straight on, (cars, 24)."""
    inputs = np.zeros(N_INPUT)
    inputs[I.speed] = speed
    states = np.zeros((parameters.shape[0], N_DRIVE))
    states[:, :N_RIG] = settle(parameters, inputs, name=name)
    states[:, X.forward_velocity] = speed
    for corner in range(4):
        radius = parameters[:, CORNER_BASE + corner * N_CORNER + C.tyre_radius]
        states[:, X.spin + corner] = speed / radius
    still = np.zeros(parameters.shape[0])
    return packed(states, still, still)


def _residuals_tied(
    parameters: Array, engines: Engines, ties: Callable[[float], Ties], lateral_acceleration: float
) -> Residuals:
    """`steady_residuals` of a turn of a lateral acceleration, [m/s^2]."""
    return steady_residuals(parameters, engines, ties(lateral_acceleration))


def packed(states: Array, steer: Array, throttle: Array) -> Array:
    """Unknowns of a steady motion as `newton` moves them, (rows, 24); back again: `unpacked`."""
    return np.asarray(np.column_stack([states[:, _FREE], throttle, steer]) / _SCALE)


def unpacked(unknowns: Array) -> tuple[Array, Array, Array]:
    """States, steer and throttle from the unknowns of a steady motion, (rows, 24)."""
    values = unknowns * _SCALE
    states = np.zeros((values.shape[0], N_DRIVE))
    states[:, _FREE] = values[:, :-2]
    return states, values[:, -1], values[:, -2]


def steady_residuals(parameters: Array, engines: Engines, ties: Ties) -> Residuals:
    """What must vanish in a steady motion, as `newton` asks for it: rates, then the two of ``ties``."""

    def residuals(unknowns: Array) -> Array:
        points, n = unknowns.shape[1:]
        states, steer, throttle = unpacked(unknowns.reshape(-1, n))
        drivers = np.column_stack([steer, np.ones_like(steer), throttle])
        spread = Engines(torque=np.repeat(engines.torque, points, axis=0), spacing=engines.spacing)
        repeated = np.repeat(parameters, points, axis=0)
        found = drive_instant(repeated, states, spread, drivers)
        rates = without_letting_go(repeated, states, found.rates[:, 0])
        rates = _rolling_in_the_air(repeated, states, rates, found.outputs[:, 0])
        return np.column_stack([rates[:, _VANISHING], ties(states, steer)]).reshape(unknowns.shape)

    return residuals


def _rolling_in_the_air(parameters: Array, states: Array, rates: Array, outputs: Array) -> Array:
    """Return rates of which those of the spins of free wheels, off the road, say that they roll with it.

    Notes
    -----
    Nothing turns the wheel of an axle that is neither driven nor locked but its tyre, in steady motion at no
    slip; off the road nothing does, any spin would be steady, and the equations had no single solution. The
    slip by which it would touch down is put into the rate of its spin, faded in over the last hundredth of
    its static load, where it has nearly the root of the tyre's force and its sign. A wheel that is driven in
    the air spins up: it has no steady state, and none is made up.

    Source: derived here.
    """
    rates = rates.copy()
    driven = (parameters[:, P.drive_front_share], 1.0 - parameters[:, P.drive_front_share])
    for corner in range(4):
        axle, c = corner // 2, CORNER_BASE + corner * N_CORNER
        lock = (P.front_lock_preload, P.rear_lock_preload)[axle]
        viscous = (P.front_lock_viscous, P.rear_lock_viscous)[axle]
        free = (driven[axle] == 0.0) & (parameters[:, lock] == 0.0) & (parameters[:, viscous] == 0.0)
        static = parameters[:, c + C.tyre_rate] * parameters[:, c + C.tyre_static_deflection]
        lifted = np.maximum(1.0 - outputs[:, O.tyre_load + corner] / (_UNLOADED * static), 0.0)
        rates[:, X.spin + corner] -= _ROLLING * free * lifted * states[:, X.slip + corner]
    return rates


def without_letting_go(parameters: Array, states: Array, rates: Array) -> Array:
    """Return rates of which those of lagged slips past sliding have no kink where they vanish.

    Notes
    -----
    A tyre that slides forgets a slip s above that of its patch, v / |u|, faster than it builds one up:
      s' = (v - |u| s) / sigma - LETTING_GO (s - v / |u|), the second term for s > v / |u| alone,
    which has the sign of the first and is LETTING_GO sigma / |u| times it. Steady states are the same without
    it, but Newton's method and eigenvalues would meet two slopes there. |u| is that of the wheel's place,
    roll, pitch and steer apart.

    Source: derived here from `physics.full_car.rolling_tyre`.
    """
    smooth = rates.copy()
    for corner in range(4):
        c = CORNER_BASE + corner * N_CORNER
        forward = states[:, X.forward_velocity] - parameters[:, c + C.planar_y] * states[:, X.yaw_rate]
        rolling = np.maximum(np.abs(forward), SLOWEST)
        for slot, length in ((X.slip, C.relaxation_x), (X.slip_angle, C.relaxation_y)):
            slip = states[:, slot + corner]
            forgets = (np.abs(slip) > SLIDING) & (slip * rates[:, slot + corner] < 0.0)
            faster = 1.0 + LETTING_GO * parameters[:, c + length] / rolling
            smooth[:, slot + corner] /= np.where(forgets, faster, 1.0)
    return smooth


def stable_drive_step(parameters: Array, *, fastest: float, reach: float = FOUR_STAGES) -> float:
    """Return a step that cars can be driven with: 1 ms, or a whole fraction of it. [s]

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    fastest : highest speed of the run. [m/s]
    reach : of the method, largest rate x step. [1]

    Notes
    -----
    Beside the wheel between tyre and damper (`run.stable_step`), a tyre's slip angle answers at the rate
    v / sigma, `LETTING_GO` more when it slides, and its slip with the wheel's spin as
      (slip, omega)' = [[-v / sigma, R / sigma], [-K R / I, -n / I]] (slip, omega),
    with K the slip stiffness at three times the static load and n a viscous differential. A brake or a
    lock that holds is followed within 2 ms and asks for less.

    Source: derived here.
    """
    vertical = stable_step(parameters, reach=reach)
    stiffness = _slip_stiffness(parameters)
    viscous = np.repeat(parameters[:, [P.front_lock_viscous, P.rear_lock_viscous]], 2, axis=1)
    rates = [0.0]
    for corner in range(4):
        block = parameters[:, CORNER_BASE + corner * N_CORNER : CORNER_BASE + (corner + 1) * N_CORNER]
        shortest = np.minimum(block[:, C.relaxation_x], block[:, C.relaxation_y])
        rates.append(float(np.max(fastest / shortest)) + LETTING_GO)
        for speed in (SLOWEST, fastest):
            system = np.empty((parameters.shape[0], 2, 2))
            system[:, 0, 0] = -speed / block[:, C.relaxation_x]
            system[:, 0, 1] = block[:, C.tyre_radius] / block[:, C.relaxation_x]
            system[:, 1, 0] = -stiffness[:, corner] * block[:, C.tyre_radius] / block[:, C.spin_inertia]
            system[:, 1, 1] = -viscous[:, corner] / block[:, C.spin_inertia]
            rates.append(float(np.abs(np.linalg.eigvals(system)).max()))
    parts = int(np.ceil(max(rates) * vertical / reach))
    return vertical / max(parts, 1)


def _slip_stiffness(parameters: Array) -> Array:
    """Longitudinal force per slip of each wheel under its heaviest load, (cars, 4). [N]"""
    cars = parameters.shape[0]
    states = np.zeros((2, cars, N_DRIVE))
    for corner in range(4):
        deflection = parameters[:, CORNER_BASE + corner * N_CORNER + C.tyre_static_deflection]
        states[:, :, Y.wheel + corner] = (1.0 - _HEAVIEST) * deflection
    states[1, :, X.slip : X.slip + 4] = _SMALL_SLIP
    no_engines = Engines(torque=np.zeros((2 * cars, 2, 2)), spacing=1.0)
    drivers = np.tile([0.0, 1.0, 0.0], (2 * cars, 1))
    both = np.concatenate([parameters, parameters])
    outputs = drive_instant(both, states.reshape(-1, N_DRIVE), no_engines, drivers).outputs
    force = outputs[:, 0, O.longitudinal_force : O.longitudinal_force + 4].reshape(2, cars, 4)
    return np.asarray(np.abs(force[1] - force[0]) / _SMALL_SLIP)
