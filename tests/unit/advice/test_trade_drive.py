"""The picks of a trade-off in a driver's hands: the same draws for all, and where laps disagree."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from fourpatch.advice import trade_field
from fourpatch.advice.trade_drive import QUICKEST, DrivenPick, DrivenTrade, drive_picks
from fourpatch.advice.trade_field import DrivenField, Held, drive_field
from fourpatch.advice.trade_off import TradeOff, TradePoint, trade_off
from fourpatch.analysis import held_pace
from fourpatch.analysis.held_pace import HeldPaces
from fourpatch.analysis.lap_scatter import study_scatter
from fourpatch.car.demo import demo_car
from fourpatch.car.setup import apply_setup, baseline_setup
from fourpatch.compute.gpu import Gpu, GpuFault
from fourpatch.picture.trade_off_words import driven_trade_meaning
from fourpatch.track.demo import demo_track


def point(scatter: float, work: float, position: float = 1.0) -> TradePoint:
    return TradePoint(
        positions=(position,),
        pace=60.0,
        bumps=5.0,
        calmness=1.0,
        scatter=scatter,
        tyre_work=work,
        total_work=2.0 * work,
        most_worked="RR",
    )


def pick(name: str, said: TradePoint, use: float | None, work: float | None) -> DrivenPick:
    return DrivenPick(
        name=name,
        point=said,
        laps=16,
        good_laps=16 if use is not None else 1,
        lap_time=60.0,
        lap_time_spread=0.1,
        use_spread=use,
        tyre_work=work,
        held=Held(pace=0.9, lap_time=60.0),
    )


FIELD = DrivenField(
    setups=12,
    laps=960,
    where="960 laps were driven on 2 cores, in single precision.",
    quickest=(1.0,),
    held={},
    order=0.2,
    not_finite=(),
    not_driven=0,
)


def test_it_says_where_laps_disagree_with_the_search(found: TradeOff) -> None:
    present = pick("present", point(3.0, 200.0), 1.5, 100.0)
    calmer = pick("calmer", point(2.5, 190.0), 1.7, 95.0)
    quicker = pick("quicker", point(2.5, 190.0), None, None)
    driven = DrivenTrade(pace=0.9, seed=1, picks=(present, calmer, quicker), field=FIELD)
    assert driven.agrees("scatter", calmer) is False
    assert driven.agrees("tyre work", calmer) is True
    assert driven.agrees("scatter", quicker) is None
    none, where, order, *said = driven_trade_meaning(found, driven)
    assert none == "Of 12 set-ups driven none lets this driver hold a quicker lap than the present one."
    assert where.startswith(FIELD.where)
    assert "otherwise than the search's pace (rank correlation +0.20)" in order
    assert said[0] == "calmer: scatter not as the search says, tyre work as the search says."
    assert "too few good laps" in said[1]


@pytest.mark.parametrize(
    ("lap_time", "words"),
    [(59.4, "0.60 s quicker than"), (60.2, "0.20 s a lap slower"), (None, "no lap is held to compare")],
)
def test_a_quickest_of_many_counts_by_the_draws_that_confirm_it(found, lap_time, words) -> None:
    present = pick("present", point(3.0, 200.0), 1.5, 100.0)
    best = replace(
        pick(QUICKEST, point(2.5, 190.0, 2.0), 1.4, 98.0),
        held=Held(pace=None if lap_time is None else 0.92, lap_time=lap_time),
    )
    field = replace(FIELD, quickest=(2.0,))
    driven = DrivenTrade(pace=0.9, seed=1, picks=(present, best), field=field)
    said, *_ = driven_trade_meaning(found, driven)
    assert words in said
    assert "differential preload 2" in said


@pytest.fixture(scope="module")
def found() -> TradeOff:
    car = demo_car("gt")
    return trade_off(car, baseline_setup(car), ["differential preload"], track=demo_track("chicanes"))


@pytest.mark.parametrize("fails", [False, True])
def test_a_gpu_is_given_all_set_ups_there_are_and_one_that_fails_costs_the_many_alone(
    found: TradeOff, monkeypatch, fails: bool
) -> None:
    asked = []

    class Course:
        def __init__(self, *given, **named):
            pass

        def held(self, cars, drive, **_):
            asked.append(len(cars))
            drive(None)
            times = 60.0 + np.arange(len(cars))
            return HeldPaces(
                pace=np.full(len(cars), 0.9),
                lap_time=times,
                time_spread=times,
                laps=1,
                not_finite=(),
                no_start=(),
            )

    def drive_many(task, *, stands_in, cancelled):
        if fails and not stands_in:
            raise GpuFault("the card was taken away")
        return SimpleNamespace(device="a card", why="", sums=None)

    card = Gpu(number=0, name="a card", architecture=90, multiprocessors=1, memory=1)
    monkeypatch.setattr(trade_field, "usable_gpu", lambda: card)
    monkeypatch.setattr(trade_field, "HeldCourse", Course)
    monkeypatch.setattr(trade_field, "drive_many", drive_many)
    monkeypatch.setattr(trade_field, "lane_sums", lambda task, single: None)
    car = demo_car("gt")
    ready = SimpleNamespace(plan=None, road=None, layout=None, car_width=1.8)
    told: list[float] = []
    field = drive_field(
        *(car, baseline_setup(car), found, ready, ()),
        pace=0.9,
        shown=[],
        seed=1,
        progress=lambda share, text: told.append(share),
    )
    assert asked[0] == found.possible > trade_field.FIELD["processor"]
    assert field.setups == (asked[1] if fails else found.possible)
    assert field.setups <= (trade_field.FIELD["processor"] if fails else found.possible)
    assert field.quickest == found.present.positions
    assert told == sorted(told)


def test_the_present_set_up_drives_as_its_laps_do_alone(found: TradeOff, monkeypatch) -> None:
    monkeypatch.setattr(held_pace, "_ROUNDS", 2)  # of five
    car, track = demo_car("gt"), demo_track("chicanes")
    driven = drive_picks(car, baseline_setup(car), found, track, laps=6, field=2)
    names = [one.name for one in driven.picks]
    assert names[0] == "present"
    assert set(names[1:]) <= {"calmer", "quicker", QUICKEST}
    assert set(driven.field.held) == {one.point.positions for one in driven.picks}
    first = {one.point.positions for one in driven.picks if one.name != QUICKEST}
    assert driven.field.setups == max(2, len(first))
    assert driven.field.laps == 2 * held_pace.LAPS * driven.field.setups
    alone = study_scatter(apply_setup(car, baseline_setup(car)), track, laps=6, pace=driven.pace)
    # The same draws and the same plan: the same laps, but for what a search before leaves in no number.
    present = driven.picks[0]
    assert present.lap_time_spread == pytest.approx(alone.summary.lap_time_spread, rel=1e-9)
    assert present.use_spread == pytest.approx(100.0 * alone.laps.use_spread.max(), rel=1e-9)
    for one in driven.picks:
        assert one.good_laps <= one.laps
