"""The demo cars, and estimated ones, by closed forms: would a race engineer believe each number?

Closed forms are written here anew, from the textbook formulas of load transfer and the single-track
model, and first tried on a worked example. Ranges name their source beside them:

- (G) Giaraffa, "Springs & Dampers, Part One": ride frequency 0.5-1.5 Hz passenger cars, 1.5-2.0 Hz saloon race
  cars and moderate-downforce formula cars, 3.0-5.0+ Hz high downforce. Seen.
- (O) Ortiz, Chassis Newsletter, January 2009: damping ratio 0.6-0.7 called optimal in racing, above 1 seen at
  low speed. Seen.
- (M) Milliken & Milliken, Race Car Vehicle Dynamics, ch. 16: roll gradient 5-6 deg/g sport saloons, 3-4.2
  sports cars, 1.5 and below racing. From memory.
- (P) common practice, no published source.
"""

from dataclasses import dataclass
from math import atan, degrees, pi, sin, sqrt

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.car.car import Car
from fourpatch.car.checks import car_faults, oddities
from fourpatch.car.demo import demo_car, demo_names
from fourpatch.car.pack import pack
from fourpatch.car.parameters import Axle, CompactTyre, TwoSlopeDamper
from fourpatch.car.paths import parameters
from fourpatch.car.provenance import origin
from fourpatch.car.setup import Setup, apply_setup, baseline_setup
from fourpatch.errors import CarError

G = 9.81


# Closed forms


@dataclass(frozen=True)
class End:
    """One axle at rest; per wheel where not said otherwise."""

    axle: Axle
    load: float
    """[N]"""
    sprung: float
    """[kg]"""
    tyre_rate: float
    wheel_rate: float
    """Of the spring alone."""
    heave_rate: float
    """Added in heave by the third spring."""
    bar_rate: float
    """Added against the other wheel: force per difference of travel."""

    def in_series(self, rate: float) -> float:
        return rate * self.tyre_rate / (rate + self.tyre_rate)

    @property
    def heave_frequency(self) -> float:
        return sqrt(self.in_series(self.wheel_rate + self.heave_rate) / self.sprung) / (2.0 * pi)

    @property
    def roll_stiffness(self) -> float:
        """At the ground, of the axle, tyres in series. [N m/rad]"""
        half = 0.5 * self.axle.track_width**2
        suspension, tyres = (self.wheel_rate + 2.0 * self.bar_rate) * half, self.tyre_rate * half
        return suspension * tyres / (suspension + tyres)


def ends(car: Car) -> tuple[End, End]:
    total = car.chassis.mass + car.fuel.mass
    behind = (
        car.chassis.mass * car.chassis.wheelbase * (1.0 - car.chassis.front_weight_share)
        + car.fuel.mass * car.fuel.distance_behind_front_axle
    ) / total
    rear_share = behind / car.chassis.wheelbase
    found = []
    for axle, share in ((car.front, 1.0 - rear_share), (car.rear, rear_share)):
        tyre = axle.tyre
        travel = axle.design_ride_height - axle.ride_height
        curve = axle.geometry.spring_motion_ratio
        ratio = curve.value + travel * (curve.slope + travel * curve.curvature)
        load = 0.5 * total * G * share
        found.append(
            End(
                axle=axle,
                load=load,
                sprung=load / G - axle.unsprung_mass,
                tyre_rate=tyre.vertical_rate
                * (1.0 + tyre.rate_per_pressure * (tyre.pressure / tyre.reference_pressure - 1.0)),
                wheel_rate=axle.spring.rate * ratio**2,
                heave_rate=0.5 * axle.heave.rate * axle.heave.motion_ratio**2,
                bar_rate=axle.bar.rate * axle.bar.motion_ratio**2,
            )
        )
    return found[0], found[1]


def damping_ratio(end: End, *, direction: str, speed: str, heave: bool) -> float:
    """c / (2 sqrt(k m)) at the wheel; in heave with third spring and damper."""
    damper = end.axle.damper
    assert isinstance(damper, TwoSlopeDamper)
    slope = getattr(getattr(damper, direction), speed) * end.axle.geometry.damper_motion_ratio.value**2
    rate = end.wheel_rate
    if heave:
        third = end.axle.heave
        slope += 0.5 * getattr(third, direction) * third.motion_ratio**2
        rate += end.heave_rate
    return slope / (2.0 * sqrt(rate * end.sprung))


@dataclass(frozen=True)
class Roll:
    gradient: float
    """[rad/(m/s^2)]"""
    transfer: tuple[float, float]
    """Of one axle, per acceleration. [kg]"""

    @property
    def front_share(self) -> float:
        return self.transfer[0] / sum(self.transfer)


def steady_roll(
    *,
    sprung: tuple[float, float],
    unsprung: tuple[float, float],
    unsprung_height: tuple[float, float],
    sprung_height: float,
    roll_centre: tuple[float, float],
    track: tuple[float, float],
    stiffness: tuple[float, float],
) -> Roll:
    """Pairs are front, rear; masses are of the axle.

    Formulas: phi = m_s a d/(K - m_s g d); dF_i = (K_i phi + m_s,i a h_rc,i + m_u,i a h_u,i)/t_i
    (Gillespie, Milliken & Milliken; from memory, tried on the worked example below).
    """
    mass = sum(sprung)
    arm = sprung_height - sum(m * h for m, h in zip(sprung, roll_centre, strict=True)) / mass
    gradient = mass * arm / (sum(stiffness) - mass * G * arm)
    transfer = tuple(
        (k * gradient + m * h + u * hu) / t
        for k, m, h, u, hu, t in zip(stiffness, sprung, roll_centre, unsprung, unsprung_height, track, strict=True)
    )
    return Roll(gradient, (transfer[0], transfer[1]))


def roll(car: Car) -> Roll:
    front, rear = ends(car)
    both = (front, rear)
    unsprung = (2.0 * front.axle.unsprung_mass, 2.0 * rear.axle.unsprung_mass)
    heights = (front.axle.unsprung_cg_height, rear.axle.unsprung_cg_height)
    total = car.chassis.mass + car.fuel.mass
    height = (car.chassis.mass * car.chassis.cg_height + car.fuel.mass * car.fuel.height) / total
    sprung = (2.0 * front.sprung, 2.0 * rear.sprung)
    return steady_roll(
        sprung=sprung,
        unsprung=unsprung,
        unsprung_height=heights,
        sprung_height=(total * height - sum(m * h for m, h in zip(unsprung, heights, strict=True))) / sum(sprung),
        roll_centre=(front.axle.geometry.roll_centre_height.value, rear.axle.geometry.roll_centre_height.value),
        track=(front.axle.track_width, rear.axle.track_width),
        stiffness=(front.roll_stiffness, rear.roll_stiffness),
    )


def cornering_stiffness(tyre: CompactTyre, load: float) -> float:
    """[N/rad] of one tyre: K0 sin(2 atan(Fz/1.8 Fz0)) through the given value at nominal load."""
    shape = sin(2.0 * atan(load / (1.8 * tyre.nominal_load))) / sin(2.0 * atan(1.0 / 1.8))
    return tyre.cornering_stiffness * tyre.nominal_load * shape


def axle_limit(end: End, transfer: float, *, downforce: float = 0.0) -> float:
    """Largest lateral acceleration an axle carries, load sensitivity included; no camber. [m/s^2]"""
    tyre = end.axle.tyre.grip
    assert isinstance(tyre, CompactTyre)
    acceleration = G
    for _ in range(60):
        force = 0.0
        for sign in (1.0, -1.0):
            load = max(end.load + 0.5 * downforce + sign * transfer * acceleration, 0.0)
            friction = tyre.peak_friction * (1.0 - tyre.load_sensitivity * (load / tyre.nominal_load - 1.0))
            force += friction * load
        acceleration = 0.5 * (acceleration + force / (2.0 * end.load / G))
    return acceleration


def understeer_gradient(car: Car) -> float:
    """[deg/g], bicycle model with the tyres' stiffness at static load."""
    return degrees(
        G * sum(sign * 2.0 * end.load / G / (2.0 * _stiffness(end)) for sign, end in zip((1, -1), ends(car), strict=True))
    )


def static_margin(car: Car) -> float:
    """(b C_r - a C_f)/(L (C_f + C_r))."""
    front, rear = ends(car)
    share = front.load / (front.load + rear.load)
    c_f, c_r = _stiffness(front), _stiffness(rear)
    return (share * c_r - (1.0 - share) * c_f) / (c_f + c_r)


def _stiffness(end: End) -> float:
    grip = end.axle.tyre.grip
    assert isinstance(grip, CompactTyre)
    return cornering_stiffness(grip, end.load)


def area(car: Car, name: str, front: float, rear: float) -> float:
    """[m^2] at two ride heights."""
    chart = car.aero.map
    f = min(max(front, chart.lowest_front_height), chart.highest_front_height) - chart.reference_front_height
    r = min(max(rear, chart.lowest_rear_height), chart.highest_rear_height) - chart.reference_rear_height
    s = getattr(chart, name)
    wings = sum(
        wing.angle * getattr(wing, f"{name}_area_per_angle") for wing in (car.aero.front_wing, car.aero.rear_wing)
    )
    return float(s.constant + s.f * f + s.r * r + s.ff * f * f + s.fr * f * r + s.rr * r * r + wings)


@dataclass(frozen=True)
class AtSpeed:
    heights: tuple[float, float]
    downforce: tuple[float, float]
    travel: tuple[float, float]
    """Suspension travel from rest."""

    @property
    def balance(self) -> float:
        return self.downforce[0] / sum(self.downforce)


def at_speed(car: Car, speed: float) -> AtSpeed:
    """Ride heights where downforce and springs agree on a straight; drag's pitch moment left out."""
    q = 0.5 * car.aero.air_density * speed**2
    heights = [car.front.ride_height, car.rear.ride_height]
    travel = [0.0, 0.0]
    force = [0.0, 0.0]
    for _ in range(400):
        for place, (end, name) in enumerate(zip(ends(car), ("front_downforce", "rear_downforce"), strict=True)):
            force[place] = q * area(car, name, heights[0], heights[1])
            travel[place] = suspension_travel(end, 0.5 * force[place])
            target = end.axle.ride_height - travel[place] - 0.5 * force[place] / end.tyre_rate
            heights[place] += 0.2 * (target - heights[place])
    return AtSpeed((heights[0], heights[1]), (force[0], force[1]), (travel[0], travel[1]))


def suspension_travel(end: End, load: float) -> float:
    """Bump travel from rest under an added wheel load, constant motion ratio, bump stop included."""
    axle = end.axle
    gap = axle.bump_stop.gap - (axle.design_ride_height - axle.ride_height)
    low, high = -0.2, 0.2
    for _ in range(60):
        middle = 0.5 * (low + high)
        into = max(middle - gap, 0.0)
        stop = into * (axle.bump_stop.rate + into * axle.bump_stop.progression)
        held = end.wheel_rate * middle + end.heave_rate * max(middle - axle.heave.gap, 0.0) + stop
        low, high = (middle, high) if held < load else (low, middle)
    return 0.5 * (low + high)


def top_speed(car: Car) -> float:
    """Where drag and rolling resistance (0.013 of the weight) take all power. [m/s]"""
    line = car.driveline
    power = line.efficiency * max(n * t for n, t in zip(line.engine_speed, line.engine_torque, strict=True))
    drag = 0.5 * car.aero.air_density * area(car, "drag", car.front.ride_height, car.rear.ride_height)
    weight = (car.chassis.mass + car.fuel.mass) * G
    roots = np.roots([drag, 0.0, 0.013 * weight, -power])
    return float(roots[np.abs(roots.imag) < 1e-9].real.max())


def geared_speed(car: Car) -> float:
    """At the highest engine speed in top gear. [m/s]"""
    line = car.driveline
    radius = car.front.tyre.radius if line.front_drive_share > 0.5 else car.rear.tyre.radius
    return line.engine_speed[-1] * radius / (line.gear_ratios[-1] * line.final_drive)


def ideal_front_share(car: Car, deceleration: float) -> float:
    """Of the braking at a deceleration in g: the front's share of the load."""
    front, rear = ends(car)
    total = car.chassis.mass + car.fuel.mass
    height = (car.chassis.mass * car.chassis.cg_height + car.fuel.mass * car.fuel.height) / total
    return front.load / (front.load + rear.load) + deceleration * height / car.chassis.wheelbase
