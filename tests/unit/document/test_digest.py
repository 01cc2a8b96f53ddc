"""A digest is the same for the same content alone, whatever a part holds."""

from dataclasses import replace

import numpy as np
import pytest

from fourpatch.document.digest import digest
from fourpatch.events.track_corner import CornerOnLap
from fourpatch.track.curvature_line import CurvatureLine, CurvatureTable
from fourpatch.track.demo import demo_track
from fourpatch.track.points import PointLine, Points
from fourpatch.track.surface_profile import SurfaceProfile
from fourpatch.track.track import MeasuredSurface, Track

TURN = np.linspace(0.0, 2.0 * np.pi, 40, endpoint=False)


def pointed(club: Track, *, x: np.ndarray) -> Track:
    line = PointLine(file="line.csv", points=Points(x=x, y=np.sin(TURN)))
    return club.model_copy(update={"centre_line": line})


def curved(club: Track, *, x: np.ndarray) -> Track:
    line = CurvatureLine(file="line.csv", table=CurvatureTable(distance=np.arange(40.0), curvature=0.01 * x))
    return club.model_copy(update={"centre_line": line})


def surfaced(club: Track, *, x: np.ndarray) -> Track:
    profile = SurfaceProfile(distance=np.arange(40.0), left=x, right=x)
    surface = MeasuredSurface(start=0.0, file="road.csv", profile=profile)
    return club.model_copy(update={"road": club.road.model_copy(update={"surface": [surface]})})


@pytest.mark.parametrize("made", [pointed, curved, surfaced])
def test_what_a_file_beside_a_track_holds_counts(made) -> None:
    club = demo_track("chicanes")
    x = np.cos(TURN)
    assert digest(made(club, x=x)) == digest(made(club, x=x.copy()))
    assert digest(made(club, x=x)) != digest(made(club, x=x + 1e-9)) != digest(club)


def test_rows_of_a_dataclass_count() -> None:
    row = np.linspace(0.0, 1.0, 5)
    corner = CornerOnLap(
        name="turn 1", time=row, speed=row, curvature=row, tyre_longitudinal=row, tyre_lateral=row,
        start=0.1, slowest=0.5, end=0.9,
    )  # fmt: skip
    assert digest({"turn 1": corner}) == digest({"turn 1": replace(corner)})
    assert digest({"turn 1": corner}) != digest({"turn 1": replace(corner, speed=row + 1.0)})


def test_what_has_no_digest_is_refused() -> None:
    with pytest.raises(TypeError, match="object has no digest"):
        digest(object())
