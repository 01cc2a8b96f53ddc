"""What a car is: typed parameters, each with its unit, its range and one sentence.

Values are SI. A car file writes the same names with units (``files.py``); the kernels read a flat
vector made from them (``pack.py``). Where a number came from is kept beside it (``provenance.py``).
Travel of a wheel is counted from the design ride height, bump positive.
"""

from collections.abc import Mapping
from typing import Annotated, Literal, Self

import numpy as np
from pydantic import Field, model_validator

from fourpatch.document.part import Part
from fourpatch.units import Unit

Mass = Annotated[float, Unit("kg", "kg", 50.0, 5000.0)]
PartMass = Annotated[float, Unit("kg", "kg", 2.0, 200.0)]
Length = Annotated[float, Unit("m", "mm", 0.0, 10.0)]
Height = Annotated[float, Unit("m", "mm", 0.005, 2.0)]
RollCentreHeight = Annotated[float, Unit("m", "mm", -0.3, 0.6)]
Share = Annotated[float, Unit("1", "1", 0.0, 1.0)]
Inertia = Annotated[float, Unit("kg*m**2", "kg*m**2", 5.0, 20000.0)]
SpringRate = Annotated[float, Unit("N/m", "N/mm", 1e3, 2e6)]
AddedRate = Annotated[float, Unit("N/m", "N/mm", 0.0, 2e6)]
Damping = Annotated[float, Unit("N*s/m", "N*s/m", 0.0, 1e5)]
Force = Annotated[float, Unit("N", "N", 0.0, 1e5)]
Torque = Annotated[float, Unit("N*m", "N*m", 0.0, 2e4)]
Angle = Annotated[float, Unit("rad", "deg", -0.3, 0.3)]
Speed = Annotated[float, Unit("m/s", "mm/s", 0.0, 20.0)]
Pressure = Annotated[float, Unit("Pa", "bar", 5e4, 6e5)]
Temperature = Annotated[float, Unit("K", "degC", 233.15, 473.15)]
Area = Annotated[float, Unit("m**2", "m**2", -5.0, 20.0)]
MotionRatio = Annotated[float, Unit("1", "1", 0.1, 3.0)]
Slope = Annotated[float, Unit("1", "1", -2.0, 2.0)]


class RatioCurve(Part):
    """A ratio against wheel travel: value + slope x travel + curvature x travel^2."""

    value: Annotated[float, Unit("1", "1", -3.0, 3.0)]
    """At design ride height."""
    slope: Annotated[float, Unit("1/m", "1/m", -50.0, 50.0)] = 0.0
    """Change per bump travel."""
    curvature: Annotated[float, Unit("1/m**2", "1/m**2", -500.0, 500.0)] = 0.0
    """Change of the slope per bump travel, halved."""


class HeightCurve(Part):
    """A height against wheel travel: value + slope x travel + curvature x travel^2."""

    value: RollCentreHeight
    """At design ride height."""
    slope: Annotated[float, Unit("m/m", "m/m", -10.0, 10.0)] = 0.0
    """Change per bump travel."""
    curvature: Annotated[float, Unit("1/m", "1/m", -200.0, 200.0)] = 0.0
    """Change of the slope per bump travel, halved."""


class AngleCurve(Part):
    """How an angle changes with wheel travel from its static value: slope x travel + curvature x travel^2."""

    slope: Annotated[float, Unit("rad/m", "deg/m", -10.0, 10.0)] = 0.0
    """Change per bump travel."""
    curvature: Annotated[float, Unit("rad/m**2", "deg/m**2", -200.0, 200.0)] = 0.0
    """Change of the slope per bump travel, halved."""


class Chassis(Part):
    """Mass and its distribution, with the driver, without fuel."""

    mass: Mass
    """Whole car with driver, without fuel."""
    front_weight_share: Annotated[float, Unit("1", "%", 0.2, 0.8)]
    """Share of the weight on the front axle, without fuel."""
    cross_weight_share: Annotated[float, Unit("1", "%", 0.4, 0.6)] = 0.5
    """Share of the weight on the FR and RL tyres together."""
    cg_lateral_offset: Annotated[float, Unit("m", "mm", -0.3, 0.3)] = 0.0
    """Centre of gravity to the left of the centre plane."""
    cg_height: Annotated[float, Unit("m", "mm", 0.1, 1.5)]
    """Height of the whole car's centre of gravity at design ride height."""
    wheelbase: Annotated[float, Unit("m", "mm", 1.0, 5.0)]
    """Front to rear axle."""
    roll_inertia: Inertia
    """Sprung mass about its own centre of gravity, about the x axis."""
    pitch_inertia: Inertia
    """Sprung mass about its own centre of gravity, about the y axis."""
    yaw_inertia: Inertia
    """Whole car about its centre of gravity, about the z axis."""


class Fuel(Part):
    """The fuel on board."""

    mass: Annotated[float, Unit("kg", "kg", 0.0, 300.0)] = 0.0
    """At the start of the run; held constant during an event."""
    distance_behind_front_axle: Annotated[float, Unit("m", "mm", -2.0, 6.0)] = 1.5
    """Centre of the tank, rearwards of the front axle."""
    height: Annotated[float, Unit("m", "mm", 0.05, 1.5)] = 0.3
    """Centre of the tank above the road at design ride height."""


class Spring(Part):
    """A corner spring, described at the spring, not at the wheel."""

    rate: SpringRate
    """Force per spring travel."""
    helper_rate: AddedRate = 0.0
    """Rate of a helper spring in series; 0 for none."""
    helper_block_force: Force = 0.0
    """Force at which the helper spring is closed."""


class AntiRollBar(Part):
    """An anti-roll bar, described at its drop links."""

    rate: AddedRate = 0.0
    """Force at each drop link per difference of the two drop links' travel; 0 for no bar."""
    motion_ratio: MotionRatio = 1.0
    """Drop-link travel over wheel travel."""


class TwoSlopeDamping(Part):
    """One direction of a damper: a low-speed slope up to a knee, a high-speed slope beyond."""

    low_speed: Damping
    """Force per damper speed below the knee."""
    knee_speed: Annotated[float, Unit("m/s", "mm/s", 0.001, 2.0)]
    """Damper speed at which the high-speed slope begins."""
    high_speed: Damping
    """Force per damper speed above the knee."""


class TwoSlopeDamper(Part):
    """A damper described by slopes, measured at the damper."""

    kind: Literal["two-slope"] = "two-slope"
    bump: TwoSlopeDamping
    """Wheel moving toward the body."""
    rebound: TwoSlopeDamping
    """Wheel moving away from the body."""
    friction: Annotated[float, Unit("N", "N", 0.0, 500.0)] = 0.0
    """Sliding friction."""


class MeasuredDamper(Part):
    """A damper described by measured forces at the damper."""

    kind: Literal["measured"]
    speed: list[Speed]
    """Damper speeds, rising, without zero."""
    bump_force: list[Force]
    """Force at each speed, wheel moving toward the body."""
    rebound_force: list[Force]
    """Force at each speed, wheel moving away from the body, as a positive number."""
    bump_factor: Annotated[float, Unit("1", "1", 0.05, 10.0)] = 1.0
    """Scales the bump forces: what an adjuster without a table of its own does."""
    rebound_factor: Annotated[float, Unit("1", "1", 0.05, 10.0)] = 1.0
    """Scales the rebound forces."""
    friction: Annotated[float, Unit("N", "N", 0.0, 500.0)] = 0.0
    """Sliding friction."""

    @model_validator(mode="after")
    def _table_is_usable(self) -> Self:
        if not len(self.speed) == len(self.bump_force) == len(self.rebound_force):
            raise ValueError(
                f"speed has {len(self.speed)} values, bump_force {len(self.bump_force)}, rebound_force "
                f"{len(self.rebound_force)}; give one force per speed"
            )
        if not self.speed or min(np.diff([0.0, *self.speed])) <= 0.0:
            raise ValueError("speed must rise from above zero; leave out the point at rest and sort the rest")
        return self


class BumpStop(Part):
    """A bump stop, described at the wheel, or at the damper with the damper's motion ratio."""

    gap: Annotated[float, Unit("m", "mm", 0.0, 0.5)]
    """Bump travel of the stop from design ride height to contact; a packer takes its thickness from it."""
    rate: AddedRate
    """Force per travel of the stop at contact."""
    progression: Annotated[float, Unit("N/m**2", "N/mm**2", 0.0, 1e8)] = 0.0
    """Added force per travel squared."""
    motion_ratio: MotionRatio = 1.0
    """Stop travel over wheel travel: 1 for a stop described at the wheel, else that of its damper."""

    @property
    def wheel_gap(self) -> float:
        """Bump travel of the wheel to contact. [m]"""
        return self.gap / self.motion_ratio


class DroopStop(Part):
    """The end of rebound travel, described at the wheel, or at the damper with the damper's motion ratio."""

    gap: Annotated[float, Unit("m", "mm", 0.0, 0.5)]
    """Rebound travel of the stop from design ride height to contact."""
    rate: SpringRate
    """Force per travel of the stop beyond it."""
    motion_ratio: MotionRatio = 1.0
    """Stop travel over wheel travel: 1 for a stop described at the wheel, else that of its damper."""

    @property
    def wheel_gap(self) -> float:
        """Rebound travel of the wheel to contact. [m]"""
        return self.gap / self.motion_ratio


class HeaveSpring(Part):
    """A third spring and damper that answer to the mean travel of an axle's wheels."""

    motion_ratio: MotionRatio = 1.0
    """Element travel over mean wheel travel."""
    rate: AddedRate = 0.0
    """Force per element travel; 0 for no heave spring."""
    preload: Force = 0.0
    """Force of the element at static ride height; the corner springs carry the rest."""
    gap: Annotated[float, Unit("m", "mm", 0.0, 0.3)] = 0.0
    """Element travel from static to contact; needs zero preload."""
    bump: Damping = 0.0
    """Force per element speed in bump."""
    rebound: Damping = 0.0
    """Force per element speed in rebound."""

    @model_validator(mode="after")
    def _either_gap_or_preload(self) -> Self:
        if self.gap > 0.0 and self.preload > 0.0:
            raise ValueError("a heave spring with a gap carries no preload; set one of the two to zero")
        return self


class Geometry(Part):
    """What an axle's links do as its wheels travel."""

    spring_motion_ratio: RatioCurve
    """Spring travel over wheel travel."""
    damper_motion_ratio: RatioCurve
    """Damper travel over wheel travel."""
    roll_centre_height: HeightCurve
    """Above the road; per wheel, the height at which its force line meets the centre plane."""
    camber_change: AngleCurve = AngleCurve()
    """Camber against travel; gaining negative camber in bump is a negative slope."""
    bump_steer: AngleCurve = AngleCurve()
    """Toe-in against travel; toe-out in bump is a negative slope."""
    braking_support: RatioCurve = RatioCurve(value=0.0)
    """Side-view slope of the force line at the ground under braking: anti-dive in front.

    Anti-lift at the rear. A file may give either as a share of the load transfer: `anti_dive`, `anti_lift`.
    """
    driving_support: RatioCurve = RatioCurve(value=0.0)
    """Side-view slope at the wheel centre under power: anti-lift in front, anti-squat at the rear.

    A file may give either as a share of the load transfer: `anti_lift`, `anti_squat`.
    """


class CompactTyre(Part):
    """A tyre from what can be felt, seen or looked up; its Magic Formula set is computed."""

    kind: Literal["compact"] = "compact"
    nominal_load: Annotated[float, Unit("N", "N", 500.0, 20000.0)]
    """Load at which the other values hold."""
    peak_friction: Annotated[float, Unit("1", "1", 0.3, 4.0)]
    """Largest lateral force over load, at nominal load, upright."""
    longitudinal_to_lateral: Annotated[float, Unit("1", "1", 0.5, 2.0)] = 1.05
    """Peak longitudinal over peak lateral friction."""
    load_sensitivity: Annotated[float, Unit("1", "1", 0.0, 0.6)]
    """Loss of peak friction per doubling of load from nominal, as a share of it."""
    peak_slip_angle: Annotated[float, Unit("rad", "deg", 0.03, 0.4)]
    """Slip angle of the largest lateral force at nominal load."""
    cornering_stiffness: Annotated[float, Unit("1/rad", "1/deg", 5.0, 60.0)]
    """Lateral force per slip angle and load, at nominal load."""
    peak_slip_ratio: Annotated[float, Unit("1", "1", 0.02, 0.4)] = 0.1
    """Slip ratio of the largest longitudinal force at nominal load."""
    slip_stiffness: Annotated[float, Unit("1", "1", 5.0, 80.0)] = 22.0
    """Longitudinal force per slip ratio and load."""
    camber_stiffness: Annotated[float, Unit("1/rad", "1/deg", 0.0, 6.0)] = 0.9
    """Lateral force per inclination and load at zero slip angle."""
    best_camber: Annotated[float, Unit("rad", "deg", 0.0, 0.15)] = 0.035
    """Inclination into the turn at which lateral grip is largest."""


class MagicFormulaTyre(Part):
    """A tyre by its published coefficients (Pacejka 2006, equations 4.E1 to 4.E67)."""

    kind: Literal["magic-formula"]
    nominal_load: Annotated[float, Unit("N", "N", 500.0, 20000.0)]
    """Fz0 of the coefficient set."""
    coefficients: dict[str, Annotated[float, Unit("1", "1", -1e4, 1e4)]]
    """By the book's names: pCx1 … rVy6; those left out are zero."""


USUAL_TREAD = 0.45
"""Area of the tread that `TyreStint` describes where nothing is said. [m^2]"""
STINT = "from memory, no published source; its size is a choice of ours (docs/stint.md)"
"""Where the constants of `TyreStint` come from where nothing is said."""
STINT_SPREADS: Mapping[str, str] = {
    "sliding_share": "25 %",
    "rolling_resistance": "25 %",
    "tread_capacity": "25 %",
    "carcass_capacity": "30 %",
    "tread_cooling": "35 %",
    "carcass_cooling": "40 %",
    "tread_to_carcass": "40 %",
    "life": "50 %",
    "friction_loss_worn": "60 %",
    "fuel_per_work": "10 %",
}
"""One standard deviation of each where nothing is said; the last is of the engine."""


class TyreStint(Part):
    """What laps do to a tyre: a tread and a carcass that take in heat and give it off, and wear by sliding.

    What a file leaves out is an estimate of ours for a tread of 0.45 m^2, see stint.md.
    """

    sliding_share: Annotated[float, Unit("1", "%", 0.0, 1.0)] = 0.5
    """Of the work of sliding that warms the tread; the rest warms the road."""
    rolling_resistance: Annotated[float, Unit("1", "1", 0.0, 0.05)] = 0.013
    """Force over load that rolling takes; half of its work warms the tread, half the carcass."""
    tread_capacity: Annotated[float, Unit("J/K", "kJ/K", 100.0, 1e5)] = 5.1e3
    """Heat that warms the tread by a kelvin."""
    carcass_capacity: Annotated[float, Unit("J/K", "kJ/K", 100.0, 1e5)] = 10e3
    """Heat that warms the carcass, with what of the rim follows it, and the gas inside."""
    tread_cooling: Annotated[float, Unit("W/K", "W/K", 1.0, 1000.0)] = 60.0
    """Heat that the tread gives to air and road for each kelvin over the air."""
    carcass_cooling: Annotated[float, Unit("W/K", "W/K", 1.0, 1000.0)] = 20.0
    """Heat that side walls and rim give to the air for each kelvin over it."""
    tread_to_carcass: Annotated[float, Unit("W/K", "W/K", 0.0, 1000.0)] = 22.0
    """Heat from tread to carcass for each kelvin between them."""
    life: Annotated[float, Unit("J", "MJ", 1e6, 1e10)] = 70e6
    """Work of sliding after which the tread is worn out."""
    friction_loss_worn: Annotated[float, Unit("1", "%", 0.0, 0.5)] = 0.05
    """Share of peak friction that a worn out tread has lost; in between in proportion to the work."""


class Tyre(Part):
    """One axle's tyres."""

    grip: Annotated[CompactTyre | MagicFormulaTyre, Field(discriminator="kind")]
    """Forces along and across the tread."""
    radius: Annotated[float, Unit("m", "mm", 0.1, 0.8)]
    """Effective rolling radius."""
    vertical_rate: Annotated[float, Unit("N/m", "N/mm", 5e4, 1e6)]
    """At the reference pressure."""
    vertical_damping: Annotated[float, Unit("N*s/m", "N*s/m", 0.0, 5000.0)] = 100.0
    """Of the carcass, wheel rolling."""
    relaxation_length_lateral: Annotated[float, Unit("m", "mm", 0.02, 2.0)] = 0.3
    """Rolling distance over which lateral force answers a slip angle."""
    relaxation_length_longitudinal: Annotated[float, Unit("m", "mm", 0.02, 2.0)] = 0.1
    """Rolling distance over which longitudinal force answers a slip ratio."""
    contact_length: Annotated[float, Unit("m", "mm", 0.02, 0.4)] = 0.1
    """Length of the contact patch: shorter bumps are smoothed over it."""
    pressure: Pressure
    """Hot."""
    reference_pressure: Pressure
    """At which the other values hold."""
    rate_per_pressure: Annotated[float, Unit("1", "1", 0.0, 2.0)] = 0.8
    """Relative change of vertical rate per relative change of pressure."""
    best_pressure: Pressure
    """At which peak friction is largest."""
    friction_loss_per_pressure: Annotated[float, Unit("1", "1", 0.0, 5.0)] = 0.6
    """Relative loss of peak friction is this times (relative distance from best pressure)^2."""
    stiffness_per_pressure: Annotated[float, Unit("1", "1", -2.0, 2.0)] = 0.3
    """Relative change of cornering stiffness per relative change of pressure."""
    temperature: Temperature = 353.15
    """Of the tread."""
    best_temperature: Temperature = 353.15
    """At which peak friction is largest."""
    friction_loss_width: Annotated[float, Unit("K", "K", 5.0, 300.0)] = 60.0
    """Distance from best temperature at which a tenth of peak friction is lost.

    The loss grows with its square.
    """
    stiffness_per_temperature: Annotated[float, Unit("1/K", "1/K", -0.02, 0.0)] = -0.002
    """Relative change of cornering and slip stiffness per kelvin above best temperature."""
    worn: Share = 0.0
    """How much of its life the tread has behind it; 0 is new."""
    road_friction: Annotated[float, Unit("1", "%", 0.1, 1.5)] = 1.0
    """Peak friction on the road at hand over that written here: below 100 % on a wet or dirty one."""
    stint: TyreStint = TyreStint()


class Axle(Part):
    """One end of the car: two wheels and what carries them."""

    track_width: Annotated[float, Unit("m", "mm", 0.5, 2.5)]
    """Between the centres of the two contact patches."""
    unsprung_mass: PartMass
    """Of one wheel with its share of the links."""
    unsprung_cg_height: Annotated[float, Unit("m", "mm", 0.05, 0.8)]
    """Above the road."""
    wheel_spin_inertia: Annotated[float, Unit("kg*m**2", "kg*m**2", 0.1, 10.0)]
    """Of one wheel, tyre, disc and its share of the shafts."""
    design_ride_height: Height
    """Underside over the road at the axle, at which the geometry is described."""
    ride_height: Height
    """Underside over the road at the axle, as set; the spring platforms are moved to give it."""
    camber: Angle
    """Static, as set; negative with the top inward."""
    toe: Angle
    """Static, of each wheel, as set; positive is toe-in."""
    geometry: Geometry
    spring: Spring
    bar: AntiRollBar = AntiRollBar()
    damper: Annotated[TwoSlopeDamper | MeasuredDamper, Field(discriminator="kind")]
    bump_stop: BumpStop
    droop_stop: DroopStop
    heave: HeaveSpring = HeaveSpring()
    tyre: Tyre


class Steering(Part):
    """From the steering wheel to the road wheels."""

    ratio: Annotated[float, Unit("1", "1", 4.0, 30.0)]
    """Steering-wheel angle over mean road-wheel angle."""
    ackermann_share: Annotated[float, Unit("1", "%", -1.0, 2.0)] = 0.5
    """0: parallel steering; 100 %: both front wheels point at the turn's centre."""
    caster: Annotated[float, Unit("rad", "deg", -0.1, 0.25)] = 0.09
    """Leans both front wheels into the turn as they are steered."""


class Brakes(Part):
    """Service brakes, outboard."""

    full_pedal_torque: Annotated[float, Unit("N*m", "N*m", 500.0, 40000.0)]
    """Sum of the four wheels' brake torques at full pedal."""
    front_share: Annotated[float, Unit("1", "%", 0.3, 0.9)]
    """Share of the torque on the front axle."""


class OpenDifferential(Part):
    """Splits torque equally."""

    kind: Literal["open"] = "open"


class PlateDifferential(Part):
    """Friction plates that lock with torque."""

    kind: Literal["plate"]
    preload: Annotated[float, Unit("N*m", "N*m", 0.0, 1000.0)]
    """Difference of output torques it holds without input torque."""
    power_lock: Share
    """Locking torque over input torque under power."""
    coast_lock: Share
    """Locking torque over input torque on the overrun."""


class TorqueBiasingDifferential(Part):
    """Gears that send torque to the slower wheel up to a ratio."""

    kind: Literal["torque-biasing"]
    bias_ratio: Annotated[float, Unit("1", "1", 1.0, 6.0)]
    """Largest ratio of the two output torques."""
    preload: Annotated[float, Unit("N*m", "N*m", 0.0, 1000.0)] = 0.0
    """Difference of output torques it holds without input torque."""


class ViscousDifferential(Part):
    """A fluid coupling between the wheels."""

    kind: Literal["viscous"]
    rate: Annotated[float, Unit("N*m*s/rad", "N*m*s/rad", 0.0, 500.0)]
    """Difference of output torques per difference of wheel speeds."""


class LockedDifferential(Part):
    """A spool: both wheels turn together."""

    kind: Literal["locked"]


Differential = Annotated[
    OpenDifferential
    | PlateDifferential
    | TorqueBiasingDifferential
    | ViscousDifferential
    | LockedDifferential,
    Field(discriminator="kind"),
]


class Driveline(Part):
    """Engine, gears and differentials."""

    front_drive_share: Share
    """Share of the drive torque on the front axle: 0 rear drive, 1 front drive."""
    engine_speed: list[Annotated[float, Unit("rad/s", "rpm", 0.0, 2500.0)]]
    """Speeds of the torque curve, rising."""
    engine_torque: list[Annotated[float, Unit("N*m", "N*m", 0.0, 3000.0)]]
    """Full-throttle torque at each speed."""
    overrun_torque: Annotated[float, Unit("N*m", "N*m", 0.0, 500.0)]
    """Engine braking torque at the highest engine speed, throttle closed; falls linearly to zero speed."""
    gear_ratios: list[Annotated[float, Unit("1", "1", 0.2, 10.0)]]
    """From first gear up."""
    final_drive: Annotated[float, Unit("1", "1", 0.5, 15.0)]
    """Gearbox output speed over wheel speed."""
    efficiency: Annotated[float, Unit("1", "%", 0.5, 1.0)] = 0.93
    """From engine to wheels."""
    fuel_per_work: Annotated[float, Unit("kg/J", "g/(kW*h)", 3e-8, 5e-7)] = 8.6e-8
    """Fuel burnt for the work of the engine: its specific consumption, mean over a lap."""
    front_differential: Differential = OpenDifferential()
    rear_differential: Differential = OpenDifferential()

    @model_validator(mode="after")
    def _curves_are_usable(self) -> Self:
        if len(self.engine_speed) != len(self.engine_torque) or len(self.engine_speed) < 2:
            raise ValueError(
                "engine_speed and engine_torque need one value each per point, two points at least"
            )
        if min(np.diff(self.engine_speed)) <= 0.0:
            raise ValueError("engine_speed must rise from point to point")
        if not self.gear_ratios or (len(self.gear_ratios) > 1 and max(np.diff(self.gear_ratios)) >= 0.0):
            raise ValueError("gear_ratios must fall from first gear up")
        return self


class AreaSurface(Part):
    """An area against the two ride heights f and r, counted from the map's reference heights."""

    constant: Area
    """At the reference heights."""
    f: Annotated[float, Unit("m**2/m", "m**2/m", -200.0, 200.0)] = 0.0
    """Change per front ride height."""
    r: Annotated[float, Unit("m**2/m", "m**2/m", -200.0, 200.0)] = 0.0
    """Change per rear ride height."""
    ff: Annotated[float, Unit("m**2/m**2", "m**2/m**2", -5000.0, 5000.0)] = 0.0
    """Coefficient of f squared."""
    fr: Annotated[float, Unit("m**2/m**2", "m**2/m**2", -5000.0, 5000.0)] = 0.0
    """Coefficient of f times r."""
    rr: Annotated[float, Unit("m**2/m**2", "m**2/m**2", -5000.0, 5000.0)] = 0.0
    """Coefficient of r squared."""


class AeroMap(Part):
    """Downforce and drag areas (force over dynamic pressure) against ride heights."""

    reference_front_height: Height
    """Front ride height from which the map counts."""
    reference_rear_height: Height
    """Rear ride height from which the map counts."""
    lowest_front_height: Height
    """Lowest front ride height the map covers; it is held at its edge outside."""
    highest_front_height: Height
    """Highest front ride height the map covers."""
    lowest_rear_height: Height
    """Lowest rear ride height the map covers."""
    highest_rear_height: Height
    """Highest rear ride height the map covers."""
    front_downforce: AreaSurface
    """Downforce at the front axle; lift is negative."""
    rear_downforce: AreaSurface
    """Downforce at the rear axle."""
    drag: AreaSurface
    """Drag of the whole car."""


class Wing(Part):
    """An adjustable wing, as offsets to the map."""

    angle: Annotated[float, Unit("rad", "deg", -0.5, 1.0)] = 0.0
    """As set, from the position the map was made in."""
    front_downforce_area_per_angle: Annotated[float, Unit("m**2/rad", "m**2/deg", -20.0, 20.0)] = 0.0
    """Downforce area it adds at the front axle."""
    rear_downforce_area_per_angle: Annotated[float, Unit("m**2/rad", "m**2/deg", -20.0, 20.0)] = 0.0
    """Downforce area it adds at the rear axle."""
    drag_area_per_angle: Annotated[float, Unit("m**2/rad", "m**2/deg", -5.0, 5.0)] = 0.0
    """Drag area it adds."""


class Aero(Part):
    """Downforce and drag."""

    map: AeroMap
    front_wing: Wing = Wing()
    rear_wing: Wing = Wing()
    drag_height: Annotated[float, Unit("m", "mm", 0.0, 2.0)]
    """Height at which drag acts."""
    air_density: Annotated[float, Unit("kg/m**3", "kg/m**3", 0.5, 1.5)] = 1.2
    """Of the air the car drives in."""
