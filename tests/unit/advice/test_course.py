"""Where complaints happen on a track: its corners as the lap goes, its bumps and kerbs, what is refused."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.advice.complaint import Complaint
from fourpatch.advice.complaint_text import read_complaint
from fourpatch.advice.course import BUMPY, KERB, ROAD, Course, track_course
from fourpatch.advice.cure import cure
from fourpatch.advice.sensitivity import measured
from fourpatch.advice.target import HARDLY, target_of
from fourpatch.analysis.phase_balance import phase_balance
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car
from fourpatch.car.pack import pack
from fourpatch.car.setup import baseline_setup
from fourpatch.errors import AdviceError
from fourpatch.events.kerb_strike import KerbStrike
from fourpatch.events.run import run_rig, stable_step
from fourpatch.events.track_corner import CornerOnLap
from fourpatch.events.track_stretch import LEAD_IN, TrackStretch
from fourpatch.events.trial import LEAD, lateral_acceleration, pressed_on, rig_motion, slowest_speed
from fourpatch.track.demo import demo_track
from fourpatch.track.track import Track, mirrored
from fourpatch.track.track_road import track_road

FEW = ("front bar", "rear bar", "brake bias", "rear bump, low speed")


@pytest.fixture(scope="module")
def gt() -> Car:
    car = demo_car("gt")
    return car.model_copy(update={"adjusters": [one for one in car.adjusters if one.name in FEW]})


@pytest.fixture(scope="module")
def track() -> Track:
    return demo_track("chicanes")


@pytest.fixture(scope="module")
def course(gt: Car, track: Track) -> Course:
    return track_course(gt, track)


def said(text: str) -> Complaint:
    return read_complaint(text).complaints[0]


def test_corners_are_those_of_the_lap(course: Course) -> None:
    assert course.lap
    summary = course.lap.study.summary
    assert list(course.corners) == [f"corner {one.corner}" for one in summary.corners]
    for one in summary.corners:
        event = course.corners[f"corner {one.corner}"]
        assert isinstance(event, CornerOnLap)
        # Linear between places of the lap 1 m apart; speed turns round there.
        assert_allclose(slowest_speed(event), one.slowest_speed, rtol=1e-4)
        assert course.classes[f"corner {one.corner}"] == f"{one.speed_class} corner"
        # v^2 / R, the bank and the slope of the road apart, which the demo track has little of.
        curvature = abs(np.interp(event.slowest, event.time, event.curvature))
        assert_allclose(lateral_acceleration(event), event.slowest_speed**2 * curvature, rtol=0.02)


def test_a_mirrored_track_asks_the_same_of_a_car(gt: Car, track: Track, course: Course) -> None:
    """Left and right exchanged: a symmetric car has the same balance in the same corner."""
    other = track_course(gt, mirrored(track))
    names = ("corner 3", "corner 7")
    (measures, here), (_, there) = (
        measured([gt], {name: one.corners[name] for name in names}) for one in (course, other)
    )
    balances = [k for k, measure in enumerate(measures) if measure.quantity == "balance"]
    assert balances
    # The line of least curvature is found to a tolerance from either side; a tenth of what can be measured.
    assert_allclose(here[0, balances], there[0, balances], atol=0.1 * HARDLY)


def test_a_corner_cut_to_its_phases_is_the_corner(gt: Car, course: Course) -> None:
    """A car settled 0.8 s before the first phase has forgotten it: a body at 2 Hz and 40 % keeps e^-4."""
    event = course.corners["corner 3"]
    step = stable_step(pack(gt)[None])
    whole, cut = event.motion(gt, step), rig_motion(event, gt, step)
    assert cut.duration < 0.7 * whole.duration
    first = cut.phases[0]
    # To a stored instant.
    assert LEAD <= first.start <= LEAD + cut.step * cut.store_every
    shift = whole.phases[0].start - first.start
    rows = round(shift / (0.5 * whole.step)) + np.arange(cut.inputs.shape[0])
    assert_allclose(cut.inputs, whole.inputs[rows])
    for one, other in zip(cut.phases, whole.phases, strict=True):
        assert one.name == other.name
        # Rounding of times.
        assert_allclose((one.start + shift, one.end + shift), (other.start, other.end), atol=1.1 * step)
    assert isinstance(event, CornerOnLap)
    vectors = pressed_on(event, pack(gt)[None])
    short, long = (
        phase_balance(vectors, run_rig(vectors, motion), motion, ["one"]).balance for motion in (cut, whole)
    )
    assert_allclose(short, long, atol=HARDLY)


def test_bumps_of_a_corner_are_the_road_that_lies_there(gt: Car, track: Track, course: Course) -> None:
    assert course.lap
    line = course.lap.study.line
    bare = track.model_copy(update={"road": track.road.model_copy(update={"kerbs": []})})
    road = track_road(bare, line, seed=1, track_width=max(gt.front.track_width, gt.rear.track_width))
    corner = next(one for one in course.lap.study.summary.corners if one.corner == "3")
    (event,) = course.roads_of(said("hops in turn 3")).values()
    assert isinstance(event, TrackStretch)
    begin = float(np.interp(corner.start - 50.0, line.station, line.distance)) - LEAD_IN
    # To half a spacing.
    place = round(begin / road.spacing)
    assert_allclose(event.profile.left, road.left[place : place + event.profile.left.size], atol=1e-12)
    end = float(np.interp(corner.end + 30.0, line.station, line.distance))
    assert_allclose(event.profile.length, end - begin, atol=2.0 * road.spacing)


def test_the_bumpy_part_is_the_roughest(course: Course, track: Track) -> None:
    """Class C lies on two stretches of the demo track, four times the spectral density of B around them."""
    (event,) = course.roads_of(said("floats over bumps")).values()
    assert isinstance(event, TrackStretch)
    assert course.lap
    smooth = course.lap.smooth

    def slope(heights: np.ndarray) -> float:
        return float(np.std(np.diff(heights)))

    part = event.profile.left[round(LEAD_IN / event.profile.spacing) :]
    # A C stretch has twice the RMS of B, and 200 m of it hold all but its ends.
    assert slope(part) > 1.5 * slope(smooth.left[: round(400.0 / smooth.spacing)])


def test_kerbs_are_those_of_the_corner_and_no_higher_than_the_car(course: Course, track: Track) -> None:
    assert course.lap
    for number in (1, 3, 10):
        (event,) = course.kerbs_of(said(f"thrown off kerbs in turn {number}")).values()
        corner = next(one for one in course.lap.study.summary.corners if one.corner == str(number))
        near = [
            kerb
            for kerb in track.road.kerbs
            if corner.start - 60.0 < kerb.start + 0.5 * kerb.length < corner.end + 60.0
        ]
        assert isinstance(event, KerbStrike)
        assert event.shape in {kerb.shape.kind for kerb in near}
        assert (
            event.height
            <= 0.6 * min(course.lap.car.front.ride_height, course.lap.car.rear.ride_height) + 5e-4
        )
        # As fast as the lap goes by there, which brakes for the corner or leaves it.
        assert 0.9 * corner.slowest_speed <= event.speed <= max(corner.entry_speed, corner.exit_speed) * 1.6


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("pushes in turn 12", r"has no corner 12. There are corners 1, 2, .* and 10"),
        ("pushes in turns 3, 11 and 12", "has no corners 11 and 12"),
        ("thrown off kerbs in turn 9", "none at corner 9.*Kerbs lie at corners 1, 2, 3"),
        ("loose under braking in corner 4", "no such phase there.*corner 4: entry, mid, exit"),
    ],
)
def test_what_a_track_has_not_is_refused_naming_what_it_has(
    gt: Car, course: Course, text: str, match: str
) -> None:
    with pytest.raises(AdviceError, match=match):
        target_of(said(text), gt, course)


def test_a_class_without_corners_is_refused_naming_those_there_are(gt: Car, course: Course) -> None:
    slow = replace(course, classes={name: "slow corner" for name in course.corners})
    with pytest.raises(AdviceError, match=r"no fast corner for this car. There are: slow \(corners 1, 2"):
        target_of(said("pushes in fast corners"), gt, slow)


def test_a_number_without_a_track_is_refused(gt: Car) -> None:
    for text in ("pushes in turn 3", "hops in turn 3", "thrown off kerbs in turn 3", "nervous in turn 3"):
        with pytest.raises(AdviceError, match="needs its track"):
            cure(gt, baseline_setup(gt), [said(text)])


def test_opposed_complaints_that_only_the_track_tells_are_refused(gt: Car, course: Course) -> None:
    number = next(name for name, one in course.classes.items() if one == "slow corner").split()[-1]
    both = read_complaint(f"pushes on entry in turn {number}, loose on entry in slow corners").complaints
    assert len(both) == 2
    with pytest.raises(AdviceError, match="contradict each other"):
        cure(gt, baseline_setup(gt), both, course=course)


def test_the_number_is_that_of_the_named_corner_and_all_others_are_watched(gt: Car, course: Course) -> None:
    found = cure(gt, baseline_setup(gt), [said("pushes at mid-corner in turn 8")], course=course)
    measures, values = measured([gt], {"corner 8": course.corners["corner 8"]})
    place = [measure.name for measure in measures].index("corner 8.mid.balance")
    # The same run beside others: rounding of some hundred samples.
    assert_allclose(found.present(found.targets[0]), values[0, place], atol=1e-7)
    watched = {guard.event for guard in found.guards}
    assert watched == {*course.corners, ROAD, KERB}
    assert not any(guard.label == "balance, mid, corner 8" for guard in found.guards)
    # Whatever the number of corners, together they weigh as three.
    weights = [
        guard.weight for guard in found.guards if guard.label.startswith("grip used by both axles, mid")
    ]
    assert_allclose(sum(weights), 3.0)
    # Trade fact, common practice, no published source: a softer front bar frees mid-corner.
    turned = {gt.adjusters[v.adjuster].name: v.direction for v in found.levers}
    assert turned["front bar"] == -1


def test_several_corners_are_their_mean(gt: Car, course: Course) -> None:
    both, one, other = (
        target_of(said(f"pushes at mid-corner in {corners}"), gt, course)
        for corners in ("turns 3 and 8", "turn 3", "turn 8")
    )
    measures, values = measured([gt], {name: course.corners[name] for name in ("corner 3", "corner 8")})
    names = [measure.name for measure in measures]
    mean = 0.5 * (one.value(names, values) + other.value(names, values))
    assert_allclose(both.value(names, values), mean)
    # Half of it is the number of that half alone.
    assert_allclose(both.within(["corner 8"]).value(names, values), other.value(names, values))


def test_a_bumpy_part_is_run_beside_the_usual_road(gt: Car, course: Course) -> None:
    found = cure(gt, baseline_setup(gt), [said("hops over bumps")], course=course)
    assert BUMPY in found.table.events
    assert ROAD in {guard.event for guard in found.guards}
