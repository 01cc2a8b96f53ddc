"""A car in closed form round an invented lap: every channel follows from its speed and its curvature."""

import numpy as np
import pytest

from fourpatch.events.motion import Phase
from fourpatch.recording.recorder import INVENTED_PLACE
from fourpatch.recording.signals import EARTH_RADIUS
from fourpatch.runs.run import Channel, Run

LAP = 1400.0
"""Length of the invented lap. [m]"""

TRACK_WIDTH, WHEELBASE, STEERING_RATIO, GRAVITY = 1.5, 2.6, 14.0, 9.80665


def curvature_at(distance):
    """Three left-hand corners and one to the right, half sines; a lap turns once to the left. [1/m]"""
    along = np.mod(distance, LAP)
    turns = ((200.0, 120.0, 2.6), (500.0, 100.0, 2.2), (800.0, 80.0, -1.3), (1100.0, 200.0, None))
    rest = 2.0 * np.pi - sum(angle for _, _, angle in turns if angle)
    found = np.zeros_like(along)
    for start, length, angle in turns:
        inside = (along >= start) & (along <= start + length)
        peak = (rest if angle is None else angle) * np.pi / (2.0 * length)
        found = np.where(inside, peak * np.sin(np.pi * (along - start) / length), found)
    return found


def driven(*, laps=4, step=0.005, start=600.0):
    """Return the run of a car that slows down for corners, begun somewhere on the lap."""
    place = np.arange(0.0, LAP, 0.5)
    tight = np.abs(curvature_at(place))
    window = np.hanning(161) / np.hanning(161).sum()
    slow = np.convolve(np.tile(tight, 3), window, mode="same")[place.size : 2 * place.size]
    speed_at = 46.0 - 30.0 * np.clip(slow / slow.max(), 0.0, 1.0)
    time_at = np.concatenate([[0.0], np.cumsum(0.5 / speed_at)])
    lap_time = time_at[-1]
    time = np.arange(0.0, laps * lap_time, step)
    first = np.interp(start, np.append(place, LAP), time_at)
    whole, within = np.divmod(time + first, lap_time)
    distance = whole * LAP + np.interp(within, time_at, np.append(place, LAP))
    speed = np.interp(np.mod(distance, LAP), np.append(place, LAP), np.append(speed_at, speed_at[0]))
    curvature = curvature_at(distance)
    yaw_rate = speed * curvature
    along = np.gradient(speed, time)
    sideways = speed * yaw_rate
    heading = np.concatenate([[0.0], np.cumsum(0.5 * step * (yaw_rate[1:] + yaw_rate[:-1]))])
    x = np.concatenate(
        [[0.0], np.cumsum(step * speed[:-1] * np.cos(heading[:-1] + 0.5 * step * yaw_rate[:-1]))]
    )
    y = np.concatenate(
        [[0.0], np.cumsum(step * speed[:-1] * np.sin(heading[:-1] + 0.5 * step * yaw_rate[:-1]))]
    )
    side = np.array([1.0, -1.0, 1.0, -1.0])
    end = np.array([1.0, 1.0, -1.0, -1.0])
    travel = -1.2e-3 * np.outer(along, end) - 1.0e-3 * np.outer(sideways, side)
    rows = {
        "speed": speed,
        "longitudinal_acceleration": along,
        "lateral_acceleration": sideways,
        "vertical_acceleration": np.full(time.size, GRAVITY) + 0.5 * np.sin(40.0 * time),
        "yaw_rate": yaw_rate,
        "steering_wheel_angle": STEERING_RATIO * WHEELBASE * curvature * (1.0 + 2e-4 * speed**2),
        "rolling_speed": speed[:, None] - 0.5 * TRACK_WIDTH * np.outer(yaw_rate, side),
        "damper_travel": travel,
        "throttle": np.clip(along / 4.0, 0.0, 1.0),
        "brake": np.clip(-along / 9.0, 0.0, 1.0),
        "latitude": INVENTED_PLACE[0] + y / EARTH_RADIUS,
        "longitude": INVENTED_PLACE[1] + x / (EARTH_RADIUS * np.cos(INVENTED_PLACE[0])),
        "distance": distance,
    }
    channels = {name: Channel(name=name, time=time, values=row) for name, row in rows.items()}
    phases = (Phase("lap", 0.0, float(time[-1])),)
    return Run(name="invented", source="drive", setup="", channels=channels, phases=phases)


@pytest.fixture(scope="session")
def day():
    return driven()
