"""The trade-off equals brute force on a small grid, and stops without losing what it knows."""

from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from numpy.typing import NDArray

from fourpatch.advice import trade_off as module
from fourpatch.advice.grip_cost import Judge
from fourpatch.advice.occasion import generic_occasion
from fourpatch.advice.pareto import pareto_front
from fourpatch.advice.trade_off import OBJECTIVES, TradeOff, TradePoint, recounted, trade_off
from fourpatch.car.demo import demo_car
from fourpatch.car.setup import baseline_setup
from fourpatch.errors import FourpatchError

NAMES = ("front bar", "brake bias")


def brute_force(rows: NDArray[np.float64]) -> list[bool]:
    """Say of each row whether no other is nowhere larger and somewhere smaller."""
    return [not any(np.all(other <= row) and np.any(other < row) for other in rows) for row in rows]


@given(
    arrays(
        np.float64, st.tuples(st.integers(1, 40), st.integers(1, 5)), elements=st.integers(0, 4).map(float)
    )
)
def test_the_front_is_that_of_brute_force(rows: NDArray[np.float64]) -> None:
    assert pareto_front(rows).tolist() == brute_force(rows)


def test_what_is_not_finite_is_not_on_the_front() -> None:
    assert pareto_front(np.array([[1.0, np.nan], [2.0, 2.0]])).tolist() == [False, True]


@pytest.fixture(scope="module")
def found() -> TradeOff:
    car = demo_car("gt")
    return trade_off(car, baseline_setup(car), ["front bar", "rear bar"])


def test_all_of_a_small_grid_is_computed(found: TradeOff) -> None:
    grids = [one.positions() for one in found.adjusters]
    assert found.exhaustive
    assert {point.positions for point in found.points} == set(product(*grids))


COUNTED = [
    OBJECTIVES,
    ("pace", "bumps", "calmness"),
    ("scatter", "tyre work"),
    ("pace", "tyre work"),
    ("calmness",),
]


def no_worse(point: TradePoint, present: TradePoint, counted: tuple[str, ...]) -> bool:
    """Say whether a set-up may be a pick, the tolerances written out."""
    slack = {"bumps": 0.05, "scatter": 0.02, "tyre work": 1.0}
    return all(point.of(name) <= present.of(name) + slack[name] for name in counted if name in slack)


@pytest.mark.parametrize("counted", COUNTED)
def test_front_and_picks_are_those_of_the_whole_table(found: TradeOff, counted: tuple[str, ...]) -> None:
    said = recounted(found, counted)
    signs = np.array([-1.0 if name == "calmness" else 1.0 for name in counted])
    places = {"tyre work": 0}
    rows = (
        np.array([[round(p.of(name), places.get(name, 2)) for name in counted] for p in found.points]) * signs
    )
    best = {point.positions for point, on in zip(found.points, brute_force(rows), strict=True) if on}
    assert {point.positions for point in said.front} == best
    present = found.present
    held = [point for point in found.points if no_worse(point, present, counted)]
    quick = [p for p in held if "pace" not in counted or p.pace <= present.pace + 0.05]
    calm = [p for p in held if "calmness" not in counted or p.calmness >= present.calmness - 0.1]
    calmest, quickest = max(p.calmness for p in quick), min(p.pace for p in calm)
    if "calmness" in counted and calmest > present.calmness + 0.1:
        assert said.calmer is not None
        assert said.calmer.calmness == calmest
    else:
        assert said.calmer is None
    if "pace" in counted and quickest < present.pace - 0.05:
        assert said.quicker is not None
        assert said.quicker.pace == quickest
    else:
        assert said.quicker is None


def test_counting_again_is_what_counting_at_first_gives(found: TradeOff) -> None:
    assert recounted(recounted(found, ["tyre work", "pace"]), OBJECTIVES) == found
    assert recounted(found, ["tyre work", "pace"]).objectives == ("pace", "tyre work")


@pytest.mark.parametrize(
    ("counted", "said"),
    [((), "No objective"), (("pace", "pace"), "twice"), (("comfort",), "none of that name")],
)
def test_what_cannot_count_is_refused(found: TradeOff, counted: tuple[str, ...], said: str) -> None:
    with pytest.raises(FourpatchError, match=said):
        recounted(found, counted)


def test_it_tells_what_is_known_after_each_batch(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "BATCH", 16)
    car = demo_car("gt")
    parts: list[TradeOff] = []
    found = trade_off(car, baseline_setup(car), ["front bar", "rear bar"], show=parts.append)
    assert [len(part.points) for part in parts] == [1, 17, 33, 49]
    assert not any(part.finished for part in parts)
    assert found.finished
    # A place in the table stays a set-up's own while the table grows.
    for part in parts:
        assert [one.positions for one in part.points] == [
            one.positions for one in found.points[: len(part.points)]
        ]


def test_the_most_worked_tyre_is_an_outer_one_where_all_corners_turn_left(found: TradeOff) -> None:
    assert {point.most_worked for point in found.points} <= {"FR", "RR"}
    for point in found.points:
        assert 0.25 * point.total_work < point.tyre_work < point.total_work


def test_the_numbers_are_the_judges(found: TradeOff) -> None:
    car = demo_car("gt")
    judge = Judge(car=car, reference=car, occasion=generic_occasion(car), balance=0.0, wear=True)
    cost = judge.cost([baseline_setup(car)])
    work = cost.tyre_work[0].mean(axis=0)
    np.testing.assert_allclose(
        [found.present.tyre_work, found.present.total_work], [work.max(), work.sum()], rtol=1e-3
    )
    scatter = 100.0 * cost.use_scatter[0].mean(axis=0).max()
    np.testing.assert_allclose(found.present.scatter, scatter, rtol=1e-3)
    # Cars run together share the integrator's step.
    np.testing.assert_allclose(found.present.pace, cost.parts[0, 0], atol=1e-3)


def test_beyond_the_most_a_seeded_sample_is_drawn(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "MOST_SETUPS", 24)
    car = demo_car("gt")
    runs = [trade_off(car, baseline_setup(car), NAMES, seed=seed) for seed in (3, 3, 4)]
    assert not runs[0].exhaustive
    assert len(runs[0].points) <= 24
    assert [p.positions for p in runs[0].points] == [p.positions for p in runs[1].points]
    assert {p.positions for p in runs[0].points} != {p.positions for p in runs[2].points}


def test_stopped_it_keeps_what_it_knows(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "BATCH", 8)
    car = demo_car("gt")

    told: list[float] = []
    found = trade_off(
        car,
        baseline_setup(car),
        ["front bar", "rear bar"],
        progress=lambda share, text: told.append(share),
        cancelled=lambda: len(told) > 2,
    )
    assert found.stopped
    assert 8 < len(found.points) < 49
    assert found.points[0].positions == found.present.positions


def test_stopped_and_taken_up_again_it_finds_what_it_would_have(
    found: TradeOff, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "BATCH", 8)
    car = demo_car("gt")
    told: list[float] = []
    half = trade_off(
        car,
        baseline_setup(car),
        ["front bar", "rear bar"],
        progress=lambda share, text: told.append(share),
        cancelled=lambda: len(told) > 2,
    )
    before = len(told)
    whole = trade_off(
        car,
        baseline_setup(car),
        ["front bar", "rear bar"],
        known=half,
        progress=lambda share, text: told.append(share),
    )
    assert whole.exhaustive
    assert not whole.stopped
    # A batch of 8 tells once, the present set-up once: what is known is not computed again.
    assert len(told) - before == 1 + -(-(49 - len(half.points)) // 8)
    paces = [{p.positions: p.pace for p in one.points} for one in (found, whole)]
    assert paces[0].keys() == paces[1].keys()
    # Cars run together share the integrator's step.
    np.testing.assert_allclose([paces[1][at] for at in paces[0]], list(paces[0].values()), atol=1e-3)


@pytest.mark.parametrize(
    ("names", "said"),
    [([], "names none"), (["front bar", "front bar"], "twice"), (["front bra"], "front bar")],
)
def test_what_cannot_be_chosen_is_refused(names: list[str], said: str) -> None:
    car = demo_car("gt")
    with pytest.raises(FourpatchError, match=said):
        trade_off(car, baseline_setup(car), names)
