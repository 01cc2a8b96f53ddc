"""What tests share: hypothesis settings and a few invented cars."""

import copy
import os
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, settings
from numpy.typing import NDArray

from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.physics.layout import P
from fourpatch.picture.chosen_units import choose

# Kernels compile in the first example, so no example has a deadline. HYPOTHESIS_PROFILE=thorough tries more.
settings.register_profile(
    "quick", deadline=None, max_examples=20, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
settings.register_profile("thorough", settings.get_profile("quick"), max_examples=500)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "quick"))

CarWith = Callable[[Mapping[str, Any]], Car]


@pytest.fixture(scope="session", autouse=True)
def usual_units() -> None:
    """Let answers be in the usual units, whatever whoever runs the tests has chosen."""
    choose({})


@pytest.fixture(scope="session", autouse=True)
def usual_width() -> Iterator[None]:
    """Let answers be as wide as piped ones, whatever the terminal of whoever runs the tests."""
    with pytest.MonkeyPatch.context() as patch:
        patch.delenv("COLUMNS", raising=False)
        yield


def _straight_damper(slope: float) -> dict[str, Any]:
    side = {"low_speed": slope, "knee_speed": 1.0, "high_speed": slope}
    return {"kind": "two-slope", "bump": side, "rebound": side}


def _plain_axle() -> dict[str, Any]:
    return {
        "track_width": 1.5,
        "unsprung_mass": 30.0,
        "unsprung_cg_height": 0.3,
        "wheel_spin_inertia": 1.0,
        "design_ride_height": 0.1,
        "ride_height": 0.1,
        "camber": 0.0,
        "toe": 0.0,
        "geometry": {
            "spring_motion_ratio": {"value": 1.0},
            "damper_motion_ratio": {"value": 1.0},
            "roll_centre_height": {"value": 0.0},
        },
        "spring": {"rate": 50e3},
        "damper": _straight_damper(3000.0),
        "bump_stop": {"gap": 0.5, "rate": 50e3},
        "droop_stop": {"gap": 0.5, "rate": 50e3},
        "tyre": {
            "grip": {
                "kind": "compact",
                "nominal_load": 3000.0,
                "peak_friction": 1.4,
                "load_sensitivity": 0.1,
                "peak_slip_angle": 0.12,
                "cornering_stiffness": 22.0,
            },
            "radius": 0.3,
            "vertical_rate": 250e3,
            "vertical_damping": 0.0,
            "pressure": 2e5,
            "reference_pressure": 2e5,
            "best_pressure": 2e5,
        },
    }


def _plain_car() -> dict[str, Any]:
    flat = {"constant": 0.0}
    return {
        "name": "plain car, invented",
        "chassis": {
            "mass": 1200.0,
            "front_weight_share": 0.5,
            "cg_height": 0.5,
            "wheelbase": 2.6,
            "roll_inertia": 400.0,
            "pitch_inertia": 1500.0,
            "yaw_inertia": 1800.0,
        },
        "front": _plain_axle(),
        "rear": _plain_axle(),
        "steering": {"ratio": 12.0},
        "brakes": {"full_pedal_torque": 6000.0, "front_share": 0.6},
        "driveline": {
            "front_drive_share": 0.0,
            "engine_speed": [100.0, 700.0],
            "engine_torque": [300.0, 300.0],
            "overrun_torque": 50.0,
            "gear_ratios": [3.0, 2.0, 1.4, 1.0],
            "final_drive": 3.5,
        },
        "aero": {
            "drag_height": 0.5,
            "map": {
                "reference_front_height": 0.1,
                "reference_rear_height": 0.1,
                "lowest_front_height": 0.02,
                "highest_front_height": 0.3,
                "lowest_rear_height": 0.02,
                "highest_rear_height": 0.3,
                "front_downforce": flat,
                "rear_downforce": flat,
                "drag": flat,
            },
        },
    }


def _changed(changes: Mapping[str, Any]) -> Car:
    data = _plain_car()
    for path, value in changes.items():
        *above, last = path.split(".")
        table = data
        for name in above:
            table = table.setdefault(name, {})
        table[last] = copy.deepcopy(value)
    return Car.model_validate(data)


@pytest.fixture(scope="session")
def car_with() -> CarWith:
    """Make the plain car with parameters changed by their dotted names, SI.

    The plain car is linear: no aero, no supports, roll centres on the road, motion ratios of 1, straight
    dampers alike in bump and rebound, stops out of reach, undamped tyres.
    """
    return _changed


@pytest.fixture(scope="session")
def straight_damper() -> Callable[[float], dict[str, Any]]:
    """Make a damper of one slope, [N s/m]."""
    return _straight_damper


@pytest.fixture(scope="session")
def full_car() -> Car:
    """A car in which every part does something: curves of travel, supports, aero, heave spring."""
    return _changed(
        {
            "name": "full car, invented",
            "chassis.mass": 1250.0,
            "chassis.front_weight_share": 0.53,
            "chassis.cg_height": 0.46,
            "fuel": {"mass": 40.0, "distance_behind_front_axle": 2.0, "height": 0.35},
            "front.track_width": 1.58,
            "front.unsprung_mass": 36.0,
            "front.ride_height": 0.09,
            "front.camber": -0.04,
            "front.geometry": {
                "spring_motion_ratio": {"value": 0.92, "slope": 0.5, "curvature": 1.0},
                "damper_motion_ratio": {"value": 0.95, "slope": 0.3},
                "roll_centre_height": {"value": 0.04, "slope": -1.2},
                "camber_change": {"slope": -0.4},
                "braking_support": {"value": 0.06},
            },
            "front.spring": {"rate": 95e3},
            "front.bar": {"rate": 26e3, "motion_ratio": 0.8},
            "front.damper": {
                "kind": "two-slope",
                "bump": {"low_speed": 3000.0, "knee_speed": 0.08, "high_speed": 1300.0},
                "rebound": {"low_speed": 5500.0, "knee_speed": 0.08, "high_speed": 2600.0},
                "friction": 40.0,
            },
            "front.bump_stop": {"gap": 0.04, "rate": 60e3, "progression": 2e6},
            "front.droop_stop": {"gap": 0.06, "rate": 300e3},
            "front.heave": {
                "rate": 30e3,
                "preload": 400.0,
                "motion_ratio": 0.9,
                "bump": 300.0,
                "rebound": 500.0,
            },
            "front.tyre.vertical_damping": 100.0,
            "front.tyre.pressure": 1.9e5,
            "rear.track_width": 1.55,
            "rear.unsprung_mass": 35.0,
            "rear.ride_height": 0.105,
            "rear.camber": -0.03,
            "rear.geometry": {
                "spring_motion_ratio": {"value": 0.88, "slope": 0.2},
                "damper_motion_ratio": {"value": 0.9},
                "roll_centre_height": {"value": 0.08, "slope": -0.9},
                "braking_support": {"value": 0.05},
                "driving_support": {"value": 0.1},
            },
            "rear.spring": {"rate": 80e3},
            "rear.bar": {"rate": 12e3, "motion_ratio": 0.7},
            "rear.damper": {
                "kind": "measured",
                "speed": [0.025, 0.05, 0.1, 0.2, 0.4],
                "bump_force": [70.0, 135.0, 230.0, 360.0, 610.0],
                "rebound_force": [130.0, 250.0, 430.0, 680.0, 1150.0],
            },
            "rear.bump_stop": {"gap": 0.05, "rate": 50e3},
            "rear.droop_stop": {"gap": 0.07, "rate": 300e3},
            "rear.tyre.vertical_damping": 100.0,
            "aero.map.front_downforce": {"constant": 0.8, "f": -6.0, "r": 2.0, "ff": 30.0},
            "aero.map.rear_downforce": {"constant": 1.3, "r": 3.0, "fr": 10.0},
            "aero.map.drag": {"constant": 0.9, "r": 1.0},
        }
    )


RIG7_AXLES = {
    "front": {
        "wheel": 27.5,
        "track": 1.52,
        "roll_centre": 0.05,
        "rate": 45e3,
        "bar": 25e3,
        "damper": (2500.0, 3750.0),
    },
    "rear": {
        "wheel": 32.5,
        "track": 1.50,
        "roll_centre": 0.10,
        "rate": 40e3,
        "bar": 10e3,
        "damper": (2200.0, 3300.0),
    },
}


@pytest.fixture(scope="session")
def rig7_car() -> Car:
    """The seven-mass rig of the project's reference values, section 11.1: see `rig7_vector` for what it
    leaves out.

    Source: computed apart from this project's code; parameters in tests/data/rig7_damper_changes.json.
    """
    sprung, behind, height, wheelbase = 1080.0, 1.2324, 0.54, 2.6
    unsprung = {end: 2.0 * given["wheel"] for end, given in RIG7_AXLES.items()}
    total = sprung + sum(unsprung.values())
    changes: dict[str, Any] = {
        "name": "rig of seven masses",
        "chassis.mass": total,
        "chassis.front_weight_share": 1.0
        - (sprung * behind + unsprung["rear"] * wheelbase) / total / wheelbase,
        "chassis.cg_height": (sprung * height + 0.3 * sum(unsprung.values())) / total,
        "chassis.wheelbase": wheelbase,
        "chassis.roll_inertia": 380.0,
        "chassis.pitch_inertia": 1500.0,
    }
    for end, given in RIG7_AXLES.items():
        bump, rebound = given["damper"]
        changes |= {
            f"{end}.unsprung_mass": given["wheel"],
            f"{end}.track_width": given["track"],
            f"{end}.geometry.roll_centre_height.value": given["roll_centre"],
            f"{end}.spring.rate": given["rate"],
            f"{end}.bar.rate": given["bar"] / given["track"] ** 2,
            f"{end}.damper.bump": {"low_speed": bump, "knee_speed": 1.0, "high_speed": bump},
            f"{end}.damper.rebound": {"low_speed": rebound, "knee_speed": 1.0, "high_speed": rebound},
            f"{end}.tyre.vertical_rate": 230e3,
        }
    return _changed(changes)


@pytest.fixture(scope="session")
def rig7_vector() -> Callable[[Car], NDArray[np.float64]]:
    """Pack a car and leave out what the rig of seven masses leaves out.

    No moment of the body's leaning weight, none of the unsprung masses when braking, and the two tyres of
    an axle share lateral force equally.
    """

    def packed(car: Car) -> NDArray[np.float64]:
        vector = pack(car)
        vector[[P.gravity_roll_moment, P.unsprung_moment, P.finds_slips, P.lateral_load_sharing]] = 0.0
        return vector

    return packed


OVAL = """name = "oval, invented"
note = "600 m, two turns of 45 m, one kerb that lies on the road"

[centre_line]
kind = "sections"
closed = true
sections = [
    { kind = "straight", length = "70 m" },
    { kind = "clothoid", length = "15 m" },
    { kind = "arc", radius = "45 m", angle = "160.9 deg", direction = "left" },
    { kind = "clothoid", length = "15 m" },
    { kind = "straight", length = "140 m" },
    { kind = "clothoid", length = "15 m" },
    { kind = "arc", radius = "45 m", angle = "160.9 deg", direction = "left" },
    { kind = "clothoid", length = "15 m" },
    { kind = "straight", length = "70 m" },
]

[road]
width = [{ distance = "0 m", left = "5 m", right = "5 m" }]
surface = [{ kind = "road-class", start = "0 m", road_class = "A" }]
kerbs = [{ side = "right", start = "270 m", offset = "-1 m", width = "1.2 m", shape = SHAPE }]
""".replace("SHAPE", '{ kind = "flat-topped", height = "25 mm", length = "40 m", ramp_length = "200 mm" }')


@pytest.fixture(scope="session")
def oval_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small lap that takes little time to drive; the right wheels are on its kerb."""
    path = tmp_path_factory.mktemp("tracks") / "oval.toml"
    path.write_text(OVAL, encoding="utf-8")
    return path
