"""Set-ups: one step per adjuster, applied, moved and refused."""

import pytest

from fourpatch.car.adjusters import adjuster
from fourpatch.car.car import Car
from fourpatch.car.paths import parameter, parameters
from fourpatch.car.setup import Setup, apply_setup, baseline_setup, step
from fourpatch.errors import CarError


def setup(car: Car, **values: float) -> Setup:
    """Return a set-up of some of the saloon's adjusters, named with underscores."""
    return Setup(name="test", car=car.name, values={k.replace("_", " "): v for k, v in values.items()})


def test_baseline_leaves_the_car_as_it_is(saloon: Car) -> None:
    assert apply_setup(saloon, baseline_setup(saloon)) == saloon
    assert set(baseline_setup(saloon).values) == {one.name for one in saloon.adjusters}


def test_adjuster_left_out_stands_at_baseline(saloon: Car) -> None:
    assert apply_setup(saloon, setup(saloon)) == saloon
    one = adjuster(saloon, "front bump")
    assert setup(saloon).position(one) == one.baseline


def test_only_targets_change(saloon: Car) -> None:
    changed = apply_setup(saloon, setup(saloon, front_ride_height=4, front_bump=6, front_tyre_pressure=1.8))
    expected = {
        "front.ride_height": 0.095 + 4 * 0.00125,
        "front.damper.bump.low_speed": 3000 / 1.06**2,
        "front.damper.bump.high_speed": 1300 / 1.06**2,
        "front.tyre.pressure": 1.8e5,
    }
    for one in parameters(saloon):
        # rounding of a few operations
        assert parameter(changed, one.path).value == pytest.approx(
            expected.get(one.path, one.value), rel=1e-14
        )


def test_adjusters_of_one_target_act_together_whatever_their_order(saloon: Car) -> None:
    target = "front.damper.rebound.low_speed"
    sets = adjuster(saloon, "front rebound, low speed")
    factor = sets.model_copy(
        update={"name": "all", "sets": "factor", "map": adjuster(saloon, "front bump").map, "stiffer": "up"}
    )
    adds = sets.model_copy(
        update={
            "name": "trim",
            "map": adjuster(saloon, "front bump").map.model_copy(update={"rate": "50 N*s/m"}),
        }
    )
    wanted = Setup(name="t", car=saloon.name, values={sets.name: 11, "all": 7, "trim": 8})
    for order in ([sets, factor, adds], [adds, factor, sets], [factor, sets, adds]):
        car = saloon.model_copy(update={"adjusters": order})
        # value first, then what is added, then what multiplies
        expected = (3400 + 2 * 50) * 1.06
        assert parameter(apply_setup(car, wanted), target).value == pytest.approx(expected, rel=1e-14)


def test_applied_car_is_checked_again(saloon: Car) -> None:
    one = adjuster(saloon, "front bump").model_copy(update={"lowest": -1000.0})
    with pytest.raises(CarError, match=r"front\.damper\.bump\.low_speed is .* outside"):
        apply_setup(
            saloon.model_copy(update={"adjusters": [one.model_copy(update={"highest": 1000.0})]}),
            setup(saloon, front_bump=1000),
        )


@pytest.mark.parametrize(
    ("values", "says"),
    [
        ({"front_bump": 17}, "front bump = 17 is outside 0 to 16 clicks. The nearest allowed is 16."),
        ({"front_bump": -1}, "front bump = -1 is outside 0 to 16 clicks. The nearest allowed is 0."),
        (
            {"front_bump": 3.5},
            "front bump = 3.5 is between two steps of 1 clicks. The nearest allowed are 3 and 4.",
        ),
        ({"front_tyre_pressure": 1.87}, "The nearest allowed are 1.85 and 1.9."),
        ({"front_tyre_pressure": 27.5}, "outside 1.5 to 2.4 bar"),
        ({"front_bumb": 3}, 'front bumb is not an adjuster of this car. Did you mean "front bump"'),
    ],
)
def test_value_outside_or_off_step_is_refused(saloon: Car, values: dict[str, float], says: str) -> None:
    with pytest.raises(CarError) as error:
        apply_setup(saloon, setup(saloon, **values))
    assert says in str(error.value)


def test_all_faults_are_said_at_once(saloon: Car) -> None:
    wrong = Setup(
        name="test", car="another", values={"front bump": 17, "wing": 3, "front tyre pressure": 1.87}
    )
    with pytest.raises(CarError) as error:
        apply_setup(saloon, wrong)
    assert len(str(error.value).split("\n")) == 4
    assert 'is "another", but the car is "Invented saloon"' in str(error.value)


def test_decimal_steps_are_met_despite_rounding(saloon: Car) -> None:
    counted_up = sum([0.05] * 9, start=1.5)
    assert counted_up != 1.95
    changed = apply_setup(saloon, setup(saloon, front_tyre_pressure=counted_up))
    assert changed.front.tyre.pressure == 195e3


def test_step_moves_one_adjuster_to_its_stop_and_no_further(saloon: Car) -> None:
    one = adjuster(saloon, "front tyre pressure")
    here: Setup | None = setup(saloon, front_bump=3)
    seen = []
    for _ in range(20):
        if here is None:
            break
        seen.append(here.position(one))
        assert here.values["front bump"] == 3
        here = step(here, one, +1)
    assert seen == [1.9, 1.95, 2.0, 2.05, 2.1, 2.15, 2.2, 2.25, 2.3, 2.35, 2.4]
    assert step(setup(saloon, front_tyre_pressure=1.5), one, -1) is None


def test_up_and_down_again_is_the_same_set_up(saloon: Car) -> None:
    start = baseline_setup(saloon)
    for one in saloon.adjusters:
        up = step(start, one, +2)
        assert up is not None
        assert up != start
        assert step(up, one, -2) == start
