"""A car from a brief: whole, fit to be packed, and open about every estimate."""

from math import degrees, pi, sqrt
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from pydantic import ValidationError

from fourpatch.analysis.statics import statics
from fourpatch.car.car import Car
from fourpatch.car.checks import car_faults, oddities
from fourpatch.car.estimate import CarBrief, estimate_car
from fourpatch.car.estimation.guesses import guesses
from fourpatch.car.files import load_car, save_car
from fourpatch.car.gravity import GRAVITY
from fourpatch.car.pack import pack
from fourpatch.car.parameters import TwoSlopeDamper
from fourpatch.car.paths import parameter, parameters
from fourpatch.car.provenance import alike, origin, provenance_faults, spread
from fourpatch.car.setup import Setup, apply_setup, baseline_setup
from fourpatch.errors import FieldsError

ENDS = ("front", "rear")

EXAMPLE: dict[str, Any] = {
    "name": "Invented hatchback",
    "mass": 1150.0,
    "front_weight_share": 0.62,
    "wheelbase": 2.55,
    "driven": "front",
    "power": 130e3,
    "front_tyre": "205/50R16",
    "rear_tyre": "205/50R16",
    "grip": "semi-slick",
    "body": "hatchback",
}
SALOON = {
    **EXAMPLE,
    "mass": 1500.0,
    "front_weight_share": 0.53,
    "driven": "rear",
    "grip": "road",
    "body": "saloon",
}
SPORTS = {
    **EXAMPLE,
    "mass": 1320.0,
    "front_weight_share": 0.43,
    "driven": "rear",
    "power": 400e3,
    "front_tyre": "300/680R18",
    "rear_tyre": "325/705R18",
    "grip": "slick",
    "body": "sports",
    "downforce": "moderate",
}
SINGLE = {
    **EXAMPLE,
    "mass": 720.0,
    "front_weight_share": 0.455,
    "wheelbase": 2.95,
    "driven": "rear",
    "power": 400e3,
    "front_tyre": "250/575R13",
    "rear_tyre": "300/590R13",
    "grip": "slick",
    "body": "single-seater",
    "downforce": "high",
}


def car_of(values: dict[str, Any]) -> Car:
    return estimate_car(CarBrief.model_validate(values))


@pytest.fixture(params=[EXAMPLE, SALOON, SPORTS, SINGLE], ids=lambda values: str(values["body"]))
def car(request: pytest.FixtureRequest) -> Car:
    return car_of(request.param)


def test_the_brief_is_kept():
    chassis = car_of(EXAMPLE).chassis
    assert (chassis.mass, chassis.front_weight_share, chassis.wheelbase) == (1150.0, 0.62, 2.55)


def test_estimated_cars_can_exist_and_nothing_about_them_is_odd(car: Car):
    assert car_faults(car) == []
    assert oddities(car) == []
    assert np.all(np.isfinite(pack(car)))


def test_every_number_says_how_it_was_made_and_how_surely(car: Car):
    known = {"chassis.mass", "chassis.front_weight_share", "chassis.wheelbase", "driveline.front_drive_share"}
    for one in parameters(car):
        found = origin(car, one.path)
        if one.path in known:
            assert found.source == "given", one.path
            continue
        assert found.source == "estimated", one.path
        assert len(found.method) > 3, one.path
        spread(car, one.path)  # can be read in the unit of the parameter
        defined = "reference" in one.path or one.path.endswith(("stop.motion_ratio", "road_friction"))
        if one.value != 0.0 and not defined and "heave" not in one.path:
            assert spread(car, one.path) > 0.0, one.path


def test_no_entry_of_provenance_is_left_without_a_parameter(car: Car):
    paths = [one.path for one in parameters(car)]
    for name in car.provenance:
        assert any(path == name or path.startswith(f"{name}.") for path in paths), name


def test_a_method_names_a_source_or_says_that_there_is_none(car: Car):
    """Every estimate other than of something absent carries one of these marks."""
    marks = (
        "common practice",
        "from memory",
        "open vehicle data sets",
        "published tyre sets",
        "Rhyne",
        "Kasprzak",
        "derived",
        "slope of the same formula",
        "design ride height",
        "loaded radius",
        "perfect gas",
        "practical limit",
        "a stated",
        "position the estimate holds for",
    )
    absent = ("no ", "taken ", "cross weight", "driver's side")
    for name, one in car.provenance.items():
        if one.source == "estimated" and not one.method.startswith(absent):
            assert any(mark in one.method for mark in marks), (name, one.method)


def test_an_estimated_car_survives_its_file(car: Car, tmp_path):
    save_car(car, tmp_path / "car.toml")
    assert load_car(tmp_path / "car.toml") == car


def test_every_default_adjuster_reaches_both_ends(car: Car):
    assert 24 <= len(car.adjusters) <= 32
    base = baseline_setup(car)
    for one in car.adjusters:
        assert (one.map.kind == "unknown") == (one.system == "dampers"), one.name
        for end in (one.lowest, one.highest):
            setup = Setup(name="end", car=car.name, values={**base.values, one.name: end})
            assert np.all(np.isfinite(pack(apply_setup(car, setup)))), one.name


def test_the_tyre_size_decides_radius():
    """Free radius of 205/50R16: (16 in + 2 x 0.5 x 205 mm) / 2 = 305.7 mm; rolling 3.05/pi of it."""
    assert_allclose(car_of(EXAMPLE).front.tyre.radius, 0.3057 * 3.05 / pi, atol=5e-5)  # rounded to 0.1 mm


def test_springs_give_the_ride_frequency_of_the_class(car: Car):
    """Class and downforce say 1.8 (hatchback), 1.35, 2.5 and 3.8 Hz in front; springs are whole N/mm."""
    wanted = {"hatchback": 1.8, "saloon": 1.35, "sports": 2.5, "single-seater": 3.8}
    front = car.front
    rate = front.spring.rate * front.geometry.spring_motion_ratio.value**2
    mass = 0.5 * car.chassis.mass * car.chassis.front_weight_share - front.unsprung_mass
    total = rate * front.tyre.vertical_rate / (rate + front.tyre.vertical_rate)
    body = next(b for b in wanted if b in car.provenance["front.track_width"].method)
    # Half a N/mm of the spring moves the frequency by half its relative size.
    tolerance = 0.25e3 / front.spring.rate
    assert_allclose(sqrt(total / mass) / (2.0 * pi), wanted[body], rtol=1.1 * tolerance)


def test_dampers_give_the_damping_ratio_of_the_class():
    """Semi-slick: mean ratio 0.6, rebound 1.5 times bump, at the wheel rate before rounding to N/mm."""
    axle = car_of(EXAMPLE).front
    assert isinstance(axle.damper, TwoSlopeDamper)
    low = np.array([axle.damper.bump.low_speed, axle.damper.rebound.low_speed])
    rate = axle.spring.rate * axle.geometry.spring_motion_ratio.value**2
    mass = 0.5 * 1150.0 * 0.62 - axle.unsprung_mass
    ratio = low.mean() * axle.geometry.damper_motion_ratio.value**2 / (2.0 * sqrt(rate * mass))
    assert_allclose(ratio, 0.6, rtol=0.25e3 / axle.spring.rate + 5.0 / low.mean())  # both roundings
    assert_allclose(low[1] / low[0], 1.5, rtol=10.0 / low[0])  # rounded to 10 N s/m


def roll_and_share(car: Car) -> tuple[float, float]:
    """Roll gradient [deg/g] and front share of load transfer by moments about the roll axis, without fuel."""
    stiffness, fixed, sprung_moment = [], [], car.chassis.mass * car.chassis.cg_height
    for end, share in zip(
        ENDS, (car.chassis.front_weight_share, 1.0 - car.chassis.front_weight_share), strict=True
    ):
        axle = getattr(car, end)
        wheel = axle.spring.rate * axle.geometry.spring_motion_ratio.value**2
        bar = axle.bar.rate * axle.bar.motion_ratio**2
        rate = wheel + 2.0 * bar  # of one wheel in roll
        both = rate * axle.tyre.vertical_rate / (rate + axle.tyre.vertical_rate)
        stiffness.append(0.5 * both * axle.track_width**2)
        sprung = car.chassis.mass * share - 2.0 * axle.unsprung_mass
        held = sprung * axle.geometry.roll_centre_height.value
        wheels = 2.0 * axle.unsprung_mass * axle.unsprung_cg_height
        fixed.append((held + wheels) / axle.track_width)
        sprung_moment -= held + wheels
    gradient = sprung_moment / (sum(stiffness) - GRAVITY * sprung_moment)
    transfer = [
        k * gradient / getattr(car, end).track_width + a
        for end, k, a in zip(ENDS, stiffness, fixed, strict=True)
    ]
    return degrees(gradient * GRAVITY), transfer[0] / sum(transfer)


def test_bars_give_roll_gradient_and_share_of_load_transfer(car: Car):
    """Share: the weight's + 3 points, front drive - 4. Gradient: 2.6, 6.5, 1.0 and 0.3 deg/g at most.

    Bars are whole N/mm: half of one is 0.6 kN m/rad, of 130 and more in all; with both, 0.004 of the share.
    Springs alone may be stiffer than the gradient asks; where both bars are there it is met, as surely.
    """
    gradient, share = roll_and_share(car)
    front_driven = car.driveline.front_drive_share == 1.0
    assert_allclose(share, car.chassis.front_weight_share + (-0.04 if front_driven else 0.03), atol=0.004)
    body = car.provenance["front.track_width"].method
    most = next(
        v for k, v in {"hatch": 2.6, "saloon": 6.5, "sports": 1.0, "single": 0.3}.items() if k in body
    )
    assert gradient < 1.03 * most
    if car.front.bar.rate > 0.0 and car.rear.bar.rate > 0.0:
        assert_allclose(gradient, most, rtol=0.03)


def test_downforce_does_not_press_a_car_onto_the_road():
    """At top speed 12 mm are left, by the linear sinking of each axle on its own springs and tyres."""
    car = car_of(SINGLE)
    speed = (
        float(car.provenance["driveline.gear_ratios"].method.split("top speed ")[1].split(" km/h")[0]) / 3.6
    )
    for end in ENDS:
        axle, surface = getattr(car, end), getattr(car.aero.map, f"{end}_downforce")
        rate = axle.spring.rate * axle.geometry.spring_motion_ratio.value**2
        ride = 2.0 * rate * axle.tyre.vertical_rate / (rate + axle.tyre.vertical_rate)
        pressure = 0.5 * car.aero.air_density * speed**2
        slope = surface.f if end == "front" else surface.r
        sinking = pressure * surface.constant / (ride + pressure * slope)
        # Ride heights and springs are rounded: to 1 mm, and by 1 % of the rate.
        assert axle.ride_height - sinking > 0.012 - 0.002


def test_given_downforce_areas_are_kept_and_marked():
    car = car_of({**SPORTS, "front_downforce_area": 0.7, "rear_downforce_area": 1.0})
    assert car.aero.map.front_downforce.constant == 0.7
    assert car.provenance["aero.map.rear_downforce.constant"].source == "given"


def test_top_gear_reaches_the_top_speed_given():
    car = car_of({**EXAMPLE, "top_speed": 60.0})
    peak = 6200.0 * pi / 30.0  # engine speed of peak power of a hatchback
    speed = peak * car.front.tyre.radius / (car.driveline.gear_ratios[-1] * car.driveline.final_drive)
    assert_allclose(speed, 60.0, rtol=1e-3)  # ratios have three digits after the point, radius four


def test_peak_power_is_the_power_given():
    line = car_of(EXAMPLE).driveline
    power = np.array(line.engine_speed) * np.array(line.engine_torque)
    assert_allclose(power.max(), 130e3, rtol=1e-3)  # speeds and torques have one digit after the point


def test_one_downforce_area_alone_is_refused():
    with pytest.raises(
        ValidationError, match="front_downforce_area and rear_downforce_area together, or neither"
    ):
        CarBrief.model_validate({**EXAMPLE, "front_downforce_area": 0.5})


def test_a_wrong_tyre_size_is_refused():
    with pytest.raises(ValidationError, match='"205-50-16" is not a tyre size known here'):
        CarBrief.model_validate({**EXAMPLE, "front_tyre": "205-50-16"})


SIZES = ("155/70R13", "205/55R16", "285/30R19", "200/530R13", "330/710R18", "24/57-13")


@settings(max_examples=60, deadline=None)
@given(
    mass=st.floats(450.0, 2400.0),
    share=st.floats(0.36, 0.66),
    wheelbase=st.floats(2.1, 3.2),
    driven=st.sampled_from(["front", "rear", "all"]),
    power=st.floats(4e4, 8e5),
    front=st.sampled_from(SIZES),
    rear=st.sampled_from(SIZES),
    grip=st.sampled_from(["road", "sport-road", "semi-slick", "slick"]),
    body=st.sampled_from(["hatchback", "saloon", "sports", "single-seater"]),
    downforce=st.sampled_from(["none", "low", "moderate", "high"]),
)
def test_any_plausible_brief_gives_a_car_that_can_exist(
    mass, share, wheelbase, driven, power, front, rear, grip, body, downforce
):
    car = car_of(
        {
            "name": "any",
            "mass": mass,
            "front_weight_share": share,
            "wheelbase": wheelbase,
            "driven": driven,
            "power": power,
            "front_tyre": front,
            "rear_tyre": rear,
            "grip": grip,
            "body": body,
            "downforce": downforce,
        }
    )
    assert car_faults(car) == []
    assert np.all(np.isfinite(pack(car)))
    assert parameter(car, "chassis.mass").value == mass


WIDTHS, SERIES, RIMS = (105, 135, 185, 245, 305, 355), (25, 35, 50, 65, 80), (8, 10, 13, 16, 20, 23)
ANY_SIZE = st.builds(
    "{}/{}R{}".format, st.sampled_from(WIDTHS), st.sampled_from(SERIES), st.sampled_from(RIMS)
)


def ends_too(low: float, high: float) -> st.SearchStrategy[float]:
    """Draw from a range, often its ends."""
    return st.floats(low, high) | st.sampled_from([low, high])


@settings(max_examples=150, deadline=None)
@given(
    values=st.fixed_dictionaries(
        {
            "name": st.just("any"),
            "mass": ends_too(250.0, 4000.0),
            "front_weight_share": ends_too(0.3, 0.7),
            "wheelbase": ends_too(1.5, 4.0),
            "driven": st.sampled_from(["front", "rear", "all"]),
            "power": ends_too(2e4, 1.5e6),
            "front_tyre": ANY_SIZE,
            "rear_tyre": ANY_SIZE,
            "grip": st.sampled_from(["road", "sport-road", "semi-slick", "slick"]),
            "body": st.sampled_from(["hatchback", "saloon", "sports", "single-seater"]),
        },
        optional={
            "downforce": st.sampled_from(["none", "low", "moderate", "high"]),
            "top_speed": ends_too(25.0, 130.0),
        },
    ),
    areas=st.none() | st.tuples(ends_too(-2.0, 20.0), ends_too(-2.0, 20.0)),
)
def test_any_brief_that_is_taken_gives_a_car_that_can_exist_or_a_refusal_in_words(values, areas):
    if areas:
        values |= {"front_downforce_area": areas[0], "rear_downforce_area": areas[1]}
    try:
        brief = CarBrief.model_validate(values)
    except ValidationError:
        return
    refusal, car = "", None
    try:
        car = estimate_car(brief)
    except FieldsError as error:
        refusal = str(error)
    if car is None:
        assert "No car can be made of these numbers together" in refusal
        assert "validation error" not in refusal
        return
    assert car_faults(car) == []
    found = statics(car)
    numbers = [*found.ride.ride_frequency, *found.low_speed_damping.mean_ratio, *found.roll.suspension]
    assert np.all(np.isfinite(numbers))


UNSURE = ("front_weight_share", "power", "front_tyre", "rear_tyre")


def wider(sure: Car, unsure: Car, path: str) -> bool:
    return spread(unsure, path) > 1.05 * spread(sure, path)


@pytest.mark.parametrize("words", [None, "?", "I don't know"])
@pytest.mark.parametrize("values", [EXAMPLE, SALOON, SPORTS, SINGLE], ids=lambda one: str(one["body"]))
def test_what_nobody_knows_is_guessed_widens_what_follows_and_is_said(
    values: dict[str, Any], words: str | None
) -> None:
    rest = {key: value for key, value in values.items() if key not in UNSURE}
    unsure = car_of(rest | ({} if words is None else dict.fromkeys(UNSURE, words)))
    assert car_faults(unsure) == []
    assert provenance_faults(unsure) == []
    assert np.all(np.isfinite(pack(unsure)))
    for said in ("front weight share", "power", "front tyre", "rear tyre"):
        assert said in unsure.note
    assert origin(unsure, "chassis.front_weight_share").source == "estimated"
    guessed = {one.field: one.value for one in guesses(CarBrief.model_validate(rest))}
    sure = car_of(rest | guessed)  # the same car, known
    for one in parameters(unsure):
        assert one.value == parameter(sure, one.path).value, one.path
        assert spread(unsure, one.path) >= 0.999 * spread(sure, one.path), one.path
    follows = (
        "driveline.engine_torque.4",  # of power
        "driveline.gear_ratios.1",  # of power and radius
        "front.tyre.radius",  # of the size
        "rear.unsprung_cg_height",
    )
    assert [path for path in follows if not wider(sure, unsure, path)] == []
    assert not wider(sure, unsure, "steering.ratio")  # of the kind of car alone


def test_one_tyre_size_stands_for_both_where_cars_have_four_alike() -> None:
    known = {key: value for key, value in EXAMPLE.items() if key != "rear_tyre"}
    car = car_of(known)
    assert car.rear.tyre.radius == car_of(EXAMPLE).rear.tyre.radius
    # What a guessed size adds to one axle alone leaves the two less alike: r s / hypot(s, m).
    own, other = spread(car, "front.tyre.radius"), spread(car, "rear.tyre.radius")
    assert other > own
    assert_allclose(alike(car, "rear.tyre.radius"), 0.8 * own / other, rtol=5e-3)  # of three digits
    assert alike(car, "front.tyre.radius") == alike(car, "rear.tyre.radius")
