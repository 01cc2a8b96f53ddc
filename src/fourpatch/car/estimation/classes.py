"""What a class of tyre, a kind of body and a level of downforce tell about a car.

The tables behind `estimate`. Where the docstring of a value names no source, it is common practice,
no published source. *Open cars* are the three open vehicle data sets of Althoff and Wuersching,
"CommonRoad: Vehicle Models", 2020 (values seen); *sets A and B* are the published Magic Formula tyres
of 1987 (SAE 870421, Table 1) and 2006 (Pacejka, Tyre and Vehicle Dynamics, 2nd ed., Table A3.1),
both seen in public files quoting them.
"""

from dataclasses import dataclass
from math import pi, radians
from typing import Literal

Grip = Literal["road", "sport-road", "semi-slick", "slick"]
Body = Literal["hatchback", "saloon", "sports", "single-seater"]
Downforce = Literal["none", "low", "moderate", "high"]


@dataclass(frozen=True, slots=True, kw_only=True)
class GripClass:
    """What the class of the tyres tells about them, and about the car that is run on them."""

    friction: float
    """Peak lateral; sets A and B give 0.92 and 0.99 for road tyres at 4 kN, the rest is practice."""
    friction_spread: str
    peak_slip_angle: float
    """[rad]; sets A and B peak at 9.4 and 14.8 deg."""
    cornering_stiffness: float
    """[1/rad]; sets A and B: 14.7 and 11.5 at 4 kN."""
    peak_slip_ratio: float
    """Sets A and B: 0.10 and 0.15 at 4 kN."""
    slip_stiffness: float
    """Sets A and B: 32 and 22 at 4 kN."""
    longitudinal_to_lateral: float
    """Sets A and B: 1.15 and 1.22."""
    best_camber: float
    """[rad]"""
    pressure: float
    """Hot. [Pa]"""
    temperature: float
    """Of best grip. [K]"""
    life: float
    """Work of sliding of a tread of 0.45 m^2 until it is worn out. [J]"""
    ride_frequency: float
    """Front, without downforce. [Hz]"""
    rear_to_front_frequency: float
    damping_ratio: float
    """Mean of bump and rebound, low speed."""
    rebound_to_bump: float
    knee_speed: float
    """[m/s]"""
    roll_gradient: float
    """[rad per g]"""
    lowered: float
    """Body and centre of gravity below those of an ordinary car. [m]"""
    bump_gap: float
    """[m]"""
    front_camber: float
    """[rad]"""
    gears_spread: float
    """First gear ratio over last."""


GRIP = {
    "road": GripClass(
        friction=0.95,
        friction_spread="6 %",
        peak_slip_angle=radians(10.0),
        cornering_stiffness=13.0,
        peak_slip_ratio=0.12,
        slip_stiffness=26.0,
        longitudinal_to_lateral=1.18,
        best_camber=radians(1.5),
        pressure=2.3e5,
        temperature=333.15,
        life=120e6,
        ride_frequency=1.35,
        rear_to_front_frequency=1.15,
        damping_ratio=0.33,
        rebound_to_bump=7.0 / 3.0,
        knee_speed=0.12,
        roll_gradient=radians(6.5),
        lowered=0.0,
        bump_gap=0.065,
        front_camber=radians(-0.8),
        gears_spread=4.2,
    ),
    "sport-road": GripClass(
        friction=1.08,
        friction_spread="7 %",
        peak_slip_angle=radians(8.5),
        cornering_stiffness=16.0,
        peak_slip_ratio=0.11,
        slip_stiffness=28.0,
        longitudinal_to_lateral=1.12,
        best_camber=radians(2.0),
        pressure=2.3e5,
        temperature=343.15,
        life=120e6,
        ride_frequency=1.55,
        rear_to_front_frequency=1.1,
        damping_ratio=0.45,
        rebound_to_bump=2.0,
        knee_speed=0.1,
        roll_gradient=radians(4.2),
        lowered=0.015,
        bump_gap=0.055,
        front_camber=radians(-1.5),
        gears_spread=4.0,
    ),
    "semi-slick": GripClass(
        friction=1.25,
        friction_spread="8 %",
        peak_slip_angle=radians(7.0),
        cornering_stiffness=20.0,
        peak_slip_ratio=0.1,
        slip_stiffness=30.0,
        longitudinal_to_lateral=1.1,
        best_camber=radians(2.5),
        pressure=2.1e5,
        temperature=353.15,
        life=90e6,
        ride_frequency=1.8,
        rear_to_front_frequency=1.05,
        damping_ratio=0.6,
        rebound_to_bump=1.5,
        knee_speed=0.08,
        roll_gradient=radians(2.6),
        lowered=0.04,
        bump_gap=0.045,
        front_camber=radians(-2.5),
        gears_spread=3.2,
    ),
    "slick": GripClass(
        friction=1.5,
        friction_spread="9 %",
        peak_slip_angle=radians(6.0),
        cornering_stiffness=25.0,
        peak_slip_ratio=0.09,
        slip_stiffness=33.0,
        longitudinal_to_lateral=1.08,
        best_camber=radians(3.0),
        pressure=1.8e5,
        temperature=363.15,
        life=50e6,
        ride_frequency=2.1,
        rear_to_front_frequency=1.05,
        damping_ratio=0.65,
        rebound_to_bump=1.5,
        knee_speed=0.06,
        roll_gradient=radians(1.5),
        lowered=0.07,
        bump_gap=0.035,
        front_camber=radians(-3.2),
        gears_spread=2.7,
    ),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class BodyKind:
    """What the kind of the car tells."""

    track_share: float
    """Track width over wheelbase; open cars 0.53 to 0.64, mean 0.584."""
    cg_height: float
    """On road tyres; open saloons 0.56 and 0.57 m. [m]"""
    yaw_factor: float
    """I_z / (m a b); open cars 0.94, 1.00, 1.10."""
    roll_gyration: float
    """Sprung radius of gyration over track; open saloons 0.34."""
    unsprung_share: float
    """One wheel over the car's mass; open cars 0.027 to 0.029."""
    spring_ratio: tuple[float, float]
    damper_ratio: tuple[float, float]
    roll_centre: tuple[float, float]
    """[m]"""
    ride_height: float
    """On road tyres, front; the rear stands ``rake`` higher. [m]"""
    rake: float
    """[m]"""
    largest_roll_gradient: float
    """Whatever the tyres. [rad per g]"""
    drag_area: float
    """Without downforce parts. [m^2]"""
    lift_area: float
    """Downforce area without downforce parts, both axles. [m^2]"""
    peak_power_speed: float
    """Of the engine. [rad/s]"""
    steering_ratio: float
    tank_share: float
    """Tank behind the front axle over wheelbase."""


_RPM = pi / 30.0

BODY = {
    "hatchback": BodyKind(
        track_share=0.584,
        cg_height=0.56,
        yaw_factor=1.0,
        roll_gyration=0.34,
        unsprung_share=0.0278,
        spring_ratio=(0.95, 0.8),
        damper_ratio=(0.95, 0.9),
        roll_centre=(0.05, 0.12),
        ride_height=0.14,
        rake=0.005,
        largest_roll_gradient=radians(9.0),
        drag_area=0.7,
        lift_area=-0.25,
        peak_power_speed=6200.0 * _RPM,
        steering_ratio=15.0,
        tank_share=0.8,
    ),
    "saloon": BodyKind(
        track_share=0.565,
        cg_height=0.56,
        yaw_factor=1.0,
        roll_gyration=0.34,
        unsprung_share=0.0278,
        spring_ratio=(0.9, 0.8),
        damper_ratio=(0.9, 0.9),
        roll_centre=(0.05, 0.11),
        ride_height=0.13,
        rake=0.005,
        largest_roll_gradient=radians(9.0),
        drag_area=0.66,
        lift_area=-0.25,
        peak_power_speed=6200.0 * _RPM,
        steering_ratio=15.0,
        tank_share=0.9,
    ),
    "sports": BodyKind(
        track_share=0.63,
        cg_height=0.48,
        yaw_factor=0.87,
        roll_gyration=0.33,
        unsprung_share=0.0278,
        spring_ratio=(0.75, 0.75),
        damper_ratio=(0.75, 0.75),
        roll_centre=(0.045, 0.08),
        ride_height=0.12,
        rake=0.01,
        largest_roll_gradient=radians(3.6),
        drag_area=0.64,
        lift_area=-0.12,
        peak_power_speed=7200.0 * _RPM,
        steering_ratio=13.5,
        tank_share=0.5,
    ),
    "single-seater": BodyKind(
        track_share=0.56,
        cg_height=0.38,
        yaw_factor=0.72,
        roll_gyration=0.23,
        unsprung_share=0.032,
        spring_ratio=(0.9, 0.9),
        damper_ratio=(0.9, 0.9),
        roll_centre=(0.02, 0.04),
        ride_height=0.1,
        rake=0.02,
        largest_roll_gradient=radians(1.5),
        drag_area=0.6,
        lift_area=0.0,
        peak_power_speed=7500.0 * _RPM,
        steering_ratio=11.0,
        tank_share=0.55,
    ),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class DownforceLevel:
    """What a level of downforce tells."""

    area: float
    """Downforce added to the body's own, over dynamic pressure, both axles. [m^2]"""
    lift_to_drag: float
    """Of what is added."""
    per_height: float
    """Relative loss of downforce per ride height gained. [1/m]"""
    added_frequency: float
    """Front ride frequency added to carry it. [Hz]"""
    largest_roll_gradient: float
    """[rad per g]"""


DOWNFORCE = {
    "none": DownforceLevel(
        area=0.0, lift_to_drag=4.0, per_height=0.0, added_frequency=0.0, largest_roll_gradient=radians(9.0)
    ),
    "low": DownforceLevel(
        area=0.6, lift_to_drag=5.0, per_height=2.0, added_frequency=0.1, largest_roll_gradient=radians(4.2)
    ),
    "moderate": DownforceLevel(
        area=1.5, lift_to_drag=4.5, per_height=5.0, added_frequency=0.4, largest_roll_gradient=radians(1.0)
    ),
    "high": DownforceLevel(
        area=3.5, lift_to_drag=4.5, per_height=10.0, added_frequency=1.7, largest_roll_gradient=radians(0.3)
    ),
}
