"""Load transfer, roll and anti-features against worked examples.

Sources:

- Barton & Fieldhouse, Automotive Chassis Engineering, Springer, page 174 as seen online
  (fliphtml5.com/osspz/szqt): roll gradient, geometric and unsprung parts as printed. The split of the elastic
  part stands on a page that was not available; the page's front total 1919 N is a misprint for the sum of its
  parts, 1909 N.
- a worked example by hand, apart from this project's code, with the textbook's formulas (from memory:
  Gillespie, Fundamentals of Vehicle Dynamics, 1992, chapters 4 and 6; Milliken & Milliken, Race Car Vehicle
  Dynamics, SAE 1995, chapters 17 and 18). Printed to eight figures, with and without the moment of the body's
  leaning weight.

The textbook's tyres are rigid. The closed form takes tyres of 1e13 N/m, which leaves K / K_tyre below 1e-8;
the engine takes 1e9 N/m, as stiff as still lets its tyres be compressed by more than a settling step.
"""

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from numpy.typing import NDArray

from fourpatch.analysis.load_transfer import (
    LateralTransfer,
    lateral_transfer,
    lateral_transfer_on_rigid_tyres,
    longitudinal_transfer,
    roll_axis_arm,
    roll_gradient_on_rigid_tyres,
    settled_lateral_transfer,
)
from fourpatch.analysis.statics import corner_loads, weights
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.events.run import rig_instant, settle
from fourpatch.physics.layout import CORNER_BASE, N_CORNER, N_INPUT, C, I, O, P

Array = NDArray[np.float64]
CarWith = Callable[[Mapping[str, Any]], Car]

CLOSED_FORM_TYRE, ENGINE_TYRE = 1e13, 1e9
CLOSED_FORM_NEGLECT = 1e-8  # K / K_tyre of the axles below
ENGINE_NEGLECT = 2e-4  # twice K / K_tyre: it enters both roll and its split


def on_rigid_tyres(vector: Array, rate: float) -> Array:
    rigid = vector.copy()
    loads = corner_loads(vector)
    for corner in range(4):
        block = rigid[CORNER_BASE + corner * N_CORNER : CORNER_BASE + (corner + 1) * N_CORNER]
        block[C.tyre_rate] = rate
        block[C.tyre_static_deflection] = loads[corner] / rate
    return rigid


def axle_changes(
    end: str, *, track: float, wheel: float, height: float, roll_centre: float, roll_rate: float
) -> dict[str, Any]:
    return {
        f"{end}.track_width": track,
        f"{end}.unsprung_mass": wheel,
        f"{end}.unsprung_cg_height": height,
        f"{end}.geometry.roll_centre_height.value": roll_centre,
        f"{end}.spring.rate": 2.0 * roll_rate / track**2,
    }


@pytest.fixture(scope="module")
def book_car(car_with: CarWith) -> Array:
    """Page 174: sprung 1280 kg, 54 % in front, unsprung 140 / 180 kg, d = 0.365 m; wheelbase invented."""
    sprung, front, rear = 1280.0, 140.0, 180.0
    total = sprung + front + rear
    # d = h_s - (0.07 + 0.46 (0.32 - 0.07)) = 0.365 m
    sprung_height = 0.365 + 0.07 + 0.46 * 0.25
    car = car_with(
        {
            "chassis.mass": total,
            "chassis.front_weight_share": (0.54 * sprung + front) / total,
            "chassis.cg_height": (sprung * sprung_height + front * 0.28 + rear * 0.30) / total,
            **axle_changes(
                "front", track=1.46, wheel=70.0, height=0.28, roll_centre=0.07, roll_rate=0.6 * 28650.0
            ),
            **axle_changes(
                "rear", track=1.46, wheel=90.0, height=0.30, roll_centre=0.32, roll_rate=0.4 * 28650.0
            ),
        }
    )
    return pack(car)


def test_roll_gradient_of_the_book(book_car: Array) -> None:
    # Printed as 0.0194 rad/(m/s^2) and 10.9 deg/g: half a unit of the last figure.
    gradient = roll_gradient_on_rigid_tyres(book_car)
    assert_allclose(gradient, 0.0194, rtol=0.0, atol=5e-5)
    assert_allclose(np.degrees(gradient) * 9.81, 10.9, rtol=0.0, atol=5e-2)
    # To the six figures of the same inputs worked out by hand.
    assert_allclose(gradient, 0.0194127, rtol=0.0, atol=5e-8)
    settled = settled_lateral_transfer(on_rigid_tyres(book_car, ENGINE_TYRE), lateral_acceleration=0.6 * 9.81)
    assert_allclose(settled.roll_gradient, 0.0194127, rtol=ENGINE_NEGLECT)


@pytest.mark.parametrize("transfer", [lateral_transfer, settled_lateral_transfer])
def test_geometric_and_unsprung_parts_of_the_book(
    transfer: Callable[[Array], LateralTransfer], book_car: Array
) -> None:
    found, ay = transfer(book_car), 0.6 * 9.81
    # Printed to the newton.
    assert_allclose(ay * np.array(found.geometric), [195.0, 760.0], rtol=0.0, atol=0.5)
    assert_allclose(ay * np.array(found.unsprung), [158.0, 218.0], rtol=0.0, atol=0.5)
    # The same inputs by hand, to the last printed figure.
    assert_allclose(ay * np.array(found.geometric), [195.060, 759.600], rtol=0.0, atol=5e-4)
    assert_allclose(ay * np.array(found.unsprung), [158.035, 217.701], rtol=0.0, atol=5e-4)


def worked_example(car_with: CarWith, cg_height: float) -> Array:
    car = car_with(
        {
            "chassis.mass": 1200.0,
            "chassis.front_weight_share": 1.0 - 1.25 / 2.6,
            "chassis.cg_height": cg_height,
            "brakes.front_share": 0.62,
            "front.geometry.braking_support": {"value": 0.08},
            "front.geometry.driving_support": {"value": 0.04},  # not of the example; it drives the rear
            "rear.geometry.braking_support": {"value": 0.10},
            "rear.geometry.driving_support": {"value": 0.06},
            **axle_changes("front", track=1.52, wheel=27.5, height=0.30, roll_centre=0.05, roll_rate=52e3),
            **axle_changes("rear", track=1.50, wheel=32.5, height=0.30, roll_centre=0.12, roll_rate=38e3),
        }
    )
    vector = pack(car)
    vector[[P.finds_slips, P.lateral_load_sharing]] = 0.0  # the textbook's axle does not lift in a turn
    return vector


@pytest.fixture(scope="module")
def cornering_car(car_with: CarWith) -> Array:
    """Given by its sprung centre of gravity, 0.54 m high."""
    return worked_example(car_with, (1080.0 * 0.54 + 120.0 * 0.30) / 1200.0)


@pytest.fixture(scope="module")
def braking_car(car_with: CarWith) -> Array:
    """Given by the whole car's centre of gravity, 0.50 m high."""
    return worked_example(car_with, 0.50)


WITHOUT_LEANING = {
    "elastic": [1875.3655, 1388.7322],
    "geometric": [186.8674, 409.5385],
    "unsprung": [108.5526, 130.0000],
    "total": [2170.7855, 1928.2707],
    "roll_gradient": 0.05481838,
    "front_share": 0.529582,
    "moment": 6192.0000,
    "loads": [885.407, 5226.978, 901.537, 4758.078],
}
WITH_LEANING = {
    "elastic": [1981.9484, 1467.6582],
    "geometric": [186.8674, 409.5385],
    "unsprung": [108.5526, 130.0000],
    "total": [2277.3684, 2007.1967],
    "roll_gradient": 0.05793388,
    "front_share": 0.531528,
    "moment": 6472.3950,
    "loads": [778.824, 5333.561, 822.611, 4837.004],
}


@pytest.mark.parametrize("leaning", [False, True])
@pytest.mark.parametrize(
    ("transfer", "rate", "neglect"),
    [
        (lateral_transfer, CLOSED_FORM_TYRE, CLOSED_FORM_NEGLECT),
        (settled_lateral_transfer, ENGINE_TYRE, ENGINE_NEGLECT),
    ],
)
def test_lateral_transfer_by_hand(
    transfer: Callable[[Array], LateralTransfer],
    rate: float,
    neglect: float,
    leaning: bool,
    cornering_car: Array,
) -> None:
    expected = WITH_LEANING if leaning else WITHOUT_LEANING
    vector, ay = on_rigid_tyres(cornering_car, rate), 10.0
    if not leaning:
        vector[P.gravity_roll_moment] = 0.0
    found = transfer(vector)
    # Half a unit of the last printed figure, and what a tyre less than rigid gives.
    for part in ("elastic", "geometric", "unsprung", "total"):
        assert_allclose(ay * np.array(getattr(found, part)), expected[part], rtol=neglect, atol=5e-5)
    assert_allclose(ay * found.roll_gradient, expected["roll_gradient"], rtol=neglect, atol=5e-9)
    assert_allclose(found.front_share, expected["front_share"], rtol=neglect, atol=5e-7)
    moment = ay * (found.total.front * 1.52 + found.total.rear * 1.50)
    assert_allclose(moment, expected["moment"], rtol=neglect, atol=5e-4)
    sides = np.array([-1.0, 1.0, -1.0, 1.0])
    loads = corner_loads(vector) + ay * sides * np.repeat(found.total, 2)
    assert_allclose(loads, expected["loads"], rtol=0.0, atol=5e-4 + neglect * 2500.0)


def test_the_textbook_s_transfer_by_hand(cornering_car: Array) -> None:
    """Rigid tyres and no leaning weight, asked of the car as it is: tyres and weight stay in the car."""
    found, ay = lateral_transfer_on_rigid_tyres(cornering_car), 10.0
    for part in ("elastic", "geometric", "unsprung", "total"):
        # Half a unit of the last printed figure.
        assert_allclose(ay * np.array(getattr(found, part)), WITHOUT_LEANING[part], rtol=0.0, atol=5e-5)
    assert_allclose(ay * found.roll_gradient, WITHOUT_LEANING["roll_gradient"], rtol=0.0, atol=5e-9)
    assert_allclose(found.front_share, WITHOUT_LEANING["front_share"], rtol=0.0, atol=5e-7)


def test_arm_and_gradient_by_hand(cornering_car: Array) -> None:
    assert_allclose(roll_axis_arm(cornering_car), 0.456820, rtol=0.0, atol=5e-7)  # last printed figure
    assert_allclose(roll_gradient_on_rigid_tyres(cornering_car) * 10.0, 0.05793388, rtol=0.0, atol=5e-9)
    assert_allclose(
        np.degrees(roll_gradient_on_rigid_tyres(cornering_car)) * 9.81, 3.25630, rtol=0.0, atol=5e-6
    )


def test_braking_by_hand(braking_car: Array) -> None:
    weightless = braking_car.copy()  # wheels, as the usual formulas of anti-features have them
    for corner in range(4):
        weightless[CORNER_BASE + corner * N_CORNER + C.unsprung_mass] = 0.0
    found = longitudinal_transfer(weightless)
    # Half a unit of the last printed figure.
    assert_allclose(9.0 * found.transfer, 2076.9231, rtol=0.0, atol=5e-5)
    assert_allclose(100.0 * found.anti_dive, 25.792, rtol=0.0, atol=5e-4)
    assert_allclose(100.0 * found.anti_lift_braking, 19.760, rtol=0.0, atol=5e-4)
    assert_allclose(100.0 * found.anti_squat, 31.200, rtol=0.0, atol=5e-4)
    assert_allclose(weights(braking_car).axle_share.front * 1200.0 * 9.81, 6112.3846, rtol=0.0, atol=5e-5)


def braked(vector: Array, ax: float) -> Array:
    inputs = np.zeros(N_INPUT)
    inputs[I.longitudinal_acceleration] = ax
    state = settle(vector[None], inputs, name="braking")
    return np.asarray(rig_instant(vector[None], state, inputs).outputs[0, 0])


def test_braking_axle_loads_of_the_settled_engine(braking_car: Array) -> None:
    loads = braked(braking_car, -9.0)[O.tyre_load : O.tyre_load + 4]
    # Half a unit of the last printed figure.
    assert_allclose([loads[:2].sum(), loads[2:].sum()], [8189.3077, 3582.6923], rtol=0.0, atol=5e-5)


@pytest.mark.parametrize(
    ("ax", "front_drive", "front_name", "rear_name"),
    [
        (-9.0, 0.0, "anti_dive", "anti_lift_braking"),
        (4.0, 0.0, "anti_lift_driving", "anti_squat"),
        (4.0, 0.7, "anti_lift_driving", "anti_squat"),
    ],
    ids=["braking", "rear drive", "all-wheel drive"],
)
def test_links_of_the_settled_engine_carry_the_anti_shares(
    ax: float, front_drive: float, front_name: str, rear_name: str, braking_car: Array
) -> None:
    vector = braking_car.copy()
    vector[P.drive_front_share] = front_drive
    # The textbook's wheels have no inertia of spin, which brakes and links hold up too.
    vector[[CORNER_BASE + corner * N_CORNER + C.spin_inertia for corner in range(4)]] = 0.0
    found, outputs = longitudinal_transfer(vector), braked(vector, ax)
    links = outputs[O.jacking_force : O.jacking_force + 4]
    carried = np.array([links[:2].sum(), -links[2:].sum()]) / (found.transfer * -ax)
    # Rounding of the settled state.
    assert_allclose(carried, [getattr(found, front_name), getattr(found, rear_name)], rtol=1e-9, atol=1e-12)
