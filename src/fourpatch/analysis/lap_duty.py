"""What a lap asks of tyres, engine and balance, of a car settled at instants along it."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.axle_use import axle_use
from fourpatch.analysis.lap_profile import LapProfile
from fourpatch.analysis.tyre_work import rig_sliding, tyres_at_work
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.events.motion import steady_rows
from fourpatch.events.run import settled_rows
from fourpatch.events.steady_states import steady_outputs
from fourpatch.physics.layout import N_POSITION, I, O

Array = NDArray[np.float64]

DRIVEN = 0.9
"""Of a quasi-steady lap's speeds, at which tyre work is told: about what the drive's driver bears. [1]"""

CORNERING = 0.4
"""Of the lap's largest lateral acceleration, from which an instant counts for the balance. [1]"""

PARTS = ("entry", "mid", "exit")
_COASTING = 1.0  # change of speed within which a corner is at its middle [m/s^2]

_INSTANTS = 96


class LapDuty(NamedTuple):
    """What a lap asks."""

    sliding: Array
    """Work of sliding of each tyre over the distance driven, (4,). [J/m]"""
    load: Array
    """Load of each tyre, mean over the distance driven, (4,). [N]"""
    engine: float
    """Work of the engine at the tyres over the distance driven, rolling resistance not in it. [J/m]"""
    speed: float
    """Mean. [m/s]"""
    balance: float
    """100 (U_front - U_rear), mean over the instants in corners. [points]"""
    balances: Array
    """The same by `PARTS`; not a number where there is no such instant, (3,). [points]"""
    use: float
    """Of the axle that has less left, mean over the lap. [points]"""


def lap_duty(car: Car, profile: LapProfile, *, share: float = DRIVEN) -> LapDuty:
    """Return what a lap asks of a car that is driven as a quasi-steady lap.

    Parameters
    ----------
    profile : of any car: a faster one, too, is driven no faster.
    share : of its speeds that is driven; accelerations are the square. [1]

    Notes
    -----
    At `_INSTANTS` instants evenly over the lap's time the car is settled in the motion there. Instants where
    it finds no steady place are left out.

    The engine pulls where the tyres' forces along their wheels, drag overcome, sum to more than nothing: it
    works by force times the speed at which the driven treads go round.

    Left out: bumps, kerbs, banking and crests, the time in which loads change.
    """
    ends = np.linspace(0.0, profile.lap_time, _INSTANTS + 1)
    middle = 0.5 * (ends[1:] + ends[:-1])
    speed, lateral, along = (
        np.interp(middle, profile.time, row)
        for row in (profile.speed, profile.tyre_lateral, profile.tyre_longitudinal)
    )
    rows = steady_rows(
        car,
        speed=share * speed,
        lateral_acceleration=share**2 * lateral,
        longitudinal_acceleration=share**2 * along,
    )
    vector = pack(car)[None]
    vectors = np.repeat(vector, _INSTANTS, axis=0)
    positions, settled = settled_rows(vectors, rows, np.zeros((_INSTANTS, N_POSITION)))
    outputs = steady_outputs(vectors, rows, positions).outputs[:, settled]
    rows = rows[settled]
    driven = np.ascontiguousarray(rows[:, I.speed])
    curvature = np.ascontiguousarray(rows[:, I.path_curvature])
    power = rig_sliding(vector, outputs, curvature=curvature, speed=driven)[0]
    loads = outputs[0, :, O.tyre_load : O.tyre_load + 4]
    mean = float(driven.mean())
    grip = axle_use(vector, outputs)
    balance = grip.balance[0]
    cornering = np.abs(lateral[settled]) > CORNERING * np.abs(lateral).max()
    slowing = share**2 * along[settled]
    parts = (slowing < -_COASTING, np.abs(slowing) <= _COASTING, slowing > _COASTING)
    return LapDuty(
        sliding=power.mean(axis=0) / mean,
        load=(loads * driven[:, None]).mean(axis=0) / mean,
        engine=float(_engine_power(outputs[0], driven).mean()) / mean,
        speed=mean,
        balance=_mean(balance[cornering]),
        balances=np.array([_mean(balance[cornering & one]) for one in parts]),
        use=100.0 * float(grip.use[0].max(axis=1).mean()),
    )


def _engine_power(outputs: Array, speed: Array) -> Array:
    """Return the power of the engine at the tyres, where it pulls, (n,). [W]"""
    slip, _, along, _ = tyres_at_work(outputs)
    pulling = along.sum(axis=1) > 0.0
    return np.where(pulling, (along * (1.0 + slip)).sum(axis=1) * speed, 0.0)


def _mean(values: Array) -> float:
    return float(values.mean()) if values.size else float("nan")
