"""How much a driver's unevenness changes what each axle uses of its grip: a linear answer from one run."""

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.axle_use import AxleUse
from fourpatch.analysis.phase_balance import phase_window
from fourpatch.analysis.tyre_work import CornerSlips
from fourpatch.events.driver_style import DriverScatter, DriverStyle
from fourpatch.events.motion import RigMotion
from fourpatch.physics.layout import I, P

Array = NDArray[np.float64]

_STEPS = 20  # of the car's answer to the hands until the driver sees it
_STRAIGHT = 1e-6  # use of grip of which no share is formed


def use_scatter(
    parameters: Array,
    motion: RigMotion,
    use: AxleUse,
    slips: CornerSlips,
    *,
    steering_ratio: float,
    scatter: DriverScatter | None = None,
    style: DriverStyle | None = None,
) -> Array:
    """Return how far each axle's use of grip scatters from turn-in to the end of the exit, (cars, 2). [1]

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    use, slips : of the same corner of the rig.
    steering_ratio : turn of the hands over that of the road wheels. [1]
    scatter : of the driver, one standard deviation each; ours if left out.
    style : of the driver, for how far he looks ahead; ours if left out.

    Notes
    -----
    Mean over time of one standard deviation: the root of the sum of squares of what three errors, taken as
    independent, change at each instant. With y = F_y / F_y,max, x = F_x / F_x,max and U = hypot(y, x) an
    error that changes the forces by dF_y and dF_x changes U by (y dF_y / F_y,max + x dF_x / F_x,max) / U.

    - Corner speed, a share e too fast: dF_y = 2 e F_y.
    - Brake point, d late: at the same place the car is d a / v faster, a its deceleration, and braked as it
      was d before: dF_y = 2 d a / v^2 F_y, dF_x = -d F_x' / v.
    - Hands, an angle too far: what the axle's slip angle has become when the driver sees where he is going
      (`DriverStyle.preview`), times the axle's slope of force over slip angle, by the single-track model
      about the instant,

          m (v' + u r) = S_f a_f + S_r a_r,   I r' = l_f S_f a_f - l_r S_r a_r,
          a_f = (v + l_f r) / u - steer,   a_r = (v - l_r r) / u.

      Slopes are those at the slips of the instant: a car whose front pushes answers less, one whose rear
      is near its limit swings further.

    Left out: that load moves with the force, and with it what the axle can give; the driver's corrections.
    So it says what the car makes of an error, not what he makes of the car.

    Source: derived here; the single-track model as in Gillespie, Fundamentals of Vehicle Dynamics, 1992,
    chapter 6 (from memory).
    """
    scatter, style = scatter or DriverScatter(), style or DriverStyle()
    places = slips.places
    inputs = motion.inputs[:: 2 * motion.store_every][places]
    speed, along = inputs[:, I.speed], inputs[:, I.longitudinal_acceleration]
    total = use.use[:, places]
    lateral, capacity = use.lateral_force[:, places], use.lateral_capacity[:, places]
    lengthwise = use.longitudinal_force[:, places]
    length_capacity = use.longitudinal_capacity[:, places]
    braked = np.maximum(-along, 0.0)
    late = scatter.brake_point * np.gradient(lengthwise, slips.time, axis=1) / speed[:, None]
    errors = (
        (2.0 * scatter.corner_speed * lateral, np.zeros_like(lateral)),
        (
            (2.0 * scatter.brake_point * braked / speed**2)[:, None] * lateral,
            np.where(braked[:, None] > 0.0, -late, 0.0),
        ),
        (_hands(parameters, speed, slips.slope, scatter.steering / steering_ratio, style.preview), 0.0),
    )
    square = sum(
        (lateral * across / capacity**2 + lengthwise * ahead / length_capacity**2) ** 2
        for across, ahead in errors
    )
    spread = np.sqrt(square) / np.maximum(total, _STRAIGHT)
    samples = use.use.shape[1]
    windows = {one.name: phase_window(motion, one, samples) for one in motion.phases}
    turning = (places >= windows["entry"].start) & (places < windows["exit"].stop)
    return np.asarray(spread[:, turning].mean(axis=1))


def _hands(parameters: Array, speed: Array, slope: Array, steer: float, held: float) -> Array:
    """Change of each axle's lateral force after a steer angle was held for some time, (cars, n, 2). [N]

    Notes
    -----
    Runge and Kutta's fourth order in `_STEPS` steps: 1e-4 of the answer (measured).
    """
    mass, inertia = parameters[:, P.total_mass, None], parameters[:, P.yaw_inertia, None]
    ahead, behind = parameters[:, P.cg_to_front, None], parameters[:, P.cg_to_rear, None]

    def forces(motion: Array) -> Array:
        front = (motion[0] + ahead * motion[1]) / speed - steer
        rear = (motion[0] - behind * motion[1]) / speed
        return np.stack([slope[..., 0] * front, slope[..., 1] * rear])

    def rates(motion: Array) -> Array:
        front, rear = forces(motion)
        return np.stack(
            [(front + rear) / mass - speed * motion[1], (ahead * front - behind * rear) / inertia]
        )

    step, motion = held / _STEPS, np.zeros((2, *slope.shape[:2]))
    for _ in range(_STEPS):
        first = rates(motion)
        second = rates(motion + 0.5 * step * first)
        third = rates(motion + 0.5 * step * second)
        motion = motion + step / 6.0 * (first + 2.0 * second + 2.0 * third + rates(motion + step * third))
    return np.moveaxis(forces(motion), 0, -1)
