"""What a driver learns by practising: against what limits him, and the parts of a line he thinks in."""

from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from fourpatch.analysis import practice as practice_module
from fourpatch.analysis.driven_lap import in_hand
from fourpatch.analysis.lap_drive import ReadyToDrive, ready_to_drive
from fourpatch.analysis.plan_pieces import plan_pieces
from fourpatch.analysis.practice import LAPS, PACE_STEP, Practice, practise
from fourpatch.car.demo import demo_car
from fourpatch.events.steady_circle import SteadyCircle, steady_circle
from fourpatch.track.files import load_track
from fourpatch.track.racing_line import FLAT_KERB

OVAL = """name = "oval of two bends, invented"
[centre_line]
kind = "sections"
closed = true
sections = [
  {{ kind = "straight", length = "150 m" }},
  {{ kind = "arc", radius = "50 m", angle = "180 deg", direction = "left" }},
  {{ kind = "straight", length = "150 m" }},
  {{ kind = "arc", radius = "50 m", angle = "180 deg", direction = "left" }},
]
[road]
width = [{{ distance = "0 m", left = "5 m", right = "5 m" }}]
surface = [
  {{ kind = "road-class", start = "0 m", road_class = "A" }},
  {{ kind = "road-class", start = "140 m", road_class = "{first}" }},
  {{ kind = "road-class", start = "330 m", road_class = "A" }},
]
"""


def ready(folder: Path, first: str) -> ReadyToDrive:
    path = folder / f"oval-{first}.toml"
    path.write_text(OVAL.format(first=first), encoding="utf-8")
    return ready_to_drive(
        demo_car("gt"),
        load_track(path),
        style=None,
        pace=None,
        margin=0.6,
        kerb_share=0.0,
        flat_kerb=FLAT_KERB,
        seed=1,
    )


def practised(one: ReadyToDrive, rounds: int = 12) -> Practice:
    assert one.search is not None
    return practise(
        one.plan, one.road, one.layout, start=one.search.best, car_width=one.car_width, rounds=rounds
    )


@pytest.fixture(scope="module")
def smooth(tmp_path_factory: pytest.TempPathFactory) -> ReadyToDrive:
    return ready(tmp_path_factory.mktemp("smooth"), "A")


@pytest.fixture(scope="module")
def learned(smooth: ReadyToDrive) -> Practice:
    return practised(smooth)


def test_two_bends_make_four_pieces(smooth: ReadyToDrive) -> None:
    pieces = plan_pieces(smooth.plan)
    assert pieces.count == 4
    speed = smooth.plan.profile.speed
    cuts = np.searchsorted(smooth.plan.line.distance, pieces.begins)
    # Fastest and slowest places in turn, each nearer to its kind than to the other.
    fast = speed[cuts] > 0.5 * (speed.min() + speed.max())
    assert_array_equal(fast, np.roll(~fast, 1))
    assert_array_equal(np.unique(pieces.owner), np.arange(4))


def test_factors_are_blended_and_go_round(smooth: ReadyToDrive) -> None:
    pieces = plan_pieces(smooth.plan)
    assert_allclose(pieces.spread(np.full((1, 4), 0.9)), 0.9)
    spread = pieces.spread(np.array([[0.8, 0.9, 1.0, 1.1]]))[0]
    assert spread[0] == spread[-1]
    # Neighbours differ by 0.3 at the most, over 40 m of whole places.
    assert np.abs(np.diff(spread)).max() < 1.05 * 0.3 / 40.0 * pieces.spacing
    middle = int(np.flatnonzero(pieces.owner == 2)[np.sum(pieces.owner == 2) // 2])
    assert spread[middle] == pytest.approx(1.0)


def test_practice_gains_and_stays_within_what_the_tyres_bear(smooth: ReadyToDrive, learned: Practice) -> None:
    before = smooth.search.best_lap_time if smooth.search else np.nan
    assert learned.lap_times[0] == pytest.approx(before, rel=2 * PACE_STEP)
    assert (np.diff(learned.lap_times) <= 0.0).all()
    assert learned.lap_time < before
    # A smooth road: nothing beats the quasi-steady lap but cutting in on the line, by less than 1 %.
    assert learned.lap_time > 0.99 * smooth.plan.profile.lap_time


def test_what_is_learned_is_borne_and_so_is_a_little_less(smooth: ReadyToDrive, learned: Practice) -> None:
    paces = np.array([1.0, 1.0 - PACE_STEP, 1.0 - 2 * PACE_STEP, 1.0])
    run = learned.plan.drive(learned.plan.at_pace(paces), smooth.road)
    assert all(in_hand(run, lap, smooth.layout, car_width=smooth.car_width) for lap in range(4))
    assert_allclose(run.lap_time[[0, 3]], learned.lap_time, rtol=1e-6)


def test_a_rough_bend_slows_him_there_alone(tmp_path: Path, learned: Practice) -> None:
    rough = ready(tmp_path, "C")
    found = practised(rough)
    speed = found.plan.learned * rough.plan.profile.speed
    bends = [np.flatnonzero(found.pieces.owner == piece)[0] for piece in range(4)]
    slowest = sorted(bends, key=lambda at: rough.plan.profile.speed[at])[:2]
    in_rough, in_smooth = sorted(slowest, key=lambda at: abs(rough.plan.line.distance[at] - 230.0))
    assert speed[in_rough] < 0.97 * speed[in_smooth]
    assert rough.search is not None
    # All round alike the rough bend had set the speed of the smooth one too.
    assert found.plan.learned[in_smooth] > 1.02 * rough.search.best
    assert found.lap_time < 0.99 * rough.search.best_lap_time


def test_the_same_seed_learns_the_same_and_a_stop_keeps_it(smooth: ReadyToDrive, learned: Practice) -> None:
    assert smooth.search is not None
    asked: list[int] = []

    def after_two_rounds() -> bool:
        asked.append(1)
        return len(asked) > 2

    stopped = practise(
        smooth.plan,
        smooth.road,
        smooth.layout,
        start=smooth.search.best,
        car_width=smooth.car_width,
        cancelled=after_two_rounds,
    )
    assert stopped.stopped
    assert not learned.stopped
    assert_array_equal(stopped.lap_times, learned.lap_times[:3])
    assert stopped.laps == 2 * LAPS + learned.laps - LAPS * (learned.lap_times.size - 1)


def test_what_he_tries_is_a_speed_however_far_his_steps_have_grown() -> None:
    """A drawn single-seater's steps had grown beyond the speed itself: it was told to start backwards."""
    factors, tried = practice_module._to_try(
        np.full(5, 0.5), np.full(5, -0.2), np.full(5, 3.0), np.random.default_rng(1)
    )
    assert factors.min() > 0.0
    assert tried.any(axis=0).all()


def test_he_learns_on_from_what_he_knows(smooth: ReadyToDrive, learned: Practice) -> None:
    again = practise(
        learned.plan, smooth.road, smooth.layout, start=1.0, car_width=smooth.car_width, rounds=2
    )
    # From where he is at his best two rounds find little, and no worse than he keeps back at the end.
    assert again.lap_time <= learned.lap_time * (1.0 + 3 * PACE_STEP)


CIRCLE = """name = "circle, invented"
[centre_line]
kind = "sections"
closed = true
sections = [{ kind = "arc", radius = "70 m", angle = "360 deg", direction = "left" }]
[road]
width = [{ distance = "0 m", left = "4 m", right = "4 m" }]
surface = [{ kind = "road-class", start = "0 m", road_class = "A" }]
"""


def test_a_circle_is_one_piece_and_is_driven_near_the_steady_limit(tmp_path: Path) -> None:
    """Without bumps the quickest lap of a circle is its length over the speed of the fastest steady turn."""
    path = tmp_path / "circle.toml"
    path.write_text(CIRCLE, encoding="utf-8")
    car = demo_car("hatchback")
    one = ready_to_drive(
        car,
        load_track(path),
        style=None,
        pace=None,
        margin=1.0,
        kerb_share=0.0,
        flat_kerb=FLAT_KERB,
        seed=1,
    )
    found = practised(one)
    assert found.pieces.count == 1
    length = one.plan.line.length
    turns = steady_circle(car, SteadyCircle(radius=length / (2.0 * np.pi)))
    quickest = length / np.sqrt(np.abs(turns.lateral_acceleration[-1]) * length / (2.0 * np.pi))
    # He keeps three quarters of a per cent and the roughness of class A in hand; on the inside of his line
    # he may save a metre of 72 m.
    assert 0.99 * quickest < found.lap_time < 1.03 * quickest
