"""What one step does: against running each set-up by itself."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.advice.sensitivity import sensitivity
from fourpatch.analysis.phase_balance import phase_balance
from fourpatch.car.demo import demo_car, demo_names
from fourpatch.car.pack import pack
from fourpatch.car.setup import apply_setup, baseline_setup, step
from fourpatch.events.corner import Corner
from fourpatch.events.kerb_strike import KerbStrike
from fourpatch.events.rough_road import RoughRoad
from fourpatch.events.run import run_rig, stacked
from fourpatch.physics.layout import O


@pytest.fixture(scope="module")
def gt():
    return demo_car("gt")


@pytest.fixture(scope="module")
def table(gt):
    return sensitivity(gt, baseline_setup(gt))


def test_effects_are_differences_of_separate_runs(gt, table):
    setup = baseline_setup(gt)
    name = "medium corner"
    motion = table.events[name].motion(gt, 1e-3)
    for place in (0, 7, len(gt.adjusters) - 1):
        adjuster = gt.adjusters[place]
        for column, way in enumerate((-1, 1)):
            moved = step(setup, adjuster, way)
            if moved is None:
                continue
            vectors = stacked([pack(gt), pack(apply_setup(gt, moved))])
            phases = phase_balance(vectors, run_rig(vectors, motion), motion, ["base", "moved"])
            for part in ("braking", "entry", "mid", "exit"):
                balance = phases.balance.sel(phase=part).values
                found = table.effects[place, column, table.index(f"{name}.{part}.balance")]
                # The same runs in another batch: rounding of 1e3 samples of some tens of points.
                assert_allclose(found, balance[1] - balance[0], rtol=1e-6, atol=1e-7)


def test_every_step_that_exists_is_there(gt, table):
    setup = baseline_setup(gt)
    for place, adjuster in enumerate(gt.adjusters):
        for column, way in enumerate((-1, 1)):
            missing = np.isnan(table.effects[place, column, 0])
            assert missing == (step(setup, adjuster, way) is None)


def test_order_is_by_size(table):
    chosen = table.balance_measures()
    sizes = table.largest(chosen)[table.order(chosen)]
    assert np.all(np.diff(sizes) <= 0.0)
    assert sizes[0] > 0.1


@pytest.mark.parametrize("name", demo_names())
def test_dampers_move_no_steady_balance(name):
    """Trade fact, common practice, no published source: dampers do nothing once the car has taken its set."""
    car = demo_car(name)
    table = sensitivity(car, baseline_setup(car), events={"corner": Corner(speed=20.0, mid=4.0)})
    mid = table.index("corner.mid.late_balance")
    for place, adjuster in enumerate(car.adjusters):
        if adjuster.system == "dampers":
            # Two seconds after turn-in and averaged over two more.
            assert_allclose(
                np.nan_to_num(table.effects[place, :, mid]), 0.0, atol=2e-3, err_msg=adjuster.name
            )


@pytest.mark.parametrize("name", demo_names())
def test_stiffer_end_slides_first(name):
    """Trade fact, common practice, no published source: stiffer front bar or spring.

    More understeer at mid.
    """
    car = demo_car(name)
    table = sensitivity(car, baseline_setup(car), events={"corner": Corner(speed=20.0)})
    mid = table.index("corner.mid.balance")
    checked = 0
    for place, adjuster in enumerate(car.adjusters):
        if adjuster.system in ("springs", "anti-roll bars") and any(
            target in (f"{adjuster.axle}.spring.rate", f"{adjuster.axle}.bar.rate")
            for target in adjuster.targets
        ):
            toward = {"up": 1.0, "down": -1.0}[adjuster.stiffer] * (1.0 if adjuster.axle == "front" else -1.0)
            down, up = table.effects[place, :, mid]
            for change, way in ((down, -1.0), (up, 1.0)):
                if not np.isnan(change):
                    assert change * way * toward > 0.0, adjuster.name
                    checked += 1
    assert checked >= 4


@pytest.mark.parametrize("name", demo_names())
def test_one_damper_click_is_tenths_of_a_point(name):
    """A damper's step moves the balance by tenths of a point at most, not by whole points, in smooth corners.

    Source: size from the project's reference values, section 11.1: 30 to 50 % of damping are some tenths.
    """
    car = demo_car(name)
    table = sensitivity(car, baseline_setup(car))
    chosen = table.balance_measures()
    for place in [k for k, adjuster in enumerate(car.adjusters) if adjuster.system == "dampers"]:
        assert table.largest(chosen)[place] < 0.5


def test_stiffer_bump_throws_the_body_harder_at_a_kerb():
    """Trade fact, common practice, no published source: stiff bump makes the kerb hit harder.

    Holds for peak acceleration where the damper, not the spring, answers the kerb: high-speed bump.
    """
    car = demo_car("coupe")
    table = sensitivity(
        car,
        baseline_setup(car),
        events={"kerb": KerbStrike(side="both", height=0.05, length=3.0, shape="half-sine")},
    )
    place = [adjuster.name for adjuster in car.adjusters].index("front bump, high speed")
    sign = {"up": 1.0, "down": -1.0}[car.adjusters[place].stiffer]
    down, up = table.effects[place, :, table.index("kerb.body_acceleration_peak")] * sign
    assert up > 0.0 > down


def test_a_swing_is_the_first_setups_load_at_another_time(gt):
    """At the instant of the largest difference a car has the load that the first has `delay` earlier."""
    spring = next(one for one in gt.adjusters if "front.spring.rate" in one.targets)
    vectors = stacked([pack(gt), pack(apply_setup(gt, step(baseline_setup(gt), spring, -1)))])
    motion = Corner(speed=25.0).motion(gt, 1e-3)
    history = run_rig(vectors, motion)
    found = phase_balance(vectors, history, motion, ["base", "moved"]).sel(phase="braking", axle="front")
    load = history.outputs[:, :, [O.tyre_load, O.tyre_load + 1]].sum(axis=2)
    time = motion.step * motion.store_every * np.arange(load.shape[1])
    braking = next(phase for phase in motion.phases if phase.name == "braking")
    at = np.ceil(braking.start / time[1]) * time[1] + found.axle_load_swing_time[1].item()
    moved, base = np.interp(at, time, load[1]), np.interp(at, time, load[0])
    # Rounding: the phase begins at the first stored instant in it.
    assert_allclose(found.axle_load_swing[1], moved - base, rtol=1e-9)
    earlier = np.interp(at - found.axle_load_delay[1].item(), time, load[0])
    assert abs(found.axle_load_swing[1].item()) > 10.0
    assert abs(found.axle_load_delay[1].item()) > 1e-3
    # Straight between instants both here and there.
    assert_allclose(earlier, moved, rtol=1e-9)
    assert found.axle_load_delay[0] == 0.0


def test_a_tyre_with_more_grip_leaves_more_grip_though_bumps_take_more(gt):
    """Grip left counts the tyre's own grip; grip lost alone would praise a car for having little to lose."""
    table = sensitivity(gt, baseline_setup(gt), events={"road": RoughRoad(duration=2.0)})
    lost, left = (table.index(f"road.{name}.front") for name in ("grip_lost", "grip_left"))
    pressure = next(k for k, one in enumerate(gt.adjusters) if one.targets == ["front.tyre.pressure"])
    down = table.effects[pressure, 0]
    assert down[lost] < 0.0
    assert down[left] < -down[lost] * table.present[left]  # less than what it saves from the bumps
