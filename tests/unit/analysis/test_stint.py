"""A run of laps."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.analysis.stint import SURFACES, Conditions, Stint, run_stint, stint_line
from fourpatch.analysis.tyre_heat import ATMOSPHERE, TyreHeat
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car
from fourpatch.car.paths import replace_parameters
from fourpatch.errors import EventError
from fourpatch.face.named import track_by_name
from fourpatch.track.builder import SectionLine, StraightSection
from fourpatch.track.line import Line
from fourpatch.track.track import ClassSurface, Road, Track, Width

DRY = Conditions(laps=8, air=293.15, start=293.15, pace=0.9)


@pytest.fixture(scope="module")
def line() -> Line:
    return stint_line(demo_car("gt"), track_by_name("chicanes"))


@pytest.fixture(scope="module")
def stint(line: Line) -> Stint:
    return run_stint(demo_car("gt"), line, DRY)


def test_gas_keeps_pressure_over_temperature(stint: Stint) -> None:
    whole = np.array([one.pressure for one in stint.laps]) + ATMOSPHERE
    kelvin = DRY.air + np.array([one.condition.rise[:, 1] for one in stint.laps])
    # Constant volume: p / T of each tyre is what it was cold, exact but for rounding.
    cold = np.repeat(np.array(stint.cold_pressures()) + ATMOSPHERE, 2) / DRY.air
    assert_allclose(whole / kelvin, np.broadcast_to(cold, whole.shape), rtol=1e-12)


def test_laps_without_end_settle_where_heat_in_is_heat_out(line: Line, stint: Stint) -> None:
    car = demo_car("gt")
    long = run_stint(car, line, replace(DRY, laps=60, start=353.15), at=range(1, 61, 4), like=stint)
    end, rises = long.last, []
    for k, axle in enumerate((car.front, car.rear)):
        half, speed = slice(2 * k, 2 * k + 2), line.length * DRY.pace / end.profile.lap_time
        heat = TyreHeat(tyre=axle.tyre.stint)
        power = heat.powers(sliding=speed * end.duty.sliding[half], rolling=speed * end.duty.load[half])
        rises.append(heat.settled(power))
    # Wear and fuel go on changing the powers by some per mille a lap.
    assert_allclose(end.condition.rise, np.concatenate(rises), rtol=0.02)


def test_every_lap_computed_says_the_same(line: Line, stint: Stint) -> None:
    each = run_stint(demo_car("gt"), line, DRY, at=range(1, 9), like=stint)
    # Powers taken as even over up to two laps (docs/stint.md: measured).
    assert_allclose(each.last.condition.rise, stint.last.condition.rise, atol=2.0)
    assert_allclose(each.total_time, stint.total_time, rtol=1e-3)


def other(car: Car, **values: float) -> Car:
    return replace_parameters(car, {name.replace("__", "."): value for name, value in values.items()})


def test_wear_goes_by_work_over_life_and_costs_time(line: Line, stint: Stint) -> None:
    lives = {f"{end}__tyre__stint__life": 35e6 for end in ("front", "rear")}
    kept = {f"{end}__tyre__stint__friction_loss_worn": 0.0 for end in ("front", "rear")}
    short = run_stint(other(demo_car("gt"), **lives, **kept), line, DRY, like=stint)
    without = run_stint(other(demo_car("gt"), **kept), line, DRY, like=stint)
    # Half the life, twice the share of it: the work is the same where worn tyres grip as new ones.
    assert_allclose(short.last.condition.worn, 2.0 * without.last.condition.worn, rtol=1e-12)
    assert without.last.profile.lap_time < stint.last.profile.lap_time


def test_it_ends_with_the_fuel_or_the_tread(line: Line, stint: Stint) -> None:
    dry = run_stint(other(demo_car("gt"), fuel__mass=3.5 * stint.fuel_per_lap), line, DRY, like=stint)
    assert (dry.ended, dry.driven) == ("fuel", 3)
    assert 0.0 <= dry.last.condition.fuel < dry.fuel_per_lap
    lives = {f"{end}__tyre__stint__life": 2e6 for end in ("front", "rear")}
    worn = run_stint(other(demo_car("gt"), **lives), line, DRY, like=stint)
    assert worn.ended == "tread"
    assert worn.driven < 8
    assert worn.last.condition.worn.max() <= 1.0


def test_a_wet_road_is_slower_colder_and_wears_less(line: Line, stint: Stint) -> None:
    wet = run_stint(demo_car("gt"), line, replace(DRY, surface=SURFACES["wet"]))
    assert wet.last.profile.lap_time > stint.last.profile.lap_time
    assert (wet.last.condition.rise < stint.last.condition.rise).all()
    assert (wet.last.condition.worn < stint.last.condition.worn).all()
    # The driver sets the pressures that suit a dry road, if he says nothing.
    assert_allclose(wet.cold_pressures(), stint.cold_pressures(), rtol=1e-12)


def test_a_cold_pressure_that_is_said_is_the_cold_pressure(line: Line, stint: Stint) -> None:
    said = run_stint(demo_car("gt"), line, replace(DRY, laps=2, cold_pressure=(1.3e5, None)))
    assert_allclose(said.laps[0].pressure[:2], 1.3e5, rtol=1e-12)
    assert_allclose(said.cold_pressures()[1], stint.cold_pressures()[1], rtol=1e-12)


def test_a_hill_has_no_laps() -> None:
    up = SectionLine(closed=False, sections=[StraightSection(length=400.0)])
    road = Road(
        width=[Width(distance=0.0, left=5.0, right=5.0)],
        surface=[ClassSurface(start=0.0, road_class="A")],
    )
    with pytest.raises(EventError, match=r"no laps\. Choose a circuit"):
        stint_line(demo_car("gt"), Track(name="hill", centre_line=up, road=road))


def test_tyres_that_would_melt_are_refused_with_what_to_check(line: Line, stint: Stint) -> None:
    hot = other(demo_car("gt"), rear__tyre__stint__tread_cooling=2.0, rear__tyre__stint__carcass_cooling=2.0)
    with pytest.raises(EventError, match=r"rear treads grow to \d+ degC.*rear\.tyre\.stint"):
        run_stint(hot, line, replace(DRY, cold_pressure=(1.5e5, 1.5e5)), like=stint)
