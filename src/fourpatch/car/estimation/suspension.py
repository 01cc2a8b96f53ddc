"""Links, springs, dampers, stops and bars."""

from math import degrees, pi, sqrt
from typing import NamedTuple

from fourpatch.car.estimation.book import (
    ENDS,
    OPEN_CARS,
    PRACTICE,
    Book,
    End,
    Known,
    at_end,
    ride_frequency,
    sprung_corner_mass,
)
from fourpatch.car.gravity import GRAVITY


def estimate_geometry(book: Book, known: Known, end: End) -> None:
    """Estimate what an axle's links do."""
    body, geometry = known.body, f"{end}.geometry"
    usual = f"usual for a {known.brief.body}: {PRACTICE}"
    book.estimate(f"{geometry}.spring_motion_ratio.value", at_end(body.spring_ratio, end), "10 %", usual)
    book.estimate(f"{geometry}.damper_motion_ratio.value", at_end(body.damper_ratio, end), "10 %", usual)
    book.estimate(f"{geometry}.roll_centre_height.value", at_end(body.roll_centre, end), "30 mm", usual)
    book.estimate(
        f"{geometry}.roll_centre_height.slope", -1.2, "0.6 m/m", f"it sinks with the body: {PRACTICE}"
    )
    camber, spread = (-0.45, "0.15 rad/m") if end == "front" else (-0.48, "0.35 rad/m")
    book.estimate(
        f"{geometry}.camber_change.slope",
        camber,
        spread,
        f"mean of {OPEN_CARS}: -0.62, -0.39, -0.33 rad/m in front, -0.21, -0.91, -0.33 at the rear",
    )
    steer = -0.02 if end == "front" else 0.01
    book.estimate(
        f"{geometry}.bump_steer.slope", steer, "0.03 rad/m", f"a little roll understeer: {PRACTICE}"
    )
    ratio = book["chassis.cg_height"] / known.brief.wheelbase
    brakes = book["brakes.front_share"] if end == "front" else 1.0 - book["brakes.front_share"]
    drive = 1.0 - book["driveline.front_drive_share"]
    book.estimate(
        f"{geometry}.braking_support.value",
        round(0.2 * ratio / brakes, 4),
        "60 %",
        "20 % anti-dive or anti-lift under braking (road cars 0 to 50 %, race cars 0 to 30 %: from memory)",
    )
    squat = 0.2 * ratio / drive if end == "rear" and drive > 0.0 else 0.0
    book.estimate(
        f"{geometry}.driving_support.value",
        round(squat, 4),
        "60 %" if squat else "0.02",
        "20 % anti-squat (25 % is called the practical limit of an independent rear axle, seen second hand)"
        if squat
        else f"none: {PRACTICE}",
    )


def estimate_spring_and_damper(book: Book, known: Known, end: End) -> None:
    """Estimate springs from a ride frequency and dampers from a damping ratio.

    Notes
    -----
    Ride frequency: sprung mass of the corner on wheel rate and tyre in series. Damping ratio:
    c / (2 sqrt(k m)) with wheel rate and sprung mass of the corner, mean of bump and rebound.
    """
    grip, mass = known.grip, sprung_corner_mass(book, known, end)
    tyre = book[f"{end}.tyre.vertical_rate"]
    ride_rate = min(mass * (2.0 * pi * ride_frequency(known, end)) ** 2, 0.6 * tyre)
    frequency = sqrt(ride_rate / mass) / (2.0 * pi)  # lower than asked where the tyre is too soft for it
    wheel_rate = ride_rate * tyre / (tyre - ride_rate)
    ratio = book[f"{end}.geometry.spring_motion_ratio.value"]
    book.estimate(
        f"{end}.spring.rate",
        round(wheel_rate / ratio**2, -3),
        "25 %",
        f"ride frequency {frequency:.2f} Hz of the class {known.brief.grip} with {known.brief.downforce} "
        f"downforce, tyre in series; {OPEN_CARS}: front 1.20 to 1.44, rear 1.43 to 1.65 Hz; race cars 1.5 to "
        "2.0, with high downforce 3 to 5 Hz (Giaraffa, Springs and Dampers, part one); whole N/mm",
    )
    damping = 2.0 * grip.damping_ratio * sqrt(wheel_rate * mass)
    damping /= book[f"{end}.geometry.damper_motion_ratio.value"] ** 2
    book.values[f"{end}.damper.kind"] = "two-slope"
    for direction, share in (("bump", 1.0), ("rebound", grip.rebound_to_bump)):
        low = damping * 2.0 * share / (1.0 + grip.rebound_to_bump)
        stem = f"{end}.damper.{direction}"
        book.estimate(
            f"{stem}.low_speed",
            round(low, -1),
            "30 %",
            f"damping ratio {grip.damping_ratio:g} (road 0.2 to 0.4, from memory; race 0.6 to 0.7, Ortiz "
            f"2009; {OPEN_CARS}: 0.27 to 0.40), rebound/bump {grip.rebound_to_bump:.2g}: {PRACTICE}",
        )
        book.estimate(
            f"{stem}.high_speed", round(0.5 * low, -1), "40 %", f"half of the low-speed slope: {PRACTICE}"
        )
        book.estimate(
            f"{stem}.knee_speed", grip.knee_speed, "40 %", f"of the class {known.brief.grip}: {PRACTICE}"
        )
    book.estimate(f"{end}.damper.friction", 30.0, "20 N", f"of seals and joints: {PRACTICE}")


def _wheel_rate(book: Book, end: End) -> float:
    return float(book[f"{end}.spring.rate"] * book[f"{end}.geometry.spring_motion_ratio.value"] ** 2)


def estimate_stops(book: Book, known: Known, end: End) -> None:
    """Estimate bump stop and droop stop."""
    rate = _wheel_rate(book, end)
    deflection = GRAVITY * sprung_corner_mass(book, known, end) / rate
    gap = 0.03 if known.brief.body == "single-seater" else known.grip.bump_gap
    stiff = round(rate, -3)
    for name, value, spread, method in (
        ("bump_stop.gap", gap, "30 %", f"of the class {known.brief.grip}: {PRACTICE}"),
        ("bump_stop.rate", stiff, "50 %", f"as stiff at contact as the spring: {PRACTICE}"),
        ("bump_stop.progression", stiff / 0.02, "50 %", f"twice its force 20 mm on: {PRACTICE}"),
        (
            "droop_stop.gap",
            round(min(0.9 * deflection, 0.09), 3),
            "30 %",
            f"0.9 of the static deflection, 90 mm at most, so that the spring stays loaded: {PRACTICE}",
        ),
        ("droop_stop.rate", 3e5, "50 %", f"of the order of the tyre: {PRACTICE}"),
        *(
            (f"{stop}.motion_ratio", 1.0, "0 %", "taken at the wheel, as the rest of it")
            for stop in ("bump_stop", "droop_stop")
        ),
    ):
        book.estimate(f"{end}.{name}", value, spread, method)


class _Roll(NamedTuple):
    """What the roll of a car turns on; pairs are front, rear."""

    moment: float
    """Sprung mass times its arm above the roll axis. [kg m]"""
    track: tuple[float, float]
    fixed: tuple[float, float]
    """Load transfer per acceleration through links and wheels. [kg]"""
    springs: tuple[float, float]
    """Roll stiffness of the springs, without bar and tyres. [N m/rad]"""
    tyres: tuple[float, float]


def _roll(book: Book, known: Known) -> _Roll:
    track = tuple(float(book[f"{end}.track_width"]) for end in ENDS)
    sprung = tuple(2.0 * sprung_corner_mass(book, known, end) for end in ENDS)
    centre = tuple(float(book[f"{end}.geometry.roll_centre_height.value"]) for end in ENDS)
    wheels = tuple(2.0 * book[f"{end}.unsprung_mass"] * book[f"{end}.unsprung_cg_height"] for end in ENDS)
    moment = known.brief.mass * book["chassis.cg_height"] - sum(wheels)
    return _Roll(
        moment=moment - sum(m * h for m, h in zip(sprung, centre, strict=True)),
        track=(track[0], track[1]),
        fixed=(
            (sprung[0] * centre[0] + wheels[0]) / track[0],
            (sprung[1] * centre[1] + wheels[1]) / track[1],
        ),
        springs=(
            0.5 * _wheel_rate(book, "front") * track[0] ** 2,
            0.5 * _wheel_rate(book, "rear") * track[1] ** 2,
        ),
        tyres=(
            0.5 * book["front.tyre.vertical_rate"] * track[0] ** 2,
            0.5 * book["rear.tyre.vertical_rate"] * track[1] ** 2,
        ),
    )


def _series(one: float, other: float) -> float:
    return one * other / (one + other)


def _roll_stiffness(roll: _Roll, *, gradient: float, share: float) -> tuple[float, float]:
    """Return the roll stiffness [N m/rad] at the ground that each axle needs.

    Parameters
    ----------
    gradient : roll angle per lateral acceleration. [rad s^2/m]
    share : front axle's part of lateral load transfer.

    Notes
    -----
    phi = m_s d a / (K - m_s d g). With A_i the transfer per acceleration through links and wheels,
    share s means K_f phi ((1 - s)/t_f + s/t_r) = a (s (K phi/a/t_r + A_r) - (1 - s) A_f). Where an axle's
    springs alone are stiffer than that, they are taken as they are and the other axle follows from the
    share; then the car rolls less than asked.

    Source: derived here from roll moments, without flex of the chassis.
    """
    (t_f, t_r), moment = roll.track, roll.moment
    least = [_series(spring, tyre) for spring, tyre in zip(roll.springs, roll.tyres, strict=True)]
    total = moment * (1.0 / gradient + GRAVITY)
    uneven = share * roll.fixed[1] - (1.0 - share) * roll.fixed[0]
    front = (share * total / t_r + uneven / gradient) / ((1.0 - share) / t_f + share / t_r)
    rear = total - front
    held = GRAVITY - least[1] / moment, GRAVITY - least[0] / moment
    if rear < least[1]:
        rear = least[1]
        front = (share * rear / t_r - uneven * held[0]) / ((1.0 - share) / t_f - uneven / moment)
    elif front < least[0]:
        front = least[0]
        rear = ((1.0 - share) * front / t_f + uneven * held[1]) / (share / t_r + uneven / moment)
    return max(front, least[0]), max(rear, least[1])


def estimate_bars(book: Book, known: Known) -> None:
    """Estimate both bars from a roll gradient and a front share of lateral load transfer."""
    gradient, share = _roll_targets(known)
    roll = _roll(book, known)
    needed = _roll_stiffness(roll, gradient=gradient / GRAVITY, share=share)
    ratio = 0.7
    for place, end in enumerate(ENDS):
        ground = min(needed[place], 0.8 * roll.tyres[place])
        suspension = ground * roll.tyres[place] / (roll.tyres[place] - ground)
        bar = max(suspension - roll.springs[place], 0.0) / (ratio * roll.track[place]) ** 2
        book.estimate(
            f"{end}.bar.rate",
            round(bar, -3),
            "40 %" if bar > 500.0 else "3 N/mm",
            f"roll gradient {degrees(gradient):.2g} deg/g at most (Milliken and Milliken, Race Car Vehicle "
            f"Dynamics, ch. 16, from memory, and {PRACTICE}), front share of lateral load transfer "
            f"{share:.1%}, {100 * (share - known.front_weight_share):+.0f} points from the weight's "
            f"({OPEN_CARS}: rear drive +2.7 and +3.2, front drive -4.3); whole N/mm",
        )
        book.estimate(f"{end}.bar.motion_ratio", ratio, "10 %", PRACTICE)


def _roll_targets(known: Known) -> tuple[float, float]:
    """Return roll gradient [rad per g] and front share of lateral load transfer."""
    gradient = min(
        known.grip.roll_gradient, known.body.largest_roll_gradient, known.level.largest_roll_gradient
    )
    beyond = -0.04 if known.brief.driven == "front" else 0.03
    return gradient, known.front_weight_share + beyond
