"""What the moving car is sent: the arrays as they were, thinned without losing a flight."""

from base64 import b64decode
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from fourpatch.app.parts.car_view import MOST_INSTANTS, CarRun, car_shape, car_view_payload
from fourpatch.car.demo import demo_car
from fourpatch.car.tyre_size import tyre_size
from fourpatch.events.phase import Phase


def _run(instants, label="A"):
    draw = np.random.default_rng(5)
    return CarRun(
        label=label,
        loads=draw.uniform(500.0, 6000.0, (instants, 4)),
        travel=draw.normal(0.0, 0.02, (instants, 4)),
        heave=draw.normal(0.0, 0.01, instants),
        pitch=draw.normal(0.0, 0.01, instants),
        roll=draw.normal(0.0, 0.02, instants),
        longitudinal_acceleration=draw.normal(0.0, 5.0, instants),
        lateral_acceleration=draw.normal(0.0, 8.0, instants),
        speed=draw.uniform(10.0, 50.0, instants),
        steer=draw.normal(0.0, 0.05, (instants, 2)),
        road=draw.normal(0.0, 0.005, (instants, 4)),
    )


def _decoded(text, columns=1):
    values = np.frombuffer(b64decode(text), dtype="<f4")
    return values.reshape(-1, columns) if columns > 1 else values


@pytest.fixture(scope="module")
def shape():
    return car_shape(demo_car("hatchback"), body="closed")


def test_a_short_run_arrives_as_it_was(shape):
    run, time = _run(300), np.arange(300) * 1e-3
    sent = car_view_payload(shape, time, [run], [Phase("kerb", 0.0, 0.3)])
    (arrived,) = sent["runs"]
    # Rounding to float32: half a unit of its 24th binary digit.
    assert_allclose(_decoded(sent["time"]), time, rtol=2.0**-24)
    assert_allclose(_decoded(arrived["loads"], 4), run.loads, rtol=2.0**-24)
    assert_allclose(_decoded(arrived["steer"], 2), run.steer, rtol=2.0**-24)
    assert_allclose(_decoded(arrived["ax"]), run.longitudinal_acceleration, rtol=2.0**-24)
    assert_allclose(_decoded(arrived["ay"]), run.lateral_acceleration, rtol=2.0**-24)
    assert sent["phases"] == [{"name": "kerb", "start": 0.0, "end": 0.3}]


def test_what_an_event_has_not_is_not_sent(shape):
    run = replace(_run(10), steer=None, road=None)
    (arrived,) = car_view_payload(shape, np.arange(10) * 0.1, [run])["runs"]
    assert not {"steer", "road"} & arrived.keys()


def test_two_runs_keep_their_labels_and_order(shape):
    sent = car_view_payload(shape, np.arange(10) * 0.1, [_run(10, "A"), _run(10, "B")])
    assert [run["label"] for run in sent["runs"]] == ["A", "B"]


@pytest.mark.parametrize("instants", [1, 2, MOST_INSTANTS, MOST_INSTANTS + 1, 7777, 20001])
def test_a_long_run_is_thinned_from_end_to_end(shape, instants):
    run, time = _run(instants), np.arange(instants) * 1e-3
    sent = car_view_payload(shape, time, [run])
    kept = _decoded(sent["time"])
    assert kept.size <= MOST_INSTANTS
    assert kept.size == instants or kept.size > MOST_INSTANTS / 2
    # Rounding to float32.
    assert_allclose(kept[[0, -1]], time[[0, -1]], rtol=2.0**-24)
    assert _decoded(sent["runs"][0]["loads"], 4).shape == (kept.size, 4)
    assert (np.diff(kept) > 0.0).all()


@pytest.mark.parametrize("at", [0, 1, 9998, 4321])
def test_a_flight_of_one_instant_is_not_lost_by_thinning(shape, at):
    run = _run(9999)
    run.loads[at, 2] = 0.0
    sent = car_view_payload(shape, np.arange(9999) * 1e-3, [run])
    off = _decoded(sent["runs"][0]["off"], 4)
    assert off.sum(axis=0).tolist() == [0.0, 0.0, 1.0, 0.0]
    flown = _decoded(sent["time"])[off[:, 2] > 0.0]
    # Sent instants are at most ceil(9998 / 1999) = 6 steps apart.
    assert_allclose(flown, at * 1e-3, atol=5.5e-3)


def test_given_flights_go_before_those_read_from_the_loads(shape):
    run = _run(4)
    run.loads[1] = 0.0
    off = np.zeros((4, 4))
    off[2, 3] = 1.0
    (arrived,) = car_view_payload(shape, np.arange(4) * 0.1, [replace(run, off=off)])["runs"]
    assert_array_equal(_decoded(arrived["off"], 4), off)


@pytest.mark.parametrize("count", [0, 3])
def test_other_than_one_or_two_runs_are_refused(shape, count):
    with pytest.raises(ValueError, match=f"^{count} runs"):
        car_view_payload(shape, np.arange(5.0), [_run(5)] * count)


def test_an_array_of_another_shape_is_refused_by_name(shape):
    with pytest.raises(ValueError, match=r"^travel has the shape \(5, 2\), not \(5, 4\)"):
        car_view_payload(shape, np.arange(5.0), [replace(_run(5), travel=np.zeros((5, 2)))])


def test_the_shape_is_that_of_the_car(car_with):
    car = car_with({"chassis.front_weight_share": 0.6, "front.tyre.vertical_rate": 200e3})
    shape = car_shape(car, body="open-wheel")
    # 60 % of 1200 kg on two tyres of 200 N/mm, at the gravity of the model. Rounding.
    assert_allclose(shape.tyre_deflection_front, 0.6 * 1200.0 * 9.81 / 2.0 / 200e3, rtol=1e-12)
    assert_allclose(shape.tyre_deflection_rear, 0.4 * 1200.0 * 9.81 / 2.0 / 250e3, rtol=1e-12)
    assert shape.wheelbase == car.chassis.wheelbase
    assert shape.body == "open-wheel"


def test_tyres_are_drawn_about_as_wide_as_they_are():
    # Sizes as noted in the demo car's file. The drawing wants no better than a third.
    shape = car_shape(demo_car("coupe"), body="closed")
    assert_allclose(shape.tyre_width_front, tyre_size("265/35R19").section_width, rtol=0.33)
    assert_allclose(shape.tyre_width_rear, tyre_size("285/35R19").section_width, rtol=0.33)
