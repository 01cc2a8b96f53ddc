"""Whether a car left alone would straighten or swing round, at any instant of a run on the rig."""

import numpy as np
from numpy.typing import NDArray

from fourpatch.events.drive_inputs import Engines
from fourpatch.events.drive_start import drive_instant
from fourpatch.events.equilibrium import Residuals, newton
from fourpatch.physics.layout import CORNER_BASE, N_CORNER, N_DRIVE, N_RIG, C, I, O, P, X

Array = NDArray[np.float64]

_SHARES = (1.0, 0.97, 0.94, 0.9, 0.8)
"""Of the forces needed, tried in turn where the tyres in combined slip cannot deliver them."""

_CLOSE = 1e-6  # of slips [1]
_STEP = 1e-5  # of a slip, for the slopes
_TRIES = 25


def stability_reserve(parameters: Array, states: Array, outputs: Array, inputs: Array) -> Array:
    """Return the slowest real part of the lateral dynamics about instants of a rig run, (n,). [1/s]

    Below zero a disturbance dies away, above zero it doubles in ln 2 / reserve. Not a number where no slips
    deliver even 80 % of what the motion asks of an axle.

    Parameters
    ----------
    parameters : (n, N_PARAMETER)
    states : (n, N_RIG)
    outputs : (n, N_OUTPUT) of the rig.
    inputs : (n, N_INPUT), there.

    Notes
    -----
    The slips at which the four tyres, under the loads, inclinations and toe of the instant, deliver what
    the rig asks of each axle sideways and along are found with the tyres of the drive; both tyres of an
    axle have one longitudinal slip and one slip angle, toe apart. With the slopes of a tyre's forces in
    its slip angle there, sideways speed v and yaw rate r then follow

        m (v' + u r) = sum F_y,   I r' = sum x F_y - sum y F_x,   slip angle = (v + x r) / u,

    two linear equations; the larger real part of their two eigenvalues is returned. Steer, speed, loads and
    longitudinal slip are held. Left out: how load follows sideways acceleration (roll and the tyres' lag are
    five to ten times faster than the slowest motion on the stable side, but not near zero), and the driver.

    Source: derived here; with tyres in their linear range it is the single-track model of Gillespie,
    Fundamentals of Vehicle Dynamics, 1992, chapter 6 (from memory).
    """
    n = states.shape[0]
    wanted = _axle_forces(outputs)
    slips, found = np.zeros((n, 4)), np.zeros(n, dtype=bool)
    for share in _SHARES:
        rows = np.flatnonzero(~found)
        if rows.size == 0:
            break
        car = _Held(parameters[rows], states[rows], inputs[rows])
        # A load that moves a slip by 0.1 is of the order of the axle's own load: careful steps are 0.05.
        slips[rows], found[rows] = newton(
            car.residuals(share * wanted[rows], outputs[rows]),
            _first_guess(share * wanted[rows], outputs[rows]),
            tries=_TRIES,
            close=_CLOSE,
        )
    sideways, along = _Held(parameters, states, inputs).slopes(slips)
    reserve = _slowest(parameters, np.asarray(inputs[:, I.speed]), sideways, along)
    return np.where(found, reserve, np.nan)


class _Held:
    """Cars held at an instant, their tyres given slips."""

    def __init__(self, parameters: Array, states: Array, inputs: Array) -> None:
        self._parameters, self._inputs = parameters, inputs
        self._states = np.zeros((states.shape[0], N_DRIVE))
        self._states[:, :N_RIG] = states
        self._states[:, X.forward_velocity] = inputs[:, I.speed]
        self._states[:, X.yaw_rate] = inputs[:, I.speed] * inputs[:, I.path_curvature]

    def outputs(self, slips: Array, extra: Array) -> Array:
        """Outputs of the drive at axle slips, (n, points, N_OUTPUT).

        Parameters
        ----------
        slips : (n, points, 4), longitudinal front and rear, then lateral front and rear.
        extra : (n, points, 4), added to each tyre's slip angle.
        """
        points = slips.shape[1]
        states = np.repeat(self._states[:, None], points, axis=1)
        states[..., X.slip : X.slip + 4] = np.repeat(slips[..., :2], 2, axis=-1)
        states[..., X.slip_angle : X.slip_angle + 4] = np.repeat(slips[..., 2:], 2, axis=-1) + extra
        rows = states.shape[0] * points
        steer = np.repeat(self._inputs[:, I.steer], points)
        drivers = np.column_stack([steer, np.ones(rows), np.zeros(rows)])
        still = Engines(torque=np.zeros((rows, 2, 2)), spacing=1.0)
        parameters = np.repeat(self._parameters, points, axis=0)
        found = drive_instant(parameters, states.reshape(rows, N_DRIVE), still, drivers)
        return found.outputs[:, 0].reshape(-1, points, found.outputs.shape[-1])

    def residuals(self, wanted: Array, outputs: Array) -> Residuals:
        """What the axles lack, over their loads and brought to the size of slips, as `newton` asks for it."""
        load = np.maximum(_axle_sums(outputs, O.tyre_load), 1.0)
        scale = 0.05 / np.concatenate([load, load], axis=-1)
        toe = _toe(outputs)

        def residuals(slips: Array) -> Array:
            found = self.outputs(slips, np.broadcast_to(-toe[:, None], slips.shape))
            return (_axle_forces(found) - wanted[:, None]) * scale[:, None]

        return residuals

    def slopes(self, slips: Array) -> tuple[Array, Array]:
        """Change of each tyre's sideways and forward force with its own slip angle, (n, 4) each. [N]"""
        extra = np.stack([np.full(4, _STEP), np.full(4, -_STEP)])
        points = np.repeat(slips[:, None], 2, axis=1)
        base = self.outputs(slips[:, None], np.zeros((slips.shape[0], 1, 4)))[:, 0]
        found = self.outputs(points, -_toe(base)[:, None] + extra)
        sides = [found[..., slot : slot + 4] for slot in (O.lateral_force, O.longitudinal_force)]
        sideways, along = ((one[:, 0] - one[:, 1]) / (2.0 * _STEP) for one in sides)
        return sideways, along


def _axle_sums(outputs: Array, slot: int) -> Array:
    """Front and rear sum of a quantity of the four wheels."""
    return np.asarray(outputs[..., [slot, slot + 2]] + outputs[..., [slot + 1, slot + 3]])


def _axle_forces(outputs: Array) -> Array:
    """Longitudinal force front and rear, then lateral. [N]"""
    return np.concatenate(
        [_axle_sums(outputs, O.longitudinal_force), _axle_sums(outputs, O.lateral_force)], axis=-1
    )


def _toe(outputs: Array) -> Array:
    """Steer of each wheel less its axle's mean, (n, 4). [rad]"""
    steer = outputs[..., O.steer : O.steer + 4]
    return np.asarray(steer - np.repeat(0.5 * (steer[..., 0::2] + steer[..., 1::2]), 2, axis=-1))


def _first_guess(wanted: Array, outputs: Array) -> Array:
    """Slips of a tyre with twenty times its load per slip."""
    load = np.maximum(_axle_sums(outputs, O.tyre_load), 1.0)
    along, sideways = wanted[:, :2] / (20.0 * load), -wanted[:, 2:] / (20.0 * load)
    return np.concatenate([along, sideways], axis=-1)


def _slowest(parameters: Array, speed: Array, sideways: Array, along: Array) -> Array:
    """Larger real part of the two eigenvalues, (n,). [1/s]"""
    corners = CORNER_BASE + N_CORNER * np.arange(4)
    x, y = parameters[:, corners + C.planar_x], parameters[:, corners + C.planar_y]
    mass, inertia = parameters[:, P.total_mass], parameters[:, P.yaw_inertia]
    turning = x * sideways - y * along
    system = np.empty((speed.size, 2, 2))
    system[:, 0, 0] = sideways.sum(axis=1) / (mass * speed)
    system[:, 0, 1] = (x * sideways).sum(axis=1) / (mass * speed) - speed
    system[:, 1, 0] = turning.sum(axis=1) / (inertia * speed)
    system[:, 1, 1] = (x * turning).sum(axis=1) / (inertia * speed)
    return np.asarray(np.linalg.eigvals(system).real.max(axis=1))
