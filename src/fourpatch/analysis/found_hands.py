"""How far ahead a driver looks in a car, and how strongly he answers its turning: found by trying."""

from dataclasses import replace
from itertools import product

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.driven_lap import laps_in_hand
from fourpatch.analysis.driver_plan import DriverPlan
from fourpatch.analysis.pace_search import FASTEST, USUAL
from fourpatch.events.drive_inputs import DriveRoad
from fourpatch.physics.driver import B
from fourpatch.track.layout import TrackLayout

Array = NDArray[np.float64]

AHEAD = (1.0, 1.4)
"""Of his style's preview: a slow car is a car to look far ahead in."""
ANSWER = (1.0, 2.0, 3.0)
"""Of his style's answer to a car that turns more or less than it should."""
_PACES = np.linspace(USUAL, FASTEST, 10)
_GAIN = 0.01  # of pace, that other hands must bear more than his usual ones


def found_hands(plan: DriverPlan, road: DriveRoad, layout: TrackLayout, *, car_width: float) -> DriverPlan:
    """Return a plan with the hands by which a driver bears the highest pace.

    Parameters
    ----------
    plan : with the hands of his style.
    car_width : over the tyres. [m]

    Notes
    -----
    Every pair of `AHEAD` and `ANSWER` at ten paces side by side; a pace above a bad one is not credited. His
    usual hands are kept where others bear no hundredth more. Which gains hold a car near its limit hangs on
    its yaw inertia, tyres and speed: one style's lost drawn cars at 45 % of the quasi-steady speeds that
    others took to 90 %.
    """
    pairs = list(product(AHEAD, ANSWER))
    habits = np.tile(plan.habits, (len(pairs), 1))
    habits[:, B.preview] *= [ahead for ahead, _ in pairs]
    habits[:, B.yaw_share] *= [answer for _, answer in pairs]
    paces = np.tile(_PACES, len(pairs))
    drivers = replace(plan, habits=np.repeat(habits, _PACES.size, axis=0))
    run = drivers.drive(drivers.at_pace(paces), road)
    good = laps_in_hand(run, layout, car_width=car_width)
    borne = good.reshape(len(pairs), _PACES.size).cumprod(axis=1).sum(axis=1)
    highest = np.concatenate([[0.0], _PACES])[borne]
    best = int(np.argmax(highest))
    return replace(plan, habits=habits[best if highest[best] > highest[0] + _GAIN else 0])
