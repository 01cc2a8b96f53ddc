"""How fast a car is in a corner that is taken in a gear."""

from typing import Final

from fourpatch.car.car import Car

LOWEST_SHARE: Final = 0.6
"""Of the highest engine speed, at the slowest place of a corner: below, a driver takes a lower gear (common
practice, no published source)."""


def cornering_speeds(car: Car) -> dict[int, float]:
    """Return the slowest speed [m/s] in a corner that is taken in a gear, by the number of the gear.

    Notes
    -----
    Speed = engine speed / (ratio x final drive) x radius of the driven wheels, slip left out (a few percent).

    >>> from fourpatch.car.demo import demo_car
    >>> speeds = cornering_speeds(demo_car("gt"))
    >>> all(speeds[gear] < speeds[gear + 1] for gear in list(speeds)[:-1])
    True
    """
    line = car.driveline
    axle = car.front if line.front_drive_share > 0.5 else car.rear
    wheel = LOWEST_SHARE * line.engine_speed[-1] / line.final_drive * axle.tyre.radius
    return {gear: wheel / ratio for gear, ratio in enumerate(line.gear_ratios, start=1)}
