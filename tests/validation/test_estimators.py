"""The estimates against three open vehicles and a published tyre.

Source of the vehicles: commonroad-vehicle-models 3.0.2 (BSD-3-Clause, Technical University of Munich), its
parameter files; Althoff and Würsching, "CommonRoad: Vehicle Models", 2020, Tables 6 and 7. Of the tyre:
Pacejka, Tyre and Vehicle Dynamics, 2nd ed. 2006, Table A3.1 (205/60R15 at 2.2 bar), coefficients seen in
public files quoting it, vertical-load formula from memory.

How far this reaches: yaw, roll and pitch factors, unsprung share, ride frequencies and camber gains of the
tables are means or round values of these same three vehicles, so their agreement shows that the spreads
are honest, not that the tables hold elsewhere. Outside evidence are the tyre's rate, the brakes, and
all that the van (which is no body kind of ours and goes in as a hatchback) puts to the test.

The data name no tyre size; all three give a rolling radius of 0.344 m, and 205/75R16 comes near it.
"""

import importlib
from dataclasses import dataclass
from math import pi, sqrt
from typing import Any

import pytest
from numpy.testing import assert_allclose

from fourpatch.car.car import Car
from fourpatch.car.estimate import CarBrief, estimate_car
from fourpatch.car.parameters import Axle, TwoSlopeDamper
from fourpatch.car.paths import parameter
from fourpatch.car.provenance import spread
from fourpatch.car.tyre_size import tyre_size

VEHICLES = {1: ("saloon", "front"), 2: ("saloon", "rear"), 3: ("hatchback", "rear")}

SIGMAS = 2.0
"""Nineteen of twenty lie within, if the spread is honest and the errors are normal."""

MISSES = {
    # Their brakes match the ideal distribution at 0.62, 0.51 and 0.36 g; ours at 1.06 g, near the limit.
    # With constant distribution such brakes lock the rear first when braking hard.
    (1, "brakes.front_share"),
    (2, "brakes.front_share"),
    (3, "brakes.front_share"),
    # A van stands higher and is wider than any of our body kinds.
    (3, "chassis.cg_height"),
    (3, "chassis.roll_inertia"),
}


def published(number: int) -> Any:
    module = importlib.import_module(f"vehiclemodels.parameters_vehicle{number}")
    return getattr(module, f"parameters_vehicle{number}")()


def brief(number: int) -> CarBrief:
    """Return a published vehicle's brief; power is mass x acceleration x the speed where power limits it."""
    vehicle, (body, driven) = published(number), VEHICLES[number]
    wheelbase = vehicle.a + vehicle.b
    return CarBrief.model_validate(
        {
            "name": f"open vehicle {number}",
            "mass": vehicle.m,
            "front_weight_share": (vehicle.m_s * vehicle.b / wheelbase + vehicle.m_uf) / vehicle.m,
            "wheelbase": wheelbase,
            "driven": driven,
            "power": vehicle.m * vehicle.longitudinal.a_max * vehicle.longitudinal.v_switch,
            "front_tyre": "205/75R16",
            "rear_tyre": "205/75R16",
            "grip": "road",
            "body": body,
        }
    )


@dataclass(frozen=True)
class Comparison:
    published: float
    estimated: float
    spread: float

    @property
    def sigmas(self) -> float:
        return abs(self.estimated - self.published) / self.spread


def ride_frequency(*, wheel_rate: float, tyre_rate: float, mass: float) -> float:
    return sqrt(wheel_rate * tyre_rate / (wheel_rate + tyre_rate) / mass) / (2.0 * pi)


def corner(car: Car, end: str) -> tuple[Axle, float, float]:
    """Return an axle, its wheel rate and its sprung mass per corner."""
    axle: Axle = getattr(car, end)
    share = car.chassis.front_weight_share if end == "front" else 1.0 - car.chassis.front_weight_share
    rate = axle.spring.rate * axle.geometry.spring_motion_ratio.value**2
    return axle, rate, 0.5 * car.chassis.mass * share - axle.unsprung_mass


def comparisons(number: int) -> dict[str, Comparison]:
    vehicle, car = published(number), estimate_car(brief(number))
    found = {
        path: Comparison(value, parameter(car, path).value, spread(car, path))
        for path, value in {
            "chassis.cg_height": vehicle.h_cg,
            "chassis.roll_inertia": vehicle.I_Phi_s,
            "chassis.pitch_inertia": vehicle.I_y_s,
            "chassis.yaw_inertia": vehicle.I_z,
            "front.track_width": vehicle.T_f,
            "rear.track_width": vehicle.T_r,
            "front.unsprung_mass": vehicle.m_uf / 2.0,
            "rear.unsprung_mass": vehicle.m_ur / 2.0,
            "front.tyre.vertical_rate": vehicle.K_zt,
            "front.geometry.camber_change.slope": vehicle.D_f,
            "rear.geometry.camber_change.slope": vehicle.D_r,
            "brakes.front_share": vehicle.T_sb,
        }.items()
    }
    for end, rate, damping, arm in (
        ("front", vehicle.K_sf, vehicle.K_sdf, vehicle.b),
        ("rear", vehicle.K_sr, vehicle.K_sdr, vehicle.a),
    ):
        mass = 0.5 * vehicle.m_s * arm / (vehicle.a + vehicle.b)
        axle, own_rate, own_mass = corner(car, end)
        own = ride_frequency(wheel_rate=own_rate, tyre_rate=axle.tyre.vertical_rate, mass=own_mass)
        # A frequency goes with the root of the rate: half its relative spread.
        share = 0.5 * spread(car, f"{end}.spring.rate") / axle.spring.rate
        theirs = ride_frequency(wheel_rate=rate, tyre_rate=vehicle.K_zt, mass=mass)
        found[f"{end} ride frequency"] = Comparison(theirs, own, share * own)
        assert isinstance(axle.damper, TwoSlopeDamper)
        slopes = [getattr(axle.damper, way).low_speed for way in ("bump", "rebound")]
        ratio = (
            0.5 * sum(slopes) * axle.geometry.damper_motion_ratio.value**2 / (2.0 * sqrt(own_rate * own_mass))
        )
        share = spread(car, f"{end}.damper.bump.low_speed") / axle.damper.bump.low_speed
        found[f"{end} damping ratio"] = Comparison(damping / (2.0 * sqrt(rate * mass)), ratio, share * ratio)
    return found


@pytest.mark.parametrize("number", VEHICLES)
def test_estimates_lie_within_their_spread_of_the_open_vehicles_but_for_the_misses_named(number: int):
    missed = {(number, name) for name, one in comparisons(number).items() if one.sigmas > SIGMAS}
    assert missed == {(vehicle, name) for vehicle, name in MISSES if vehicle == number}


def test_published_ride_frequencies_are_those_of_the_reference_table():
    """Shared reference values, section 6.1: 1.2005 and 1.5684, 1.4192 and 1.4297, 1.4449 and 1.6526 Hz."""
    found = [comparisons(n)[f"{end} ride frequency"].published for n in VEHICLES for end in ("front", "rear")]
    assert_allclose(found, [1.2005, 1.5684, 1.4192, 1.4297, 1.4449, 1.6526], atol=5e-5)  # printed digits


def test_published_brakes_are_ideal_at_low_deceleration_only():
    """What stands beside MISSES: the deceleration z with share = front weight share + z h / L."""
    found = []
    for number in VEHICLES:
        vehicle, known = published(number), brief(number)
        beyond = vehicle.T_sb - known.front_weight_share
        found.append(beyond * known.wheelbase / vehicle.h_cg)
    assert_allclose(found, [0.62, 0.51, 0.36], atol=0.005)  # as printed there


def test_published_tyre_rate():
    """205/60R15 at 2.2 bar and 4 kN: F = 4000 (13.37 x + 14.35 x^2), x = deflection / 0.313 m."""
    first, second, load, radius = 13.37, 14.35, 4000.0, 0.313
    x = (sqrt(first**2 + 4.0 * second) - first) / (2.0 * second)
    rate = load * (first + 2.0 * second * x) / radius
    assert_allclose(rate, 196388.0, rtol=1e-5)  # shared reference values, section 5: printed digits
    estimate = tyre_size("205/60R15 91V").vertical_rate(2.2e5)
    # Stated spread of the estimate on road tyres: 20 %.
    assert_allclose(estimate, rate, rtol=0.2)
