"""A car in closed form round an invented lap: every channel follows from its speed and the track's bends."""

import numpy as np
import pytest

from fourpatch.events.phase import Phase
from fourpatch.recording.recorder import INVENTED_PLACE
from fourpatch.recording.signals import EARTH_RADIUS
from fourpatch.runs.run import Channel, Run
from fourpatch.track.demo import demo_track
from fourpatch.track.layout import lay_out

TRACK = lay_out(demo_track("long-corners"), spacing=0.5)
"""The middle of the road is driven, so its corners are the truth."""

LAP = TRACK.length

TRACK_WIDTH, WHEELBASE, STEERING_RATIO, GRAVITY = 1.5, 2.6, 14.0, 9.80665


def on_track(row, distance):
    """Read a row of the track at a distance driven since the start line."""
    return np.interp(np.mod(distance, LAP), TRACK.distance, row)


def driven(*, laps=4, step=0.005, start=600.0):
    """Return the run of a car that slows down for corners, begun somewhere on the lap."""
    place = np.arange(0.0, LAP, 0.5)
    tight = np.abs(on_track(TRACK.curvature, place))
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
    curvature = on_track(TRACK.curvature, distance)
    yaw_rate = speed * curvature
    along = np.gradient(speed, time)
    sideways = speed * yaw_rate
    x, y = on_track(TRACK.x, distance), on_track(TRACK.y, distance)
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
