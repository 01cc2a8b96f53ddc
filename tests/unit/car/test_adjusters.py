"""What each step of an adjuster does to the car, and which adjusters are refused."""

import math
from dataclasses import replace
from typing import Any

import pytest
from pydantic import ValidationError

from fourpatch.car.adjusters import Adjuster, adjuster, adjuster_faults, map_origin, map_spread
from fourpatch.car.car import Car
from fourpatch.car.parameters import LockedDifferential
from fourpatch.car.paths import parameter
from fourpatch.car.provenance import Provenance
from fourpatch.errors import CarError

LOW_BUMP = "front.damper.bump.low_speed"  # 3000 N*s/m in the saloon
HIGH_BUMP = "front.damper.bump.high_speed"  # 1300 N*s/m
GUESS = Provenance(source="estimated", method="plausible range", spread="50 %")


def make(**changes: Any) -> Adjuster:
    """Return an adjuster of the saloon's front bump, 0 to 20 clicks, changed as told."""
    data = {
        "name": "bump",
        "system": "dampers",
        "axle": "front",
        "targets": [LOW_BUMP],
        "lowest": 0,
        "highest": 20,
        "baseline": 10,
        "stiffer": "up",
        "more_means": "more",
        "map": {"kind": "rate", "rate": "100 N*s/m"},
    }
    return Adjuster.model_validate({**data, **changes})


def values(car: Car, one: Adjuster, *steps: float) -> list[float]:
    """Return what steps make of the adjuster's first target."""
    return [one.value(step, parameter(car, one.targets[0])) for step in steps]


def test_direct_map_is_the_number_times_its_unit(saloon: Car) -> None:
    one = adjuster(saloon, "front tyre pressure")
    assert values(saloon, one, 1.5, 1.95, 2.4) == pytest.approx([150e3, 195e3, 240e3], rel=1e-15)


def test_direct_map_takes_the_drivers_own_unit(saloon: Car) -> None:
    # 27.557 psi are the 1.9 bar of the car: 1 psi = 6894.757 Pa (scipy.constants, after NIST SP 811)
    one = make(
        targets=["front.tyre.pressure"],
        lowest=20,
        highest=35,
        step=0.5,
        baseline=27.5,
        map={"kind": "direct", "unit": "psi"},
    )
    assert values(saloon, one, 30.0) == pytest.approx([30 * 6894.757293], rel=1e-9)


def test_rate_adds_from_baseline(saloon: Car) -> None:
    assert values(saloon, make(), 0, 10, 13) == [2000.0, 3000.0, 3300.0]


def test_rate_of_a_factor_compounds(saloon: Car) -> None:
    one = make(sets="factor", map={"kind": "rate", "rate": "6 %"})
    assert values(saloon, one, 9, 10, 12) == pytest.approx([3000 / 1.06, 3000, 3000 * 1.06**2], rel=1e-14)


def test_rate_of_a_temperature_is_a_difference(saloon: Car) -> None:
    one = make(targets=["front.tyre.temperature"], map={"kind": "rate", "rate": "2 degC"}, stiffer="none")
    assert values(saloon, one, 11) == [355.15]


def test_table_is_linear_between_its_points(saloon: Car) -> None:
    one = make(
        map={"kind": "table", "steps": [0, 10, 20], "values": ["1000 N*s/m", "3 N*s/mm", "9000 N*s/m"]}
    )
    assert values(saloon, one, 0, 1, 9, 10, 15, 20) == [1000.0, 1200.0, 2800.0, 3000.0, 6000.0, 9000.0]


def test_table_may_reach_beyond_the_scale(saloon: Car) -> None:
    one = make(map={"kind": "table", "steps": [-10, 30], "values": ["1000 N*s/m", "5000 N*s/m"]})
    assert values(saloon, one, 0, 20) == [2000.0, 4000.0]


def test_table_of_factors_counts_from_baseline(saloon: Car) -> None:
    one = make(sets="factor", map={"kind": "table", "steps": [0, 10, 20], "values": ["50 %", 0.8, "200 %"]})
    assert values(saloon, one, 0, 10, 20) == pytest.approx(
        [3000 * 0.5 / 0.8, 3000, 3000 * 2 / 0.8], rel=1e-14
    )


def test_curve_is_a_polynomial(saloon: Car) -> None:
    one = make(map={"kind": "curve", "coefficients": [1000, 100, 10], "unit": "N*s/m"})
    assert values(saloon, one, 0, 10, 20) == [1000.0, 3000.0, 7000.0]


def test_unknown_map_runs_between_its_ends(saloon: Car) -> None:
    ends = {"at_lowest": "300 N*s/m", "at_highest": "30 N*s/mm"}
    geometric = make(map={"kind": "unknown", **ends}, provenance=GUESS)
    assert values(saloon, geometric, 0, 5, 15, 20) == pytest.approx(
        [300, 300 * 10**0.5, 3000 * 10**0.5, 30e3]
    )
    linear = make(map={"kind": "unknown", "law": "linear", **ends}, provenance=GUESS)
    assert values(saloon, linear, 0, 5, 20) == pytest.approx([300, 7725, 30e3])


def test_one_adjuster_moves_different_values_together_or_just_one(saloon: Car) -> None:
    both = make(targets=[LOW_BUMP, HIGH_BUMP], sets="factor", map={"kind": "rate", "rate": "10 %"})
    low, high = (both.value(11, parameter(saloon, path)) for path in both.targets)
    assert (low, high) == pytest.approx((3300, 1430))
    assert adjuster_faults(saloon.model_copy(update={"adjusters": [both, make(name="slow")]})) == []


def test_baseline_is_the_cars_own_value_to_the_last_digit(saloon: Car) -> None:
    for one in saloon.adjusters:
        for path in one.targets:
            assert one.value(one.baseline, parameter(saloon, path)) == parameter(saloon, path).value
    near = make(map={"kind": "table", "steps": [0, 20], "values": ["1001 N*s/m", "5001 N*s/m"]})
    assert values(saloon, near, 10) == [3000.0]


def test_map_backward_finds_every_step(saloon: Car) -> None:
    for one in saloon.adjusters:
        target = parameter(saloon, one.targets[0])
        for step in one.positions():
            assert one.nearest_step(one.value(step, target), target) == step


@pytest.mark.parametrize("says", [4, 16])
def test_map_backward_asks_the_map_where_baseline_misses_it(saloon: Car, says: float) -> None:
    """The car's own value is that of another step than baseline, 10, on either side of it."""
    one = make(map={"kind": "table", "steps": [0, 20], "values": ["1000 N*s/m", "5000 N*s/m"]})
    target = parameter(saloon, one.targets[0])
    moved = replace(target, value=1000.0 + 200.0 * says)
    assert one.nearest_step(moved.value, moved) == says


def test_positions_are_the_numbers_the_driver_reads() -> None:
    one = make(lowest=0.1, highest=0.7, step=0.1, baseline=0.3)
    assert one.positions() == [0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7]


def test_map_says_where_it_came_from(saloon: Car) -> None:
    assert map_origin(saloon, adjuster(saloon, "rear bump")).source == "estimated"
    assert map_spread(saloon, adjuster(saloon, "rear bump")) == 0.5
    assert map_origin(saloon, adjuster(saloon, "front bump")).source == "demo"
    assert map_spread(saloon, adjuster(saloon, "front bump")) == 0.0


def test_unknown_adjuster_proposes_near_ones(saloon: Car) -> None:
    with pytest.raises(
        CarError, match=r'"front bum" is not an adjuster of this car\. Did you mean "front bump"'
    ):
        adjuster(saloon, "front bum")
    with pytest.raises(CarError, match="It has: none"):
        adjuster(saloon.model_copy(update={"adjusters": []}), "wing")


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"lowest": 20, "highest": 0}, "highest = 0 is not above lowest = 20. Swap them?"),
        ({"baseline": 21}, "baseline = 21 is outside 0 to 20. The nearest allowed is 20."),
        ({"baseline": 10.5}, "baseline = 10.5 is between two steps of 1. The nearest allowed are 10 and 11."),
        ({"highest": 20.5}, "highest = 20.5 is between two steps"),
        ({"step": 1e-3}, "lowest to highest is 20000 steps, more than 10000"),
        ({"step": 0.0}, "greater than 0"),
        ({"lowest": "0"}, "number"),
        ({"targets": []}, "at least 1"),
        ({"map": {"kind": "unknown", "at_lowest": "1 N*s/m", "at_highest": "9 N*s/m"}}, "Add provenance ="),
        ({"map": {"kind": "table", "steps": [0, 20], "values": ["1 N*s/m"] * 3}}, "2 steps, 3 values"),
        ({"map": {"kind": "table", "steps": [20, 0], "values": ["1 N*s/m"] * 2}}, "steps do not rise"),
        ({"provenance": {"source": "given", "spread": "5 N*s/m"}}, 'its spread is "5 N*s/m", without %'),
    ],
)
def test_adjuster_that_contradicts_itself_is_refused(changes: dict[str, Any], says: str) -> None:
    with pytest.raises(ValidationError) as error:
        make(**changes)
    assert says in str(error.value)


@pytest.mark.parametrize(
    ("changes", "where", "says"),
    [
        ({"targets": ["front.damper.bump.low"]}, ("targets", 0), "Did you mean front.damper.bump.low_speed"),
        ({"targets": ["front.damper.bump"]}, ("targets", 0), "holds several numbers"),
        ({"axle": "rear"}, ("targets", 0), 'the adjuster says axle = "rear"'),
        ({"targets": [LOW_BUMP, LOW_BUMP]}, ("targets", 1), "a second time"),
        (
            {"map": {"kind": "rate", "rate": 100}},
            ("map", "rate"),
            'is "100", without a unit. Write "100 N*s/m"',
        ),
        ({"map": {"kind": "rate", "rate": "1 mm"}}, ("map", "rate"), "which measures something else"),
        (
            {"map": {"kind": "direct", "unit": "bar"}},
            ("map", "unit"),
            'is "bar", in which what it sets is not',
        ),
        (
            {"map": {"kind": "curve", "coefficients": [1, 2], "unit": "clicks"}},
            ("map", "unit"),
            "Write N*s/m or N*s/mm or lbf*s/in or kgf*s/m.",
        ),
        ({"sets": "factor"}, ("map", "rate"), "which measures something else. Use % or a plain number."),
        (
            {"map": {"kind": "table", "steps": [0, 20], "values": ["1000 N*s/m", "fast"]}},
            ("map", "values", 1),
            'is "fast", not a number with a unit',
        ),
        (
            {"map": {"kind": "table", "steps": [5, 20], "values": ["1000 N*s/m", "5000 N*s/m"]}},
            ("map", "steps"),
            "run from 5 to 20 and leave out part of the scale, 0 to 20",
        ),
        (
            {"map": {"kind": "rate", "rate": "400 N*s/m"}},
            ("map",),
            "at 0 front.damper.bump.low_speed is -1000 N*s/m",
        ),
        ({"map": {"kind": "rate", "rate": "0 N*s/m"}}, ("map",), "changes nothing"),
        ({"stiffer": "down"}, ("stiffer",), 'from 2000 N*s/m at 0 to 4000 N*s/m at 20. Write "up"'),
        (
            {"map": {"kind": "table", "steps": [0, 20], "values": ["1000 N*s/m", "6000 N*s/m"]}},
            ("baseline",),
            "where the map gives 3500 N*s/m, but front.damper.bump.low_speed of this car is 3000 N*s/m. "
            "Write baseline = 8, or front.damper.bump.low_speed",
        ),
        (
            {
                "map": {"kind": "unknown", "at_lowest": "0 N*s/m", "at_highest": "9 N*s/m"},
                "provenance": GUESS,
            },
            ("map",),
            'Write law = "linear"',
        ),
        (
            {
                "targets": [LOW_BUMP, HIGH_BUMP],
                "map": {"kind": "table", "steps": [0, 20], "values": ["1000 N*s/m", "5000 N*s/m"]},
            },
            ("targets",),
            'Make them equal, or write sets = "factor"',
        ),
    ],
)
def test_adjuster_that_does_not_fit_the_car_is_refused(
    saloon: Car, changes: dict[str, Any], where: tuple[str | int, ...], says: str
) -> None:
    (fault,) = adjuster_faults(saloon.model_copy(update={"adjusters": [make(**changes)]}))
    assert fault.key == ("adjusters", 0, *where)
    assert says in fault.text


def test_two_adjusters_may_not_set_the_same_value_nor_share_a_name(saloon: Car) -> None:
    table = {"kind": "table", "steps": [0, 20], "values": ["1000 N*s/m", "5000 N*s/m"]}
    first, second = make(map=table), make(name="bump again", map=table)
    (fault,) = adjuster_faults(saloon.model_copy(update={"adjusters": [first, second]}))
    assert fault.key == ("adjusters", 1, "targets")
    assert 'which "bump" sets too' in fault.text
    (fault,) = adjuster_faults(saloon.model_copy(update={"adjusters": [make(), make()]}))
    assert fault.key == ("adjusters", 1, "name")


def test_numbers_rounded_for_print_fit_at_baseline(saloon: Car) -> None:
    # a hundredth of the mean step of 200 N*s/m: 1.9 passes, 2.1 does not
    for off, fits in ((1.9, True), (2.1, False)):
        table = {"kind": "table", "steps": [0, 20], "values": [f"{1000 + off} N*s/m", f"{5000 + off} N*s/m"]}
        faults = adjuster_faults(saloon.model_copy(update={"adjusters": [make(map=table)]}))
        assert (faults == []) is fits


def test_clicks_of_slopes_on_a_measured_damper_are_told_what_they_act_on(saloon: Car) -> None:
    old = make(
        name="rear rebound, low speed",
        axle="rear",
        targets=["rear.damper.rebound.low_speed", "rear.damper.rebound.high_speed"],
    )
    (fault,) = adjuster_faults(saloon.model_copy(update={"adjusters": [old]}))
    assert fault.key == ("adjusters", 0, "targets")
    assert 'rear.damper.kind is "measured"' in fault.text
    assert 'targets = ["rear.damper.rebound_factor"], sets = "factor"' in fault.text
    assert "front" not in fault.text
    mended = make(
        name=old.name,
        axle="rear",
        targets=["rear.damper.rebound_factor"],
        sets="factor",
        map={"kind": "rate", "rate": "6 %"},
    )
    assert adjuster_faults(saloon.model_copy(update={"adjusters": [mended]})) == []


def test_a_map_in_another_unit_is_one_fault(saloon: Car) -> None:
    table = {"kind": "table", "steps": [0, 10, 20], "values": ["900 N*s/m", "1000 N*s/m", "1200 N*s/m"]}
    wrong = make(axle="rear", targets=["rear.damper.bump_factor"], map=table)
    (fault,) = adjuster_faults(saloon.model_copy(update={"adjusters": [wrong]}))
    assert fault.key == ("adjusters", 0, "map", "values")
    assert 'sets = "factor"' in fault.text


def test_a_differential_of_another_kind_is_named_and_nothing_far_is_proposed(saloon: Car) -> None:
    line = saloon.driveline.model_copy(update={"rear_differential": LockedDifferential(kind="locked")})
    car = saloon.model_copy(
        update={
            "driveline": line,
            "adjusters": [
                make(system="differential", axle="rear", targets=["driveline.rear_differential.preload"])
            ],
        }
    )
    (fault,) = adjuster_faults(car)
    assert (
        'driveline.rear_differential.kind is "locked", which has no preload. It has no numbers.' in fault.text
    )


@pytest.mark.parametrize("number", [math.inf, -math.inf, math.nan, 1e308, -1e308])
def test_a_number_beyond_all_is_refused_with_the_nearest_step(number: float) -> None:
    one = make()
    assert one.nearest(number) in (one.lowest, one.highest)
    assert not one.allows(number)
    assert f"The nearest allowed is {one.nearest(number):g}." in one.refusal(number)
    assert one.nearest(number) == (one.highest if number > 0.0 else one.lowest)
