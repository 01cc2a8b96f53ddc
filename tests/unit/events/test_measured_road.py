"""A measured road: driven whole, from flat ground, and refused where it cannot be."""

from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.document.refusals import read_part
from fourpatch.errors import EventError, FileError
from fourpatch.events.files import load_event
from fourpatch.events.measured_road import LEAD_IN, MeasuredRoad
from fourpatch.events.motion import half_steps
from fourpatch.physics.layout import I
from fourpatch.track.contact_filter import sample_profile, tyre_path
from fourpatch.track.road import RoadClass, RoadProfile, rough_road
from fourpatch.track.surface_profile import SurfaceProfile, surface_profile_text

STEP = 1e-3


@pytest.fixture
def written(tmp_path: Path):
    """Write a profile to a file and return its name."""

    def write(road: RoadProfile | SurfaceProfile, name: str = "surface.csv") -> str:
        profile = SurfaceProfile(distance=road.distance, left=road.left, right=road.right)
        (tmp_path / name).write_text(surface_profile_text(profile), encoding="utf-8")
        return str(tmp_path / name)

    return write


def _bumps(length: float = 200.0, spacing: float = 0.05) -> RoadProfile:
    return rough_road(
        roughness=RoadClass.B,
        length=length,
        spacing=spacing,
        seed=3,
        track_width=1.5,
        longest_wavelength=50.0,
    )


def _wave(spacing: float, length: float = 120.0) -> SurfaceProfile:
    distance = np.arange(round(length / spacing) + 1) * spacing + 40.0
    return SurfaceProfile(
        distance=distance, left=0.004 * np.sin(distance), right=0.003 * np.cos(0.7 * distance)
    )


def test_wheels_feel_the_profile_as_it_was_measured(car_with, written):
    car, road, speed = car_with({}), _bumps(), 25.0
    motion = MeasuredRoad(file=written(road), speed=speed).motion(car, STEP)
    time = half_steps(motion.duration, STEP)
    tyre = car.front.tyre
    path = tyre_path(road.left, road.spacing, contact_length=tyre.contact_length, tyre_radius=tyre.radius)
    # Within a wheel of either end the tyre also rests on what lies beyond the profile.
    inside = (speed * time >= LEAD_IN + 1.0) & (speed * time <= LEAD_IN + road.length - 1.0)
    expected = sample_profile(road.distance, path, speed * time[inside] - LEAD_IN).height
    # The same points, their distance added up in another order: rounding.
    assert_allclose(motion.inputs[inside, I.road], expected, atol=1e-9)
    late = round(car.chassis.wheelbase / speed / (STEP / 2.0))
    assert_allclose(motion.inputs[late:, I.road + 2], motion.inputs[:-late, I.road], atol=1e-9)


def test_it_starts_from_flat_ground_and_carries_on_into_the_profile(car_with, written):
    car = car_with({})
    motion = MeasuredRoad(file=written(_wave(0.05)), speed=20.0).motion(car, STEP)
    road, rate = motion.inputs[:, I.road], motion.inputs[:, I.road_speed]
    # The patch reaches 0.1 m into what has grown by 10 (0.1 / 30)^3 of 8 mm.
    assert_allclose(motion.inputs[0, I.road : I.road + 4], 0.0, atol=3e-9)
    # Waves of 6.3 m and 4 mm at 20 m/s rise by at most 0.08 m/s; the turned stretch doubles heights, not
    # slopes, and growing over 30 m adds 8 mm x 1.9 / 30 m x 20 m/s = 0.01 m/s. A step would show as far more.
    assert np.abs(rate).max() < 0.1
    assert np.abs(np.diff(road)).max() < 0.1 * STEP / 2.0
    assert motion.phases[1].start == (LEAD_IN + car.chassis.wheelbase) / 20.0


def test_uneven_and_fine_points_are_read_alike(car_with, written):
    car = car_with({})
    even, fine = _wave(0.05), _wave(0.004)
    jitter = np.random.default_rng(2).uniform(-0.01, 0.01, even.distance.size)
    jitter[[0, -1]] = 0.0
    at = even.distance + jitter
    uneven = SurfaceProfile(distance=at, left=0.004 * np.sin(at), right=0.003 * np.cos(0.7 * at))
    found = [
        MeasuredRoad(file=written(one, f"{name}.csv"), speed=20.0)
        .motion(car, STEP)
        .inputs[:, I.road : I.road + 4]
        for name, one in (("even", even), ("uneven", uneven), ("fine", fine))
    ]
    # Smooth waves: the spline's error at 0.06 m is 1e-9 m; straight pieces under the tyre cut a crest of 4
    # mm and 6.3 m by (0.05 m)^2 / 8 x curvature 0.004 / m = 1.3 um.
    assert_allclose(found[1], found[0], atol=2e-6)
    assert_allclose(found[2][: found[0].shape[0]], found[0][: found[2].shape[0]], atol=3e-6)


def test_an_event_file_names_a_profile_beside_it(written, tmp_path):
    written(_wave(0.05))
    event = tmp_path / "mine.toml"
    event.write_text('kind = "measured-road"\nfile = "surface.csv"\nspeed = "90 km/h"\n', encoding="utf-8")
    found = load_event(event)
    assert isinstance(found, MeasuredRoad)
    assert found.speed == 25.0
    event.write_text('kind = "measured-road"\nfile = "none.csv"\nspeed = "90"\n', encoding="utf-8")
    with pytest.raises(FileError) as error:
        load_event(event)
    # Both faults, each with its line.
    assert "mine.toml, line 2: file is" in str(error.value)
    assert "which cannot be" in str(error.value)
    assert 'line 3: speed is "90", without a unit' in str(error.value)


def test_a_gap_is_refused_with_its_line(written, tmp_path):
    text = Path(written(_wave(0.05))).read_text(encoding="utf-8").splitlines()
    del text[500:540]
    (tmp_path / "gap.csv").write_text("\n".join(text), encoding="utf-8")
    _, faults = read_part(MeasuredRoad, {"file": str(tmp_path / "gap.csv")})
    assert "which cannot be used" in faults[0].text
    assert "line 501: this point lies 2.05 m after the one above" in faults[0].text


@pytest.mark.parametrize(
    ("spacing", "length", "speed", "said"),
    [
        (0.5, 120.0, 30.0, r"points up to 0.5 m apart, and at 108 km/h .* one every 0.25 m. Measure it"),
        (0.05, 20.0, 30.0, r"20 m long, 0.667 s at 108 km/h; a run takes 1 to 120 s. Drive slower"),
        (0.02, 300.0, 2.0, r"300 m long, 150 s at 7 km/h; .* Cut it"),
    ],
)
def test_a_profile_that_does_not_suit_the_speed_is_refused(spacing, length, speed, said, car_with, written):
    event = MeasuredRoad(file=written(_wave(spacing, length)), speed=speed)
    with pytest.raises(EventError, match=said):
        event.motion(car_with({}), STEP)


def test_mirrored_sides_swap_wheels(car_with, written):
    car, profile = car_with({}), _wave(0.05)
    left, right = (
        MeasuredRoad(file=written(one, name), speed=25.0).motion(car, STEP).inputs[:, I.road : I.road + 4]
        for one, name in ((profile, "as-is.csv"), (profile.mirrored(), "mirrored.csv"))
    )
    assert_allclose(left, right[:, [1, 0, 3, 2]], rtol=0.0, atol=0.0)
