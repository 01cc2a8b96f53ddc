"""The only bridge from a car to the kernels: parameters in, one flat vector out."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fourpatch.car.car import Car
from fourpatch.car.damper_curve import damper_knots
from fourpatch.car.gravity import GRAVITY
from fourpatch.car.parameters import (
    AngleCurve,
    AreaSurface,
    Axle,
    Differential,
    HeightCurve,
    LockedDifferential,
    PlateDifferential,
    RatioCurve,
    TorqueBiasingDifferential,
    ViscousDifferential,
)
from fourpatch.car.tyre_coefficients import tyre_coefficients
from fourpatch.errors import CarError
from fourpatch.physics.layout import CORNER_BASE, KNOTS, N_CORNER, N_PARAMETER, TYRE_BASE, C, P
from fourpatch.physics.tyre import N_TYRE

Vector = NDArray[np.float64]

CORNER_NAMES = ("FL", "FR", "RL", "RR")
SIDES = (1.0, -1.0, 1.0, -1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class MassProperties:
    """Masses of a car with its fuel, at the ride heights as set. SI units."""

    total: float
    """[kg]"""
    sprung: float
    """[kg]"""
    cg_to_front: float
    """Whole car's centre of gravity behind the front axle. [m]"""
    cg_to_rear: float
    """[m]"""
    cg_height: float
    """[m]"""
    cg_lateral: float
    """To the left of the centre plane. [m]"""
    sprung_to_front: float
    """Sprung centre of gravity behind the front axle. [m]"""
    sprung_height: float
    """[m]"""
    sprung_lateral: float
    """[m]"""
    roll_inertia: float
    """Sprung mass about its own centre of gravity. [kg m^2]"""
    pitch_inertia: float
    yaw_inertia: float
    """Whole car. [kg m^2]"""


def mass_properties(car: Car) -> MassProperties:
    """Return masses, centres of gravity and inertias with fuel, at the ride heights as set.

    Raises
    ------
    CarError
        If the wheels weigh as much as the car, or a centre of gravity leaves the wheelbase.

    Notes
    -----
    Fuel is added to the sprung mass by parallel axes with the reduced mass m_c m_f / (m_c + m_f).
    Moving the ride heights from design moves the sprung mass with the body.
    """
    chassis, fuel = car.chassis, car.fuel
    dry, wheelbase = chassis.mass, chassis.wheelbase
    unsprung_front, unsprung_rear = 2.0 * car.front.unsprung_mass, 2.0 * car.rear.unsprung_mass
    unsprung = unsprung_front + unsprung_rear
    total = dry + fuel.mass
    sprung = total - unsprung
    if sprung - fuel.mass < 0.3 * dry:
        raise CarError(
            f"front.unsprung_mass, rear.unsprung_mass: the four wheels weigh {unsprung:.0f} kg of "
            f"chassis.mass {dry:.0f} kg; at least 30 % of the car must be sprung. Give unsprung mass for "
            "one wheel in kg."
        )
    dry_behind = wheelbase * (1.0 - chassis.front_weight_share)
    behind = (dry * dry_behind + fuel.mass * fuel.distance_behind_front_axle) / total
    height = (dry * chassis.cg_height + fuel.mass * fuel.height) / total
    lateral = dry * chassis.cg_lateral_offset / total
    sprung_behind = (total * behind - unsprung_rear * wheelbase) / sprung
    unsprung_moment = (
        unsprung_front * car.front.unsprung_cg_height + unsprung_rear * car.rear.unsprung_cg_height
    )
    design_height = (total * height - unsprung_moment) / sprung
    raised_front = car.front.ride_height - car.front.design_ride_height
    raised_rear = car.rear.ride_height - car.rear.design_ride_height
    raised = raised_front + (raised_rear - raised_front) * sprung_behind / wheelbase
    reduced = dry * fuel.mass / total
    along = fuel.distance_behind_front_axle - dry_behind
    above = fuel.height - chassis.cg_height
    properties = MassProperties(
        total=total,
        sprung=sprung,
        cg_to_front=behind,
        cg_to_rear=wheelbase - behind,
        cg_height=height + raised * sprung / total,
        cg_lateral=lateral,
        sprung_to_front=sprung_behind,
        sprung_height=design_height + raised,
        sprung_lateral=lateral * total / sprung,
        roll_inertia=chassis.roll_inertia + reduced * above**2,
        pitch_inertia=chassis.pitch_inertia + reduced * (above**2 + along**2),
        yaw_inertia=chassis.yaw_inertia + reduced * along**2,
    )
    _refuse_impossible_centres(properties, wheelbase)
    return properties


def _refuse_impossible_centres(masses: MassProperties, wheelbase: float) -> None:
    for what, behind in (("whole car", masses.cg_to_front), ("sprung mass", masses.sprung_to_front)):
        if not 0.05 * wheelbase < behind < 0.95 * wheelbase:
            raise CarError(
                f"chassis.front_weight_share: puts the centre of gravity of the {what} {behind * 1e3:.0f} mm "
                f"behind the front axle of a wheelbase of {wheelbase * 1e3:.0f} mm; it must lie well inside. "
                "Check front weight share, fuel position and unsprung masses."
            )
    if masses.sprung_height <= 0.0:
        raise CarError(
            f"chassis.cg_height: leaves the sprung mass {masses.sprung_height * 1e3:.0f} mm above the road; "
            "raise it or lower the unsprung centres of gravity."
        )


def static_tyre_loads(car: Car) -> tuple[float, float, float, float]:
    """Return the four tyre loads at rest, FL, FR, RL, RR. [N]

    Raises
    ------
    CarError
        If a wheel would lift at rest.

    Notes
    -----
    Axle loads from the centre of gravity; the left-right split from its lateral offset; the diagonal
    from the cross-weight share, which four springs can set freely.
    """
    masses = mass_properties(car)
    weight, wheelbase = masses.total * GRAVITY, car.chassis.wheelbase
    front = weight * masses.cg_to_rear / wheelbase
    rear = weight - front
    tracks = car.front.track_width + car.rear.track_width
    diagonal = (2.0 * car.chassis.cross_weight_share - 1.0) * weight
    front_difference = (2.0 * weight * masses.cg_lateral - car.rear.track_width * diagonal) / tracks
    rear_difference = front_difference + diagonal
    loads = (
        0.5 * (front + front_difference),
        0.5 * (front - front_difference),
        0.5 * (rear + rear_difference),
        0.5 * (rear - rear_difference),
    )
    for name, load, axle in zip(CORNER_NAMES, loads, (car.front, car.front, car.rear, car.rear), strict=True):
        if load <= 1.1 * axle.unsprung_mass * GRAVITY:
            raise CarError(
                f"chassis.cross_weight_share, chassis.cg_lateral_offset: tyre {name} would carry "
                f"{load:.0f} N "
                "at rest, no more than its own wheel; bring cross weight toward 50 % or the centre of "
                "gravity "
                "to the middle."
            )
    return loads


def pack(car: Car) -> Vector:
    """Return the flat parameter vector of a car, shape (N_PARAMETER,), in the order of `layout`.

    Raises
    ------
    CarError
        If the car cannot stand at its ride heights.
    """
    vector = np.zeros(N_PARAMETER)
    masses = mass_properties(car)
    loads = static_tyre_loads(car)
    _pack_chassis(vector, car, masses)
    _pack_aero(vector, car, masses)
    _pack_driveline(vector, car)
    for corner in range(4):
        _pack_corner(vector, car, masses, corner, loads[corner])
    for axle, tyre in enumerate((car.front.tyre, car.rear.tyre)):
        start = TYRE_BASE + axle * N_TYRE
        try:
            vector[start : start + N_TYRE] = tyre_coefficients(tyre)
        except CarError as error:
            raise CarError(f"{('front', 'rear')[axle]}.{error}") from None
    return vector


def static_travel(axle: Axle) -> float:
    """Return the bump travel from design ride height at which an axle stands. [m]"""
    return axle.design_ride_height - axle.ride_height


def roll_axis_arm(car: Car, masses: MassProperties) -> float:
    """Return the height of the sprung centre of gravity above the roll axis at rest. [m]"""
    front, rear = (
        _shifted(axle.geometry.roll_centre_height, static_travel(axle))[0] for axle in (car.front, car.rear)
    )
    along = masses.sprung_to_front / car.chassis.wheelbase
    return masses.sprung_height - (front + (rear - front) * along)


def _pack_chassis(vector: Vector, car: Car, masses: MassProperties) -> None:
    front, rear = car.front, car.rear
    vector[P.total_mass] = masses.total
    vector[P.sprung_mass] = masses.sprung
    vector[P.roll_inertia] = masses.roll_inertia
    vector[P.pitch_inertia] = masses.pitch_inertia
    vector[P.yaw_inertia] = masses.yaw_inertia
    vector[P.sprung_cg_height] = masses.sprung_height
    vector[P.unsprung_moment] = 2.0 * sum(a.unsprung_mass * a.unsprung_cg_height for a in (front, rear))
    vector[P.gravity] = GRAVITY
    vector[P.gravity_roll_moment] = masses.sprung * GRAVITY * roll_axis_arm(car, masses)
    vector[P.cg_to_front] = masses.cg_to_front
    vector[P.cg_to_rear] = masses.cg_to_rear
    vector[[P.finds_slips, P.lateral_load_sharing]] = 1.0
    vector[P.front_bar_rate] = front.bar.rate * front.bar.motion_ratio**2
    vector[P.rear_bar_rate] = rear.bar.rate * rear.bar.motion_ratio**2
    for slot, axle in ((P.front_heave_rate, front), (P.rear_heave_rate, rear)):
        ratio = axle.heave.motion_ratio
        vector[slot : slot + 5] = (
            axle.heave.rate * ratio**2,
            axle.heave.preload * ratio,
            axle.heave.gap / ratio,
            axle.heave.bump * ratio**2,
            axle.heave.rebound * ratio**2,
        )
    vector[P.front_axle_x] = masses.sprung_to_front
    vector[P.rear_axle_x] = masses.sprung_to_front - car.chassis.wheelbase
    vector[P.front_ride_height] = front.ride_height
    vector[P.rear_ride_height] = rear.ride_height


def _surface(surface: AreaSurface, added: float) -> tuple[float, ...]:
    return (surface.constant + added, surface.f, surface.r, surface.ff, surface.fr, surface.rr)


def _pack_aero(vector: Vector, car: Car, masses: MassProperties) -> None:
    aero, wings = car.aero, (car.aero.front_wing, car.aero.rear_wing)
    vector[P.air_density] = aero.air_density
    vector[P.drag_height] = aero.drag_height
    vector[P.front_map_height] = aero.map.reference_front_height
    vector[P.rear_map_height] = aero.map.reference_rear_height
    vector[P.front_map_low] = aero.map.lowest_front_height
    vector[P.front_map_high] = aero.map.highest_front_height
    vector[P.rear_map_low] = aero.map.lowest_rear_height
    vector[P.rear_map_high] = aero.map.highest_rear_height
    vector[P.front_downforce : P.front_downforce + 6] = _surface(
        aero.map.front_downforce, sum(w.angle * w.front_downforce_area_per_angle for w in wings)
    )
    vector[P.rear_downforce : P.rear_downforce + 6] = _surface(
        aero.map.rear_downforce, sum(w.angle * w.rear_downforce_area_per_angle for w in wings)
    )
    vector[P.drag : P.drag + 6] = _surface(aero.map.drag, sum(w.angle * w.drag_area_per_angle for w in wings))


def differential_lock(differential: Differential) -> tuple[float, float, float, float]:
    """Return preload [N m], power share, coast share and viscous rate [N m s/rad] of a differential.

    Notes
    -----
    A torque-biasing differential of ratio b locks (b - 1) / (b + 1) of its torque. A spool is a
    preload no tyre overcomes.
    """
    match differential:
        case PlateDifferential():
            return differential.preload, differential.power_lock, differential.coast_lock, 0.0
        case TorqueBiasingDifferential():
            share = (differential.bias_ratio - 1.0) / (differential.bias_ratio + 1.0)
            return differential.preload, share, share, 0.0
        case ViscousDifferential():
            return 0.0, 0.0, 0.0, differential.rate
        case LockedDifferential():
            return 1e5, 0.0, 0.0, 0.0
    return 0.0, 0.0, 0.0, 0.0


def _pack_driveline(vector: Vector, car: Car) -> None:
    vector[P.brake_torque] = car.brakes.full_pedal_torque
    vector[P.brake_front_share] = car.brakes.front_share
    vector[P.drive_front_share] = car.driveline.front_drive_share
    vector[P.front_lock_preload : P.front_lock_preload + 4] = differential_lock(
        car.driveline.front_differential
    )
    vector[P.rear_lock_preload : P.rear_lock_preload + 4] = differential_lock(car.driveline.rear_differential)
    # A held clutch answers within 2 ms: stiff to a driver, soft to the integrator.
    vector[P.lock_stiffness] = 500.0 * min(car.front.wheel_spin_inertia, car.rear.wheel_spin_inertia)


def _shifted(curve: RatioCurve | HeightCurve, start: float) -> tuple[float, float, float]:
    """Rewrite a quadratic of travel about another starting travel."""
    return (
        curve.value + start * (curve.slope + start * curve.curvature),
        curve.slope + 2.0 * curve.curvature * start,
        curve.curvature,
    )


def _changed(curve: AngleCurve, start: float, static: float) -> tuple[float, float, float]:
    """Return an angle as set, and how it changes with travel from there."""
    return static, curve.slope + 2.0 * curve.curvature * start, curve.curvature


def _scaled(coefficients: tuple[float, float, float], factor: float) -> Vector:
    return factor * np.array(coefficients)


def _pack_corner(vector: Vector, car: Car, masses: MassProperties, corner: int, load: float) -> None:
    front, side = corner < 2, SIDES[corner]
    axle = car.front if front else car.rear
    wheelbase = car.chassis.wheelbase
    block = vector[CORNER_BASE + corner * N_CORNER : CORNER_BASE + (corner + 1) * N_CORNER]
    behind = 0.0 if front else wheelbase
    block[C.x] = masses.sprung_to_front - behind
    block[C.y] = side * axle.track_width / 2.0 - masses.sprung_lateral
    block[C.planar_x] = masses.cg_to_front - behind
    block[C.planar_y] = side * axle.track_width / 2.0 - masses.cg_lateral
    block[C.unsprung_mass] = axle.unsprung_mass
    block[C.unsprung_couple] = side * 2.0 * axle.unsprung_mass * axle.unsprung_cg_height / axle.track_width
    _pack_links(block, axle, side=side, end=-1.0 if front else 1.0)
    _pack_springs(block, axle, load, CORNER_NAMES[corner])
    _pack_damper(block, axle)
    block[C.steer_share] = 1.0 if front else 0.0
    if front:
        block[C.ackermann] = side * car.steering.ackermann_share * axle.track_width / (2.0 * wheelbase)
        block[C.caster] = car.steering.caster
    block[C.tyre_rate] = _tyre_rate(axle)
    block[C.tyre_damping] = axle.tyre.vertical_damping
    block[C.tyre_static_deflection] = load / block[C.tyre_rate]
    block[C.tyre_radius] = axle.tyre.radius
    block[C.relaxation_x] = axle.tyre.relaxation_length_longitudinal
    block[C.relaxation_y] = axle.tyre.relaxation_length_lateral
    block[C.spin_inertia] = axle.wheel_spin_inertia


def _tyre_rate(axle: Axle) -> float:
    tyre = axle.tyre
    return tyre.vertical_rate * (
        1.0 + tyre.rate_per_pressure * (tyre.pressure / tyre.reference_pressure - 1.0)
    )


def _pack_links(block: Vector, axle: Axle, *, side: float, end: float) -> None:
    """Write what the links do; ``end`` is -1 in front, where support lifts the body against -F_x."""
    geometry, start = axle.geometry, static_travel(axle)
    block[C.spring_ratio : C.spring_ratio + 3] = _shifted(geometry.spring_motion_ratio, start)
    block[C.damper_ratio : C.damper_ratio + 3] = _shifted(geometry.damper_motion_ratio, start)
    block[C.lateral_jack : C.lateral_jack + 3] = _scaled(
        _shifted(geometry.roll_centre_height, start), -side * 2.0 / axle.track_width
    )
    block[C.drive_jack : C.drive_jack + 3] = _scaled(_shifted(geometry.driving_support, start), end)
    block[C.brake_jack : C.brake_jack + 3] = _scaled(_shifted(geometry.braking_support, start), end)
    block[C.inclination : C.inclination + 3] = _scaled(
        _changed(geometry.camber_change, start, axle.camber), -side
    )
    block[C.steer : C.steer + 3] = _scaled(_changed(geometry.bump_steer, start, axle.toe), -side)


def _pack_springs(block: Vector, axle: Axle, load: float, name: str) -> None:
    """Write springs and stops so that the corner stands still under its static load.

    A stop of constant motion ratio r, its force k x + p x^2 over its own travel, gives the wheel
    k r^2 x_w + p r^3 x_w^2 (virtual work).
    """
    end = "front" if name[0] == "F" else "rear"
    start = static_travel(axle)
    block[C.stop_gap] = axle.bump_stop.wheel_gap - start
    block[C.stop_rate] = axle.bump_stop.rate * axle.bump_stop.motion_ratio**2
    block[C.stop_progression] = axle.bump_stop.progression * axle.bump_stop.motion_ratio**3
    block[C.droop_gap] = axle.droop_stop.wheel_gap + start
    block[C.droop_rate] = axle.droop_stop.rate * axle.droop_stop.motion_ratio**2
    into_stop = max(0.0, -block[C.stop_gap])
    stop = float(into_stop * (block[C.stop_rate] + into_stop * block[C.stop_progression]))
    heave = 0.5 * axle.heave.preload * axle.heave.motion_ratio
    carried = load - axle.unsprung_mass * GRAVITY - stop - heave
    if carried <= 0.0 or block[C.droop_gap] < 0.0:
        raise CarError(
            f"{end}.ride_height: at {axle.ride_height * 1e3:.1f} mm corner {name} stands on its stops (bump "
            f"stop {stop:.0f} N, heave spring {heave:.0f} N of {load:.0f} N, "
            f"{block[C.droop_gap] * 1e3:.1f} mm to "
            "the droop stop), so its spring carries nothing. Bring ride height toward design, or move the "
            "stops."
        )
    ratio = float(block[C.spring_ratio])
    if ratio <= 0.05:
        raise CarError(
            f"{end}.geometry.spring_motion_ratio: {ratio:.3f} at the ride height as set; it must stay "
            "above 0.05"
        )
    block[C.spring_rate] = axle.spring.rate
    helper = axle.spring.helper_rate
    block[C.helper_rate] = (
        axle.spring.rate * helper / (axle.spring.rate + helper) if helper > 0.0 else axle.spring.rate
    )
    block[C.helper_block_force] = axle.spring.helper_block_force if helper > 0.0 else 0.0
    open_helper = carried / ratio <= block[C.helper_block_force]
    softest = float(block[C.helper_rate] if open_helper else axle.spring.rate)
    slope = float(block[C.spring_ratio_1])
    touched = float(block[C.stop_rate] + 2.0 * into_stop * block[C.stop_progression]) if into_stop else 0.0
    wheel_rate = softest * ratio**2 + carried / ratio * slope + touched
    if wheel_rate <= 0.0:
        raise CarError(
            f"{end}.geometry.spring_motion_ratio: falls by {-slope:.3g} per metre of travel, so that the "
            f"spring gives way faster than it is pressed: {wheel_rate / 1e3:.1f} N/mm at the wheel. Corner "
            f"{name} cannot stand so. Give a smaller slope, or a stiffer spring."
        )
    # The kernel counts from the main spring's line; an open helper stands on the softer one below it.
    short = min(carried / ratio - block[C.helper_block_force], 0.0)
    stretch = axle.spring.rate / block[C.helper_rate] - 1.0
    block[C.spring_static_force] = carried / ratio + short * stretch


def _pack_damper(block: Vector, axle: Axle) -> None:
    curve = damper_knots(axle.damper)
    block[C.damper_friction] = axle.damper.friction
    block[C.bump_slope], block[C.rebound_slope] = curve.bump_slope, curve.rebound_slope
    for slot, speeds, changes in (
        (C.bump_knots, curve.bump_speeds, curve.bump_changes),
        (C.rebound_knots, curve.rebound_speeds, curve.rebound_changes),
    ):
        block[slot : slot + KNOTS] = speeds
        block[slot + KNOTS : slot + 2 * KNOTS] = changes
