"""Which pace counts as the highest."""

from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_array_equal

from fourpatch.analysis.lap_drive import ready_to_drive
from fourpatch.analysis.pace_search import PaceSearch, search_pace
from fourpatch.car.demo import demo_car
from fourpatch.errors import Stopped
from fourpatch.track.files import load_track
from fourpatch.track.racing_line import FLAT_KERB


def search(*rows: tuple[float, float, bool]) -> PaceSearch:
    """Return paces with their lap times and whether they were good."""
    pace, lap_time, good = zip(*rows, strict=True)
    return PaceSearch(pace=np.array(pace), lap_time=np.array(lap_time), good=np.array(good))


def test_luck_above_a_bad_pace_is_not_credited():
    assert search((0.8, 90.0, True), (0.9, 80.0, True), (0.95, 79.0, False), (1.0, 75.0, True)).best == 0.9


def test_all_good_is_the_fastest():
    assert search((0.8, 90.0, True), (1.0, 75.0, True)).best == 1.0


def test_joined_paces_are_in_rising_order_and_each_once():
    joined = search((0.8, 90.0, True), (1.0, 75.0, False)).joined(
        search((0.8, 90.0, True), (0.9, 80.0, True))
    )
    assert_array_equal(joined.pace, [0.8, 0.9, 1.0])
    assert_array_equal(joined.good, [True, True, False])
    assert joined.best == 0.9


def test_stopped_between_rounds_it_keeps_what_it_knows(oval_file: Path) -> None:
    ready = ready_to_drive(
        demo_car("gt"),
        load_track(oval_file),
        style=None,
        pace=0.8,
        margin=0.3,
        kerb_share=0.0,
        flat_kerb=FLAT_KERB,
        seed=1,
    )
    told: list[float] = []

    def searched(rounds: int) -> PaceSearch:
        told.clear()
        return search_pace(
            ready.plan,
            ready.road,
            ready.layout,
            car_width=ready.car_width,
            progress=lambda share, text: told.append(share),
            cancelled=lambda: len(told) >= rounds,
        )

    part, whole = searched(1), searched(9)
    assert (part.stopped, whole.stopped) == (True, False)
    assert told == sorted(told)
    # The paces of the first round are among those of both.
    assert_array_equal(part.pace, whole.pace[np.isin(whole.pace, part.pace)])
    assert_array_equal(part.good, whole.good[np.isin(whole.pace, part.pace)])
    assert part.best <= whole.best
    with pytest.raises(Stopped, match="no pace was driven yet"):
        searched(0)
