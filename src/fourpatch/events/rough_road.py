"""A random road of given roughness at constant speed."""

from typing import Annotated, Literal

from fourpatch.car.car import Car
from fourpatch.document.part import Part
from fourpatch.events.motion import RigMotion, half_steps, straight_inputs
from fourpatch.events.phase import Phase
from fourpatch.track.road import RoadClass, fade_in, rough_road
from fourpatch.units import Unit

_SPACING = 0.05
_LEAD_IN = 30.0  # road over which the roughness grows from nothing [m]


SHORTEST_WAVELENGTH, LONGEST_WAVELENGTH = 0.2, 100.0
"""Where the roughness ends: tyres bridge what is shorter, a car follows what is longer. [m]"""


class RoughRoad(Part):
    """Drive straight along a rough road."""

    kind: Literal["rough-road"] = "rough-road"
    speed: Annotated[float, Unit("m/s", "km/h", 2.0, 110.0)] = 40.0
    """Held throughout."""
    road_class: Literal["A", "B", "C", "D", "E", "F", "G", "H"] = "B"
    """Of ISO 8608, taken at its geometric mean."""
    duration: Annotated[float, Unit("s", "s", 1.0, 120.0)] = 8.0
    """On the full roughness."""
    seed: Annotated[int, "road"] = 1
    """The same seed lays the same bumps."""

    def motion(self, car: Car, step: float) -> RigMotion:
        """Return what the rig does, at half steps of ``step`` [s].

        Notes
        -----
        The two tracks are apart by the front track width; the rear wheels follow in the front wheels'
        tracks a wheelbase later. The roughness grows over 30 m before it is measured.
        """
        begin = (_LEAD_IN + car.chassis.wheelbase) / self.speed
        time = half_steps(begin + self.duration, step)
        profile = fade_in(
            rough_road(
                roughness=RoadClass[self.road_class],
                length=max(self.speed * float(time[-1]) + 5.0, 120.0),
                spacing=_SPACING,
                seed=self.seed,
                track_width=car.front.track_width,
                shortest_wavelength=SHORTEST_WAVELENGTH,
                longest_wavelength=LONGEST_WAVELENGTH,
            ),
            lead_in=_LEAD_IN,
        )
        return RigMotion(
            name=f"class {self.road_class} road at {self.speed * 3.6:.0f} km/h",
            step=step,
            inputs=straight_inputs(car, profile, time=time, speed=self.speed),
            store_every=max(1, round(2e-3 / step)),
            phases=(Phase("lead-in", 0.0, begin), Phase("road", begin, float(time[-1]) + step)),
        )
