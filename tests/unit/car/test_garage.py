"""The garage screen: rows of a car, the adjusters they make, faults in the row, set-ups kept by meaning."""

import math

import pytest
from numpy.testing import assert_allclose

from fourpatch.car.adjusters import DirectMap, UnknownMap
from fourpatch.car.car import Car
from fourpatch.car.carrying import carried_over
from fourpatch.car.checks import car_faults
from fourpatch.car.demo import demo_car, demo_names
from fourpatch.car.estimate import CarBrief, estimate_car
from fourpatch.car.garage import GarageRow, read_number, row_of, rows_of, settled
from fourpatch.car.garage_settings import RAMP, UNKNOWN, settings_of
from fourpatch.car.paths import parameter
from fourpatch.car.setup import apply_setup, baseline_setup
from fourpatch.errors import FieldsError


@pytest.fixture(scope="module")
def car() -> Car:
    return estimate_car(
        CarBrief(
            name="Invented", mass=1150.0, front_weight_share=0.55, wheelbase=2.55, driven="rear", power=150e3,
            front_tyre="225/45R17", rear_tyre="245/45R17", grip="semi-slick", body="sports", downforce="low",
        )
    )  # fmt: skip


def changed(car: Car, **rows: GarageRow) -> Car:
    """The car with some of its rows written anew, by key with _ for blanks."""
    own = {one.key: one for one in rows_of(car)}
    own |= {key.replace("__", ", ").replace("_", " "): one for key, one in rows.items()}
    return settled(car, list(own.values())).car


def row(key: str, low: str, high: str, now: str = "", *, step: str = "1", unit: str = UNKNOWN) -> GarageRow:
    return GarageRow(key=key, have=True, lowest=low, highest=high, step=step, now=now, unit=unit)


def one_of(car: Car, name: str):  # type: ignore[no-untyped-def]
    return next(one for one in car.adjusters if one.name == name)


@pytest.mark.parametrize("name", demo_names())
def test_rows_as_they_are_change_nothing(name: str) -> None:
    demo = demo_car(name)
    made = settled(demo, rows_of(demo))
    assert made.car == demo
    assert made.changed == {}


def test_a_row_of_clicks_becomes_a_stated_range_about_the_car(car: Car) -> None:
    made = changed(car, front_bump__low_speed=row("front bump, low speed", "1", "11", "7"))
    one = one_of(made, "front bump, low speed")
    assert isinstance(one.map, UnknownMap)
    assert (one.lowest, one.highest, one.baseline, one.unit) == (1.0, 11.0, 7.0, "clicks")
    assert one.provenance is not None
    assert one.provenance.spread == "50 %"
    target = parameter(made, "front.damper.bump.low_speed")
    assert target.value == parameter(car, target.path).value  # what stands now is the car's own
    # 40 % to 250 % from end to end: a factor of 6.25, six tenths of it below position 7.
    assert_allclose(one.value(11.0, target) / one.value(1.0, target), 6.25, rtol=1e-4)
    assert_allclose(one.value(7.0, target) / one.value(1.0, target), 6.25**0.6, rtol=1e-4)
    assert car_faults(made) == []


def test_a_known_unit_is_the_value_and_an_open_number_moves_to_the_scale(car: Car) -> None:
    made = changed(
        car,
        front_spring=row("front spring", "300", "900", "about 500 lbf/in", step="50", unit="lbf/in"),
        rear_tyre_pressure=row("rear tyre pressure", "20", "40", step="0.5", unit="psi"),
    )
    spring = one_of(made, "front spring")
    assert isinstance(spring.map, DirectMap)
    # 500 lbf/in by the exact pound and inch
    assert_allclose(parameter(made, "front.spring.rate").value, 500.0 * 4.4482216152605 / 0.0254, rtol=1e-12)
    pressure = one_of(made, "rear tyre pressure")
    own = parameter(car, "rear.tyre.pressure").value / 6894.757293168361
    assert abs(pressure.baseline - own) <= 0.25
    assert car_faults(made) == []


def test_the_brake_bias_shown_is_reconciled_with_the_cars_own(car: Car) -> None:
    made = changed(car, brake_bias=row("brake bias", "45", "65", "54 %", unit="%"))
    one = one_of(made, "brake bias")
    own = parameter(car, "brakes.front_share").value
    share = parameter(made, "brakes.front_share")
    assert share.value == own
    # Torque goes with pressure at each axle, so that the odds of the shares keep their ratio.
    for shown in (45.0, 65.0):
        odds = shown / (100.0 - shown) / (54.0 / 46.0) * own / (1.0 - own)
        assert_allclose(one.value(shown, share), odds / (1.0 + odds), rtol=1e-6)
    assert row_of(made, next(each for each in settings_of(made) if each.key == "brake bias")).unit == "%"
    parts = row("brake bias", "0.45", "0.65", "0.54", step="0.01", unit="%")
    assert one_of(changed(car, brake_bias=parts), "brake bias") == one
    with pytest.raises(FieldsError, match=r"would be 9.* 30 to 90 % is possible. The nearest that fits is"):
        changed(car, brake_bias=row("brake bias", "45", "95", "54", unit="%"))


def test_a_wing_of_which_nothing_is_known_is_a_small_one_and_says_so(car: Car) -> None:
    made = changed(car, front_wing=row("front wing", "1", "8", "3", unit="deg"))
    wing = made.aero.front_wing
    # Half of a plane wing of 0.25 m² and aspect ratio 6 by Prandtl's lifting line, 4.7 per radian.
    assert_allclose(wing.front_downforce_area_per_angle, 0.5 * 0.25 * 4.712, rtol=1e-3)
    assert wing.angle == car.aero.front_wing.angle
    about = made.provenance["aero.front_wing.front_downforce_area_per_angle"]
    assert (about.source, about.spread) == ("estimated", "60 %")
    assert made.aero.rear_wing == car.aero.rear_wing  # what is known stays
    assert car_faults(made) == []


def test_ramps_lock_by_their_angle() -> None:
    gt = demo_car("gt")
    key = "rear differential power ramp"
    made = settled(
        gt,
        [
            *(one.model_copy(update={"have": one.have and "power lock" not in one.key}) for one in rows_of(gt)
              if one.key != key),
            row(key, "30", "80", "45", step="5", unit=RAMP),
        ],
    ).car  # fmt: skip
    lock = parameter(made, "driveline.rear_differential.power_lock")
    assert_allclose(lock.value, 0.5 / math.tan(math.radians(45.0)), rtol=0.02)  # between places of a table
    assert_allclose(one_of(made, key).value(80.0, lock), 0.5 / math.tan(math.radians(80.0)), rtol=1e-4)
    assert car_faults(made) == []


def test_every_setting_without_a_unit_stays_within_what_a_car_can_be(car: Car) -> None:
    rows = [
        row(one.key, *(f"{end:g}" for end in one.scale[:2])).model_copy(
            update={"have": "ramp" not in one.key}
        )
        for one in settings_of(car)
    ]
    for now in ("", "lowest", "highest"):
        at = [one.model_copy(update={"now": getattr(one, now) if now else ""}) for one in rows]
        made = settled(car, at).car
        assert car_faults(made) == []
        for one in made.adjusters:
            for end in (one.lowest, one.highest):
                apply_setup(made, baseline_setup(made).model_copy(update={"values": {one.name: end}}))


@pytest.mark.parametrize(
    ("about", "field", "said"),
    [
        ({"lowest": "11", "highest": "1"}, "highest", "not above the lowest, 11"),
        ({"step": "3"}, "step", "does not divide 1 to 11"),
        ({"step": "0"}, "step", "a step is above 0"),
        ({"now": "12"}, "now", "outside 1 to 11"),
        ({"now": "6.5"}, "now", "between two steps"),
        ({"lowest": "soft"}, "lowest", 'is "soft", not a number'),
        ({"highest": ""}, "highest", "is still empty"),
        ({"unit": "bar"}, "unit", "choose one of"),
    ],
)
def test_what_cannot_be_is_said_in_the_row(car: Car, about: dict[str, str], field: str, said: str) -> None:
    faulty = row("rear bump", "1", "11", "6").model_copy(update=about)
    with pytest.raises(FieldsError) as refused:
        changed(car, rear_bump=faulty)
    assert list(refused.value.fields) == [f"rear bump.{field}"]
    assert said in refused.value.fields[f"rear bump.{field}"]


def test_no_pressure_at_all_is_refused_at_its_end(car: Car) -> None:
    with pytest.raises(FieldsError) as refused:
        changed(car, front_tyre_pressure=row("front tyre pressure", "0", "3", "2", step="0.1", unit="bar"))
    assert "is 0, which would be 0 bar; " in refused.value.fields["front tyre pressure.lowest"]


def test_two_rows_for_one_thing_are_refused() -> None:
    gt = demo_car("gt")
    own = [one for one in rows_of(gt) if one.key != "rear differential power ramp"]
    lock = next(one for one in own if one.key == "rear differential power lock")
    own[own.index(lock)] = row(lock.key, "20", "80", "40", step="5", unit="%")
    with pytest.raises(FieldsError) as refused:
        settled(gt, [*own, row("rear differential power ramp", "30", "80", "60", step="5", unit=RAMP)])
    assert "Keep one of the two" in next(iter(refused.value.fields.values()))


@pytest.mark.parametrize(
    ("text", "unit", "number"),
    [
        ("45", "%", 45.0), ("45 %", "%", 45.0), ("about 45", "%", 45.0), ("~ 7 clicks", UNKNOWN, 7.0),
        ("−1,5", "deg", -1.5), ("29 psi", "bar", 29.0 * 6894.757293168361 / 1e5), ("2 in", "mm", 50.8),
    ],
)  # fmt: skip
def test_numbers_as_people_type_them(text: str, unit: str, number: float) -> None:
    assert_allclose(read_number(text, unit), number, rtol=1e-12)


def test_a_unit_of_something_else_is_refused() -> None:
    with pytest.raises(ValueError, match="does not measure the same as bar"):
        read_number("2 mm", "bar")


def test_set_ups_keep_their_meaning_on_another_scale(car: Car) -> None:
    before = changed(
        car,
        front_bump=row("front bump", "1", "11", "6"),
        rear_spring=row("rear spring", "50", "150", "100", step="5", unit="N/mm"),
        brake_bias=row("brake bias", "45", "65", "54", unit="%"),
    )
    setup = baseline_setup(before).model_copy(
        update={
            "values": baseline_setup(before).values
            | {"front bump": 11.0, "rear spring": 140.0, "brake bias": 65.0}
        }
    )
    own = {one.key: one for one in rows_of(before)}
    own |= {
        "front bump": row("front bump", "0", "20", "10"),
        "rear spring": row("rear spring", "60", "120", "100", step="10", unit="N/mm"),
        "brake bias": row("brake bias", "40", "60", "50", unit="%"),
    }
    after = settled(before, list(own.values())).car
    carried = carried_over(setup, before, after)
    assert carried.setup.values["front bump"] == 20.0  # hard up stays hard up
    assert carried.setup.values["brake bias"] == 60.0
    assert carried.setup.values["rear spring"] == 120.0  # a number in a unit: the nearest, and it is said
    assert carried.told == (f"{setup.name}: rear spring from 140 to 120 N/mm, for the scale ends there now.",)
    standing = carried_over(baseline_setup(before), before, after)
    assert standing.setup.values == baseline_setup(after).values
    assert standing.told == ()


def test_one_knob_made_two_and_back(car: Car) -> None:
    low, high = "front bump, low speed", "front bump, high speed"
    rows = {one.key: one for one in rows_of(car)}
    two = {**rows, low: row(low, "1", "9", "5"), high: row(high, "1", "9", "5")}
    one = {
        **rows,
        low: rows[low].model_copy(update={"have": False}),
        high: rows[high].model_copy(update={"have": False}),
        "front bump": row("front bump", "1", "21", "11"),
    }
    apart, together = (settled(car, list(some.values())).car for some in (two, one))
    setup = baseline_setup(apart).model_copy(
        update={"values": baseline_setup(apart).values | {low: 9.0, high: 7.0}}
    )
    joined = carried_over(setup, apart, together).setup
    # The mean of all the way and half the way up from 11 to 21 is 18.5, between two positions.
    assert joined.values["front bump"] in (18.0, 19.0)
    parted = carried_over(joined, together, apart).setup
    assert parted.values[low] == parted.values[high]


def test_a_scale_that_somebody_gave_a_map_keeps_it() -> None:
    gt = demo_car("gt")
    setting = next(one for one in settings_of(gt) if one.key == "front bar")
    own = row_of(gt, setting)
    assert own.unit == "as it is"
    rows = [one.model_copy(update={"now": "5"}) if one.key == "front bar" else one for one in rows_of(gt)]
    made = settled(gt, rows).car
    assert one_of(made, "front bar").map == one_of(gt, "front bar").map
    assert one_of(made, "front bar").baseline == 5.0
