"""Whether a car can exist, and what about it is odd.

Each check is a function of the car alone. The limits of single numbers are in their `Unit`; here is
what only several numbers together can tell. What cannot be is a fault and refused; what merely looks
like a slip is an oddity, said with the rule behind it, and run all the same.
"""

import math
from collections.abc import Callable, Iterable, Iterator
from itertools import pairwise
from typing import TYPE_CHECKING

from fourpatch.car.adjusters import adjuster_faults
from fourpatch.car.evidence import evidence_faults
from fourpatch.car.parameters import Axle, CompactTyre, MeasuredDamper, RatioCurve, TwoSlopeDamper
from fourpatch.car.paths import parameters
from fourpatch.car.provenance import provenance_faults
from fourpatch.document.fault import Fault, Key
from fourpatch.errors import CarError

if TYPE_CHECKING:
    from fourpatch.car.car import Car

LEAST_RATIO = 0.1
"""Below it an element hardly moves with its wheel; no car is built so."""


def car_faults(car: "Car") -> list[Fault]:
    """Return everything that keeps a car from existing, each with its place in the file."""
    return [fault for check in FAULT_CHECKS for fault in check(car)] or packs(car)


def oddities(car: "Car") -> list[str]:
    """Return what about a car looks like a slip without being impossible, a sentence each."""
    return [sentence for check in ODDITY_CHECKS for sentence in check(car)]


# What cannot be


def fuel_inside(car: "Car") -> Iterator[Fault]:
    """Refuse a tank off the car: more than a long overhang beyond either axle."""
    behind, wheelbase = car.fuel.distance_behind_front_axle, car.chassis.wheelbase
    overhang = 1.2
    if not -overhang <= behind <= wheelbase + overhang:
        yield Fault(
            ("fuel", "distance_behind_front_axle"),
            f"is {behind * 1e3:.0f} mm, off the car: its wheelbase is {wheelbase * 1e3:.0f} mm. Measure "
            "from the front "
            f"axle rearward to the middle of the tank, {-overhang * 1e3:.0f} to "
            f"{(wheelbase + overhang) * 1e3:.0f} mm.",
        )


def centre_of_gravity_in_body(car: "Car") -> Iterator[Fault]:
    """Refuse a centre of gravity below the underside or far from the middle."""
    chassis, share = car.chassis, car.chassis.front_weight_share
    underside = share * car.front.design_ride_height + (1.0 - share) * car.rear.design_ride_height
    if chassis.cg_height <= underside:
        yield Fault(
            ("chassis", "cg_height"),
            f"is {chassis.cg_height * 1e3:.0f} mm, not above the underside, {underside * 1e3:.0f} mm there "
            "at design ride "
            "height. Count it from the road, and ride heights from the road to the underside.",
        )
    half_track = 0.5 * min(car.front.track_width, car.rear.track_width)
    if abs(chassis.cg_lateral_offset) >= 0.5 * half_track:
        yield Fault(
            ("chassis", "cg_lateral_offset"),
            f"is {chassis.cg_lateral_offset * 1e3:.0f} mm, more than half way from the middle to a wheel "
            f"({half_track * 1e3:.0f} mm). It is counted from the centre plane, to the left.",
        )


def masses_add_up(car: "Car") -> Iterator[Fault]:
    """Refuse masses and centres that leave no body to spring or a wheel off the road."""
    from fourpatch.car.pack import mass_properties, static_tyre_loads

    yield from _refused_by(mass_properties, car) or _refused_by(static_tyre_loads, car)


def packs(car: "Car") -> list[Fault]:
    """Refuse all else that the kernels refuse: springs that carry nothing at rest, tyres without sense."""
    from fourpatch.car.pack import pack

    return _refused_by(pack, car)


def _refused_by(step: Callable[["Car"], object], car: "Car") -> list[Fault]:
    try:
        step(car)
    except CarError as error:
        where, _, text = str(error).partition(": ")  # every CarError begins with the keys it is about
        return [Fault(tuple(where.split(",")[0].split(".")), text)]
    return []


def suspension_moves(car: "Car") -> Iterator[Fault]:
    """Refuse a wheel without travel, and a spring or damper that does not move with its wheel."""
    for end, axle in (("front", car.front), ("rear", car.rear)):
        if axle.bump_stop.wheel_gap + axle.droop_stop.wheel_gap < 1e-3:
            yield Fault(
                (end, "bump_stop", "gap"),
                f"and {end}.droop_stop.gap leave less than 1 mm of travel. Give the wheel travel from "
                "design ride height "
                "to each stop.",
            )
        for name in ("spring_motion_ratio", "damper_motion_ratio"):
            yield from _ratio_stays_above_zero(axle, (end, "geometry", name), getattr(axle.geometry, name))


def _ratio_stays_above_zero(axle: Axle, key: Key, ratio: RatioCurve) -> Iterator[Fault]:
    what = str(key[-1]).split("_")[0]
    if ratio.value < LEAST_RATIO:
        yield Fault(
            (*key, "value"),
            f"is {ratio.value:g}, below {LEAST_RATIO}. It is {what} travel over wheel travel, mostly 0.3 "
            "to 1.2. "
            + (
                f"Did you mean {-ratio.value:g}?"
                if ratio.value <= -LEAST_RATIO
                else f"With 0 the {what} does nothing."
            ),
        )
        return
    ends = (-axle.droop_stop.wheel_gap, axle.bump_stop.wheel_gap)
    turning = -0.5 * ratio.slope / ratio.curvature if ratio.curvature else 0.0
    least = min((*ends, min(max(turning, ends[0]), ends[1])), key=lambda x: _at(ratio, x))
    if _at(ratio, least) < LEAST_RATIO:
        yield Fault(
            key,
            f"falls to {_at(ratio, least):.2f} at {least * 1e3:+.0f} mm of wheel travel, within the stops; "
            "it must stay above "
            f"{LEAST_RATIO}. Check slope and curvature: they count per metre of wheel travel.",
        )


def _at(ratio: RatioCurve, travel: float) -> float:
    return ratio.value + travel * (ratio.slope + travel * ratio.curvature)


def tyre_can_peak(car: "Car") -> Iterator[Fault]:
    """Refuse a tyre whose slope at zero slip does not reach its peak by the slip of the peak."""
    for end, axle in (("front", car.front), ("rear", car.rear)):
        grip = axle.tyre.grip
        if not isinstance(grip, CompactTyre):
            continue
        along = grip.peak_friction * grip.longitudinal_to_lateral
        for stiffness, slip, peak in (
            ("cornering_stiffness", "peak_slip_angle", grip.peak_friction),
            ("slip_stiffness", "peak_slip_ratio", along),
        ):
            reached = getattr(grip, stiffness) * getattr(grip, slip)
            if reached <= peak:
                units = {p.path: p.unit for p in parameters(grip)}
                yield Fault(
                    (end, "tyre", "grip", stiffness),
                    f"is {units[stiffness].brief(getattr(grip, stiffness))}; times {slip}, "
                    f"{units[slip].brief(getattr(grip, slip))}, that is {reached:.2f}, short of the peak "
                    "friction "
                    f"{peak:.2f} there. A tyre starts off steeper than it goes on: raise one of the two.",
                )


def aero_map_has_extent(car: "Car") -> Iterator[Fault]:
    """Refuse an aerodynamic map without extent, and drag that pushes."""
    aero = car.aero.map
    for end in ("front", "rear"):
        low, high = getattr(aero, f"lowest_{end}_height"), getattr(aero, f"highest_{end}_height")
        if high <= low:
            yield Fault(
                ("aero", "map", f"highest_{end}_height"),
                f"is {high * 1e3:.0f} mm, not above lowest_{end}_height, {low * 1e3:.0f} mm. Swap them?",
            )
    if aero.drag.constant < 0.0:
        yield Fault(
            ("aero", "map", "drag", "constant"),
            f"is {aero.drag.constant:g} m**2; drag pushes rearward and is positive. Drop the sign.",
        )


# What is odd. Ranges are wider than any car we know of: common practice, no published source.


def ride_and_damping(car: "Car") -> Iterator[str]:
    """Look at ride frequency and damping ratio of each end.

    Notes
    -----
    Of the sprung mass on its springs with the tyres rigid: f = sqrt(k / m) / (2 pi) and, with the slope
    of the damper at rest, c / (2 sqrt(k m)); k and c at the wheel.
    """
    for end, axle, sprung in _ends(car):
        ratio, damper_ratio = (
            _at(curve, axle.design_ride_height - axle.ride_height)
            for curve in (axle.geometry.spring_motion_ratio, axle.geometry.damper_motion_ratio)
        )
        heave = 0.5 * axle.heave.rate * axle.heave.motion_ratio**2 if axle.heave.gap == 0.0 else 0.0
        rate = axle.spring.rate * ratio**2 + heave
        frequency = math.sqrt(rate / sprung) / (2.0 * math.pi)
        yield from _outside(
            f"{end} ride frequency",
            frequency,
            0.8,
            8.0,
            "Hz",
            f"{end}.spring.rate, spring motion ratio and masses",
        )
        for direction, slope in zip(("bump", "rebound"), _slopes_at_rest(axle.damper), strict=True):
            damping = slope * damper_ratio**2 / (2.0 * math.sqrt(rate * sprung))
            yield from _outside(
                f"{end} low-speed {direction} damping ratio",
                damping,
                0.05,
                2.5,
                "",
                f"{end}.damper.{direction}",
            )


def wheel_and_tyre(car: "Car") -> Iterator[str]:
    """Look at wheel-hop frequency, squeeze of the tyre at rest, and grip lost by pressure and temperature."""
    for end, axle, sprung in _ends(car):
        tyre = axle.tyre
        hop = math.sqrt((tyre.vertical_rate + axle.spring.rate) / axle.unsprung_mass) / (2.0 * math.pi)
        yield from _outside(
            f"{end} wheel-hop frequency", hop, 7.0, 35.0, "Hz", f"{end}.tyre.vertical_rate, unsprung mass"
        )
        squeezed = (sprung + axle.unsprung_mass) * _gravity() / tyre.vertical_rate / tyre.radius
        yield from _outside(
            f"{end} tyre deflection at rest",
            100.0 * squeezed,
            0.5,
            15.0,
            "% of its radius",
            f"{end}.tyre.vertical_rate",
        )
        lost = tyre.friction_loss_per_pressure * (tyre.pressure / tyre.best_pressure - 1.0) ** 2
        yield from _outside(
            f"{end} grip lost by pressure", 100.0 * lost, 0.0, 30.0, "%", f"{end}.tyre.pressure"
        )
        cold = 0.1 * ((tyre.temperature - tyre.best_temperature) / tyre.friction_loss_width) ** 2
        yield from _outside(
            f"{end} grip lost by temperature", 100.0 * cold, 0.0, 30.0, "%", f"{end}.tyre.temperature"
        )


def masses_and_inertias(car: "Car") -> Iterator[str]:
    """Look at the share of unsprung mass, how far mass is spread, and how easily the car falls over."""
    chassis, axles = car.chassis, (car.front, car.rear)
    unsprung = 2.0 * sum(axle.unsprung_mass for axle in axles)
    yield from _outside(
        "unsprung share of the mass", 100.0 * unsprung / chassis.mass, 4.0, 30.0, "%", "unsprung_mass"
    )
    to_front = chassis.wheelbase * (1.0 - chassis.front_weight_share)
    to_rear = chassis.wheelbase - to_front
    yield from _outside(
        "yaw inertia over mass x distances to both axles",
        chassis.yaw_inertia / (chassis.mass * to_front * to_rear),
        0.4,
        1.8,
        "",
        "chassis.yaw_inertia",
    )
    wheels = sum(
        2.0 * axle.unsprung_mass * (along**2 + 0.25 * axle.track_width**2)
        for axle, along in zip(axles, (to_front, to_rear), strict=True)
    )
    # No body's inertia about one axis exceeds the sum about the other two.
    most = chassis.roll_inertia + chassis.pitch_inertia + wheels
    if chassis.yaw_inertia > most:
        yield (
            f"yaw inertia {chassis.yaw_inertia:.0f} kg*m**2 is more than any body can have with these roll "
            "and pitch "
            f"inertias and wheels ({most:.0f} kg*m**2): check chassis.yaw_inertia, roll_inertia, "
            "pitch_inertia."
        )
    tipping = 0.25 * (car.front.track_width + car.rear.track_width) / chassis.cg_height
    yield from _outside(
        "lateral acceleration at which it tips", tipping, 0.8, 6.0, "g", "chassis.cg_height, track widths"
    )


def ride_heights(car: "Car") -> Iterator[str]:
    """Look at what the car stands on at rest, and what touches first."""
    for end, axle, _ in _ends(car):
        start = axle.design_ride_height - axle.ride_height
        to_stop = axle.bump_stop.wheel_gap - start
        if to_stop < 0.0:
            yield (
                f"the {end} stands on its bump stops, {-to_stop * 1e3:.0f} mm into them: check "
                f"{end}.ride_height against "
                f"{end}.bump_stop.gap, which counts from design ride height."
            )
        elif axle.ride_height < to_stop:
            yield (
                f"the {end} touches the road ({axle.ride_height * 1e3:.0f} mm) before its bump stops "
                f"({to_stop * 1e3:.0f} "
                f"mm): check {end}.ride_height and {end}.bump_stop.gap."
            )
        low, high = (getattr(car.aero.map, f"{side}_{end}_height") for side in ("lowest", "highest"))
        if not low <= axle.ride_height <= high:
            yield (
                f"{end}.ride_height {axle.ride_height * 1e3:.0f} mm is outside the aerodynamic map, "
                f"{low * 1e3:.0f} to "
                f"{high * 1e3:.0f} mm, which is held at its edge: check aero.map."
            )


def damper_ranges(car: "Car") -> Iterator[str]:
    """Look for knees that are never reached, and measured tables that end where driving begins."""
    for end, axle, _ in _ends(car):
        damper = axle.damper
        if isinstance(damper, TwoSlopeDamper):
            for direction in ("bump", "rebound"):
                knee = getattr(damper, direction).knee_speed
                name = f"{end}.damper.{direction}"
                yield from _outside(
                    f"{name} knee speed", 1e3 * knee, 10.0, 500.0, "mm/s", f"{name}.knee_speed"
                )
            continue
        if damper.speed[-1] < 0.1:
            yield (
                f"{end}.damper is measured only to {damper.speed[-1] * 1e3:.0f} mm/s and runs straight on "
                "beyond; kerbs reach "
                "1000 mm/s and more."
            )
        for direction, forces in (("bump_force", damper.bump_force), ("rebound_force", damper.rebound_force)):
            if any(later < earlier for earlier, later in pairwise(forces)):
                yield f"{end}.damper.{direction} falls at a higher speed: check the order of its values."


def settings(car: "Car") -> Iterator[str]:
    """Look for brakes, camber and toe far from use."""
    masses = _masses(car)
    radius = 0.5 * (car.front.tyre.radius + car.rear.tyre.radius)
    stop = car.brakes.full_pedal_torque / (radius * masses * _gravity())
    yield from _outside(
        "deceleration at full pedal", stop, 0.5, 6.0, "g", "brakes.full_pedal_torque, of all four wheels"
    )
    for end, axle, _ in _ends(car):
        yield from _outside(
            f"{end} camber", math.degrees(axle.camber), -8.0, 1.0, "deg", f"{end}.camber, its sign"
        )
        yield from _outside(
            f"{end} toe", math.degrees(axle.toe), -2.0, 2.0, "deg", f"{end}.toe, of one wheel"
        )


def tank(car: "Car") -> Iterator[str]:
    """Look for a tank beyond the axles."""
    behind, wheelbase = car.fuel.distance_behind_front_axle, car.chassis.wheelbase
    if car.fuel.mass > 0.0 and not 0.0 <= behind <= wheelbase:
        yield (
            f"the tank is {behind * 1e3:.0f} mm behind the front axle, beyond the wheelbase of "
            f"{wheelbase * 1e3:.0f} mm: "
            "check fuel.distance_behind_front_axle."
        )


def _outside(what: str, value: float, low: float, high: float, unit: str, keys: str) -> Iterator[str]:
    if not low <= value <= high:
        unit = f" {unit}" if unit else ""
        number = f"{value:.3g}" if abs(value) < 1e3 else f"{value:.0f}"
        yield f"{what} is {number}{unit}; cars lie within {low:g} to {high:g}{unit}. Check {keys}."


def _ends(car: "Car") -> Iterator[tuple[str, Axle, float]]:
    """Yield each axle with its name and the sprung mass one of its wheels carries at rest, on average."""
    from fourpatch.car.gravity import GRAVITY
    from fourpatch.car.pack import static_tyre_loads

    loads = static_tyre_loads(car)
    for end, axle, pair in (("front", car.front, loads[:2]), ("rear", car.rear, loads[2:])):
        yield end, axle, 0.5 * sum(pair) / GRAVITY - axle.unsprung_mass


def _masses(car: "Car") -> float:
    from fourpatch.car.pack import mass_properties

    return mass_properties(car).total


def _gravity() -> float:
    from fourpatch.car.gravity import GRAVITY

    return GRAVITY


def _slopes_at_rest(damper: TwoSlopeDamper | MeasuredDamper) -> tuple[float, float]:
    if isinstance(damper, TwoSlopeDamper):
        return damper.bump.low_speed, damper.rebound.low_speed
    return (
        damper.bump_factor * damper.bump_force[0] / damper.speed[0],
        damper.rebound_factor * damper.rebound_force[0] / damper.speed[0],
    )


FAULT_CHECKS: tuple[Callable[["Car"], Iterable[Fault]], ...] = (
    fuel_inside,
    centre_of_gravity_in_body,
    suspension_moves,
    tyre_can_peak,
    aero_map_has_extent,
    masses_add_up,
    adjuster_faults,
    provenance_faults,
    evidence_faults,
)
ODDITY_CHECKS: tuple[Callable[["Car"], Iterable[str]], ...] = (
    ride_and_damping,
    wheel_and_tyre,
    masses_and_inertias,
    ride_heights,
    damper_ranges,
    settings,
    tank,
)
