"""Which pace counts as the highest."""

import numpy as np
from numpy.testing import assert_array_equal

from fourpatch.analysis.pace_search import PaceSearch


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
