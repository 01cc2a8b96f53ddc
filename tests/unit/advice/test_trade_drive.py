"""The picks of a trade-off in a driver's hands: the same draws for all, and where laps disagree."""

import pytest

from fourpatch.advice.trade_drive import DrivenPick, DrivenTrade, drive_picks
from fourpatch.advice.trade_off import TradeOff, TradePoint, trade_off
from fourpatch.analysis.lap_scatter import study_scatter
from fourpatch.car.demo import demo_car
from fourpatch.car.setup import apply_setup, baseline_setup
from fourpatch.picture.trade_off_words import driven_trade_meaning
from fourpatch.track.demo import demo_track


def point(scatter: float, work: float) -> TradePoint:
    return TradePoint(
        positions=(1.0,),
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
    )


def test_it_says_where_laps_disagree_with_the_search() -> None:
    present = pick("present", point(3.0, 200.0), 1.5, 100.0)
    calmer = pick("calmer", point(2.5, 190.0), 1.7, 95.0)
    quicker = pick("quicker", point(2.5, 190.0), None, None)
    driven = DrivenTrade(pace=0.9, seed=1, picks=(present, calmer, quicker))
    assert driven.agrees("scatter", calmer) is False
    assert driven.agrees("tyre work", calmer) is True
    assert driven.agrees("scatter", quicker) is None
    said = driven_trade_meaning(driven)
    assert said[0] == "calmer: scatter not as the search says, tyre work as the search says."
    assert "too few good laps" in said[1]


@pytest.fixture(scope="module")
def found() -> TradeOff:
    car = demo_car("gt")
    return trade_off(car, baseline_setup(car), ["differential preload"], track=demo_track("chicanes"))


def test_the_present_set_up_drives_as_its_laps_do_alone(found: TradeOff) -> None:
    car, track = demo_car("gt"), demo_track("chicanes")
    driven = drive_picks(car, baseline_setup(car), found, track, laps=6)
    names = [one.name for one in driven.picks]
    assert names[0] == "present"
    assert len(names) == 1 + (found.calmer is not None) + (found.quicker is not None)
    alone = study_scatter(apply_setup(car, baseline_setup(car)), track, laps=6, pace=driven.pace)
    # The same draws and the same plan: the same laps, but for what a search before leaves in no number.
    present = driven.picks[0]
    assert present.lap_time_spread == pytest.approx(alone.summary.lap_time_spread, rel=1e-9)
    assert present.use_spread == pytest.approx(100.0 * alone.laps.use_spread.max(), rel=1e-9)
    for one in driven.picks:
        assert one.good_laps <= one.laps
