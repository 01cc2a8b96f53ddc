"""The list of channels: every name under which a computed run or a recording says something of a car."""

from typing import Final, NamedTuple

WHEELS: Final = ("FL", "FR", "RL", "RR")
"""Order of the four numbers of a channel that has one for each wheel."""


class ChannelKind(NamedTuple):
    """Unit and meaning of a channel; axes and signs are those of docs/conventions.md."""

    unit: str
    """SI."""
    meaning: str


COMPUTED: Final = {
    "tyre_load": ChannelKind("N", "vertical load of the tyre on the road"),
    "elastic_force": ChannelKind("N", "at the wheel: spring, stops, bar and heave spring"),
    "damper_force": ChannelKind("N", "at the wheel, positive pushing body and wheel apart"),
    "jacking_force": ChannelKind("N", "vertical force of the links on the body"),
    "travel": ChannelKind("m", "wheel travel from static, bump positive"),
    "damper_speed": ChannelKind("m/s", "at the damper, bump positive"),
    "inclination": ChannelKind("rad", "of the wheel to the road, ISO 8855"),
    "lateral_force": ChannelKind("N", "on the tyre, in the car's axes, left positive"),
    "longitudinal_force": ChannelKind("N", "on the tyre, in the car's axes, forward positive"),
    "steer": ChannelKind("rad", "of the wheel, toe and bump steer included, left positive"),
    "heave_acceleration": ChannelKind("m/s**2", "of the sprung mass, up positive"),
    "roll_acceleration": ChannelKind("rad/s**2", "left side up positive"),
    "pitch_acceleration": ChannelKind("rad/s**2", "nose down positive"),
    "front_downforce": ChannelKind("N", "at the front axle"),
    "rear_downforce": ChannelKind("N", "at the rear axle"),
    "drag": ChannelKind("N", "rearwards positive"),
    "front_ride_height": ChannelKind("m", "underside over the road at the front axle"),
    "rear_ride_height": ChannelKind("m", "underside over the road at the rear axle"),
    "longitudinal_acceleration": ChannelKind("m/s**2", "of the whole car, forward positive"),
    "lateral_acceleration": ChannelKind("m/s**2", "of the whole car, left positive"),
    "front_drive_force": ChannelKind("N", "through the front half shafts, at the ground"),
    "rear_drive_force": ChannelKind("N", "through the rear half shafts, at the ground"),
    "heave": ChannelKind("m", "sprung centre of gravity above its static place"),
    "roll": ChannelKind("rad", "left side up positive"),
    "pitch": ChannelKind("rad", "nose down positive"),
    "wheel_height": ChannelKind("m", "wheel above its static place"),
    "road_height": ChannelKind("m", "of the road under the wheel, contact-length filtered"),
    "speed": ChannelKind("m/s", "of the car along its path"),
    "path_curvature": ChannelKind("1/m", "left positive"),
    "distance": ChannelKind(
        "m",
        "of the centre of gravity along the road; the front wheels start at 0, on a lap the start line is 0",
    ),
    "offset": ChannelKind(
        "m", "of the centre of gravity from the line it started on or follows, left positive"
    ),
    "heading": ChannelKind(
        "rad", "from the direction it started in or of the line it follows, left positive"
    ),
    "position_x": ChannelKind("m", "of the car in a level plane; recorded: to the east of where it began"),
    "position_y": ChannelKind("m", "to the left of x; recorded: to the north of where it began"),
    "forward_velocity": ChannelKind("m/s", "of the centre of gravity, in the car's axes"),
    "lateral_velocity": ChannelKind("m/s", "of the centre of gravity, in the car's axes, left positive"),
    "yaw_rate": ChannelKind("rad/s", "left positive"),
    "sideslip": ChannelKind("rad", "of the centre of gravity, ISO 8855"),
    "wheel_speed": ChannelKind("rad/s", "of the wheel about its axis, rolling forward positive"),
    "slip": ChannelKind("1", "longitudinal, positive in drive; in a drive lagged by relaxation"),
    "slip_angle": ChannelKind("rad", "ISO 8855; in a drive lagged by relaxation"),
    "road_wheel_angle": ChannelKind("rad", "mean of the front wheels by the steering, left positive"),
    "throttle": ChannelKind("1", "0 closed to 1 open"),
    "brake": ChannelKind("1", "0 free to 1 full pedal"),
}
"""Unit and meaning of what a computed run can say; a recording may have any of it too."""

RECORDED: Final = {
    "latitude": ChannelKind("rad", "of the antenna, WGS 84, north positive"),
    "longitude": ChannelKind("rad", "of the antenna, WGS 84, east positive"),
    "altitude": ChannelKind("m", "of the antenna"),
    "course": ChannelKind("rad", "direction of travel from north, clockwise, as position receivers give it"),
    "vertical_acceleration": ChannelKind(
        "m/s**2", "as a sensor feels it, up positive: standard gravity at rest"
    ),
    "roll_rate": ChannelKind("rad/s", "left side up positive"),
    "pitch_rate": ChannelKind("rad/s", "nose down positive"),
    "steering_wheel_angle": ChannelKind("rad", "of the driver's wheel, left positive"),
    "rolling_speed": ChannelKind("m/s", "of the wheel's tread, spin times rolling radius"),
    "damper_travel": ChannelKind("m", "at the damper, bump positive, from wherever the sensor counts"),
    "front_brake_pressure": ChannelKind("Pa", "of the brake fluid, front circuit"),
    "rear_brake_pressure": ChannelKind("Pa", "of the brake fluid, rear circuit"),
    "brake_pressure": ChannelKind("Pa", "of the brake fluid, if nobody says of which circuit"),
    "engine_speed": ChannelKind("rad/s", "of the crankshaft"),
    "gear": ChannelKind("1", "number of the gear, 0 for neutral"),
    "tyre_pressure": ChannelKind("Pa", "above the air around"),
    "tyre_temperature": ChannelKind("K", "of the tread or the air inside, whichever the sensor sees"),
    "brake_temperature": ChannelKind("K", "of the disc"),
    "fuel_volume": ChannelKind("m**3", "in the tank"),
    "lap_number": ChannelKind("1", "counted by the recorder"),
    "lap_distance": ChannelKind("m", "since the start line, counted by the recorder"),
}
"""Unit and meaning of what only a recording has."""

CHANNELS: Final = COMPUTED | RECORDED
"""All of them."""

OF_WHEELS: Final = frozenset(
    {
        "tyre_load",
        "elastic_force",
        "damper_force",
        "jacking_force",
        "travel",
        "damper_speed",
        "inclination",
        "lateral_force",
        "longitudinal_force",
        "steer",
        "wheel_height",
        "road_height",
        "wheel_speed",
        "slip",
        "slip_angle",
        "rolling_speed",
        "damper_travel",
        "tyre_pressure",
        "tyre_temperature",
        "brake_temperature",
    }
)
"""Channels with a number for each wheel."""
