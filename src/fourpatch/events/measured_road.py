"""A measured road surface at constant speed."""

from pathlib import Path
from typing import Annotated, Final, Literal

import numpy as np
from pydantic import field_validator
from pydantic_core import PydanticCustomError

from fourpatch.car.car import Car
from fourpatch.document.part import Part
from fourpatch.errors import EventError, FileError
from fourpatch.events.motion import RigMotion, half_steps, straight_inputs
from fourpatch.events.phase import Phase
from fourpatch.track.contact_filter import sample_profile
from fourpatch.track.road import SPACING_ROUNDING, RoadProfile, fade_in
from fourpatch.track.spacing import even_distances
from fourpatch.track.surface_profile import SurfaceProfile, coarsest_spacing, load_surface_profile
from fourpatch.units import Unit

LEAD_IN: Final = 30.0
"""Road before a profile, over which its heights grow from nothing; its own length if shorter. [m]"""

SHORTEST, LONGEST = 1.0, 120.0
"""Time a profile may take to drive. [s]"""

_FINEST, _COARSEST = 0.01, 0.05  # spacing at which the tyres are rolled over the profile [m]


class MeasuredRoad(Part):
    """Drive straight along a road surface that was measured."""

    kind: Literal["measured-road"] = "measured-road"
    file: str
    """CSV with the columns distance, left and right, each with its unit in the heading: the whole of it is
    driven. Beside the event file, if that names it."""
    speed: Annotated[float, Unit("m/s", "km/h", 2.0, 110.0)] = 30.0
    """Held throughout."""

    @field_validator("file")
    @classmethod
    def _can_be_used(cls, file: str) -> str:
        try:
            load_surface_profile(Path(file))
        except FileError as error:
            said = f'is "{file}", which cannot be used:\n{error}'
            raise PydanticCustomError("quantity", "{said}", {"said": said}) from None
        return file

    def motion(self, car: Car, step: float) -> RigMotion:
        """Return what the rig does, at half steps of ``step`` [s].

        Raises
        ------
        EventError
            If the profile is too coarse for the speed, or too short or too long at it.

        Notes
        -----
        Before the profile lies its own first stretch, turned about its first point so that height and slope
        carry on, and grown from nothing over 30 m. The run ends as the front wheels reach the end. The
        profile is read by a cubic spline at even distances, 10 to 50 mm, before tyres roll over it.
        """
        profile = load_surface_profile(Path(self.file))
        self._require_drivable(profile)
        road = _with_lead_in(profile)
        lead_in = float(profile.distance[0] - road.distance[0])
        begin = (lead_in + car.chassis.wheelbase) / self.speed
        end = (road.distance[-1] - road.distance[0]) / self.speed
        time = half_steps(float(end), step)
        inputs = straight_inputs(
            car, road, time=time, speed=self.speed, distance=road.distance[0] + self.speed * time
        )
        return RigMotion(
            name=f"road of {Path(self.file).name}",
            step=step,
            inputs=inputs,
            store_every=max(1, round(2e-3 / step)),
            phases=(Phase("lead-in", 0.0, begin), Phase("road", begin, float(time[-1]) + step)),
        )

    def _require_drivable(self, profile: SurfaceProfile) -> None:
        allowed = coarsest_spacing(speed=self.speed)
        if profile.coarsest > allowed * (1.0 + SPACING_ROUNDING):
            raise EventError(
                f"measured-road: {Path(self.file).name} has points up to {profile.coarsest:.3g} m apart, and "
                f"at {self.speed * 3.6:.0f} km/h a car feels waves that need one every {allowed:.3g} m. "
                "Measure it finer, or drive faster."
            )
        length = float(profile.distance[-1] - profile.distance[0])
        span = length / self.speed
        if not SHORTEST <= span <= LONGEST:
            remedy = "Drive slower or give more of it" if span < SHORTEST else "Cut it"
            raise EventError(
                f"measured-road: {Path(self.file).name} is {length:.4g} m long, {span:.3g} s at "
                f"{self.speed * 3.6:.0f} km/h; a run takes {SHORTEST:g} to {LONGEST:g} s. {remedy}."
            )


def _with_lead_in(profile: SurfaceProfile) -> RoadProfile:
    """Return a profile at even distances with road before it that grows out of flat ground."""
    start = profile.distance[0]
    usual = float(np.median(np.diff(profile.distance)))
    along = even_distances(
        float(profile.distance[-1] - start), spacing=float(np.clip(usual, _FINEST, _COARSEST))
    )
    left, right = (
        sample_profile(profile.distance, heights, start + along).height
        for heights in (profile.left, profile.right)
    )
    turned = min(round(LEAD_IN / along[1]), along.size - 1)

    def extended(heights: np.ndarray) -> np.ndarray:
        return np.concatenate([2.0 * heights[0] - heights[turned:0:-1], heights])

    road = RoadProfile(
        distance=start + (np.arange(along.size + turned) - turned) * along[1],
        left=extended(left),
        right=extended(right),
    )
    return fade_in(road, lead_in=float(turned * along[1]))
