"""The car at rest: loads, rates, frequencies, damping, roll, load transfer, travel and steady handling."""

from typing import Annotated

import numpy as np

from fourpatch.analysis.load_transfer import (
    Jacking,
    LateralTransfer,
    LongitudinalTransfer,
    RollGeometry,
    axle_sprung_masses,
    cg_height,
    jacking,
    lateral_transfer,
    lateral_transfer_on_rigid_tyres,
    longitudinal_transfer,
    roll_geometry,
    roll_gradient_on_rigid_tyres,
    settled_lateral_transfer,
)
from fourpatch.analysis.quantity import (
    ANGLE_GRADIENT,
    DAMPER_SPEED,
    DAMPING,
    FORCE,
    FREQUENCY,
    LENGTH,
    MASS,
    RATE,
    RATIO,
    ROLL_STIFFNESS,
    SHARE,
    Axles,
    Corners,
    Findings,
)
from fourpatch.analysis.single_track import SingleTrack, single_track
from fourpatch.analysis.wheel_rates import (
    Vector,
    axle_means,
    bar_rates,
    corner_values,
    heave_rates,
    in_series,
    roll_stiffness,
    spring_rates,
    tyre_rates,
    wheel_damping,
    wheel_rates,
)
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.physics._compile import kernel
from fourpatch.physics.layout import TYRE_BASE, C, P
from fourpatch.physics.tyre import N_TYRE, cornering_stiffness

LOW_DAMPER_SPEED = 0.0
"""Damper speed at which low-speed damping is read: the first slope of the curve. [m/s]"""
HIGH_DAMPER_SPEED = 0.25
"""Damper speed at which high-speed damping is read: the edge of the usual histogram. [m/s]"""


class Weights(Findings):
    """Masses and loads with driver and fuel, at the ride heights as set."""

    mass: Annotated[float, MASS]
    """Whole car."""
    sprung_mass: Annotated[float, MASS]
    """Carried by the springs."""
    corner_load: Annotated[Corners, FORCE]
    """Load of each tyre at rest."""
    corner_sprung_mass: Annotated[Corners, MASS]
    """What each corner's suspension carries at rest."""
    spring_force: Annotated[Corners, FORCE]
    """Of each corner's spring at rest, at the spring."""
    axle_share: Annotated[Axles, SHARE]
    """Share of the weight on each axle."""
    left_share: Annotated[float, SHARE]
    """Share of the weight on the left tyres."""
    cross_weight: Annotated[float, SHARE]
    """Share of the weight on the FR and RL tyres."""
    cg_height: Annotated[float, LENGTH]
    """Centre of gravity of the whole car above the road."""
    sprung_cg_height: Annotated[float, LENGTH]
    """Centre of gravity of the sprung mass above the road."""


class Ride(Findings):
    """Rates at the wheel and frequencies, both wheels of an axle moving alike; undamped."""

    spring_motion_ratio: Annotated[Axles, RATIO]
    """Spring travel over wheel travel at static travel."""
    damper_motion_ratio: Annotated[Axles, RATIO]
    """Damper travel over wheel travel at static travel."""
    spring_wheel_rate: Annotated[Axles, RATE]
    """Of the corner springs at one wheel, with what a changing motion ratio adds."""
    heave_wheel_rate: Annotated[Axles, RATE]
    """What the heave spring adds at each wheel."""
    bar_wheel_rate: Annotated[Axles, RATE]
    """Force of the bar on each wheel per difference of the two wheels' travel."""
    tyre_rate: Annotated[Axles, RATE]
    """Vertical, one tyre, at its pressure."""
    ride_rate: Annotated[Axles, RATE]
    """Corner and heave springs in series with the tyre."""
    ride_frequency: Annotated[Axles, FREQUENCY]
    """Sprung mass of a corner on the ride rate."""
    wheel_hop_frequency: Annotated[Axles, FREQUENCY]
    """Unsprung mass of a wheel between tyre and springs."""


class Damping(Findings):
    """Damping at the wheel where the damper curve is read at one damper speed; friction left out."""

    damper_speed: Annotated[float, DAMPER_SPEED]
    """At which the slopes are read."""
    bump_rate: Annotated[Axles, DAMPING]
    """Of one wheel moving up."""
    rebound_rate: Annotated[Axles, DAMPING]
    """Of one wheel moving down."""
    bump_ratio: Annotated[Axles, RATIO]
    """c / (2 sqrt(k m)), k the spring rate at the wheel and m the sprung mass of the corner."""
    rebound_ratio: Annotated[Axles, RATIO]
    """The same for rebound."""
    mean_ratio: Annotated[Axles, RATIO]
    """The same for the mean of bump and rebound."""


class Roll(Findings):
    """Roll stiffness, and roll per lateral acceleration."""

    springs: Annotated[Axles, ROLL_STIFFNESS]
    """Of the corner springs."""
    bar: Annotated[Axles, ROLL_STIFFNESS]
    """Of the anti-roll bar."""
    suspension: Annotated[Axles, ROLL_STIFFNESS]
    """Of springs and bar."""
    tyres: Annotated[Axles, ROLL_STIFFNESS]
    """Of the tyres' vertical rate."""
    with_tyres: Annotated[Axles, ROLL_STIFFNESS]
    """Of springs and bar in series with the tyres."""
    front_share: Annotated[float, SHARE]
    """Front part of the suspension's roll stiffness."""
    gradient_on_rigid_tyres: Annotated[float, ANGLE_GRADIENT]
    """Roll of the body on its suspension alone, its leaning weight included."""
    gradient: Annotated[float, ANGLE_GRADIENT]
    """Roll of the body against the road, tyres and leaning weight included."""


class Travel(Findings):
    """What is left of the wheel's travel at rest."""

    to_bump_stop: Annotated[Axles, LENGTH]
    """Upwards until the bump stop is touched; below zero the car stands on it."""
    to_droop_stop: Annotated[Axles, LENGTH]
    """Downwards until the droop stop is touched."""


class Statics(Findings):
    """A car at rest."""

    weights: Weights
    ride: Ride
    low_speed_damping: Damping
    high_speed_damping: Damping
    roll: Roll
    roll_geometry: RollGeometry
    cornering: LateralTransfer
    """In closed form, for small lateral acceleration."""
    cornering_on_rigid_tyres: LateralTransfer
    """The textbook's: tyres held rigid, the leaning body's weight left out."""
    settled_cornering: LateralTransfer
    """From the car settled in a left turn at about 0.3 g."""
    longitudinal: LongitudinalTransfer
    jacking: Jacking
    travel: Travel
    handling: SingleTrack


def statics(
    car: Car,
    *,
    low_damper_speed: float = LOW_DAMPER_SPEED,
    high_damper_speed: float = HIGH_DAMPER_SPEED,
) -> Statics:
    """Return what is known of a car at rest.

    Parameters
    ----------
    low_damper_speed, high_damper_speed : at which damper slopes are read. [m/s]

    Raises
    ------
    CarError
        If the car cannot stand at its ride heights.
    SolveError
        If it finds no place to rest in a corner of 0.3 g.
    """
    vector = pack(car)
    return Statics(
        weights=weights(vector),
        ride=ride(vector),
        low_speed_damping=damping(vector, damper_speed=low_damper_speed),
        high_speed_damping=damping(vector, damper_speed=high_damper_speed),
        roll=roll(vector),
        roll_geometry=roll_geometry(vector),
        cornering=lateral_transfer(vector),
        cornering_on_rigid_tyres=lateral_transfer_on_rigid_tyres(vector),
        settled_cornering=settled_lateral_transfer(vector),
        longitudinal=longitudinal_transfer(vector),
        jacking=jacking(vector),
        travel=Travel(
            to_bump_stop=axle_means(corner_values(vector, C.stop_gap)),
            to_droop_stop=axle_means(corner_values(vector, C.droop_gap)),
        ),
        handling=handling(vector),
    )


def corner_loads(vector: Vector) -> Vector:
    """Return the static tyre loads of a packed car, (4,) [N]."""
    return corner_values(vector, C.tyre_rate) * corner_values(vector, C.tyre_static_deflection)


def weights(vector: Vector) -> Weights:
    """Return masses and loads of a packed car."""
    loads = corner_loads(vector)
    shares = loads / loads.sum()
    sprung = loads / vector[P.gravity] - corner_values(vector, C.unsprung_mass)
    return Weights(
        mass=float(vector[P.total_mass]),
        sprung_mass=float(vector[P.sprung_mass]),
        corner_load=Corners(*loads.tolist()),
        corner_sprung_mass=Corners(*sprung.tolist()),
        spring_force=Corners(*_spring_forces(vector).tolist()),
        axle_share=Axles(float(shares[0] + shares[1]), float(shares[2] + shares[3])),
        left_share=float(shares[0] + shares[2]),
        cross_weight=float(shares[1] + shares[2]),
        cg_height=cg_height(vector),
        sprung_cg_height=float(vector[P.sprung_cg_height]),
    )


def _spring_forces(vector: Vector) -> Vector:
    """Return the static force of the corner springs, at the spring, (4,) [N]."""
    # Below the force that closes a helper the packed car counts along the main spring's line.
    main, closed = corner_values(vector, C.spring_static_force), corner_values(vector, C.helper_block_force)
    softer = corner_values(vector, C.helper_rate) / corner_values(vector, C.spring_rate)
    return np.where(main > closed, main, closed + (main - closed) * softer)


def ride(vector: Vector) -> Ride:
    """Return rates and frequencies of a packed car.

    Notes
    -----
    Ride frequency sqrt(k_ride / m) / 2 pi with half the axle's sprung mass per corner, wheel hop
    sqrt((k_wheel + k_tyre) / m_u) / 2 pi. Each takes the other mass as weightless or still: with
    m_u / m_s = 0.13 and k_wheel / k_tyre = 0.15 the coupled undamped modes lie 0.12 % lower, 0.115 % higher
    (two-mass characteristic polynomial, tested).

    Source: the usual definitions, e.g. Gillespie, Fundamentals of Vehicle Dynamics, 1992, chapter 5 (from
    memory).
    """
    wheel, tyre = wheel_rates(vector), tyre_rates(vector)
    rate = Axles(*(in_series(k, t) for k, t in zip(wheel, tyre, strict=True)))
    unsprung = axle_means(corner_values(vector, C.unsprung_mass))
    hop = Axles(*(k + t for k, t in zip(wheel, tyre, strict=True)))
    sprung = Axles(*(0.5 * m for m in axle_sprung_masses(vector)))
    return Ride(
        spring_motion_ratio=axle_means(corner_values(vector, C.spring_ratio)),
        damper_motion_ratio=axle_means(corner_values(vector, C.damper_ratio)),
        spring_wheel_rate=axle_means(spring_rates(vector)),
        heave_wheel_rate=heave_rates(vector),
        bar_wheel_rate=bar_rates(vector),
        tyre_rate=tyre,
        ride_rate=rate,
        ride_frequency=_frequencies(rate, sprung),
        wheel_hop_frequency=_frequencies(hop, unsprung),
    )


def _frequencies(rates: Axles, masses: Axles) -> Axles:
    """Natural frequencies of masses on rates [Hz]."""
    return Axles(*(float(np.sqrt(k / m) / (2.0 * np.pi)) for k, m in zip(rates, masses, strict=True)))


def damping(vector: Vector, *, damper_speed: float) -> Damping:
    """Return damping at the wheel of a packed car.

    Parameters
    ----------
    damper_speed : at which the slopes are read. [m/s]

    Notes
    -----
    Damping ratio c / (2 sqrt(k m)) of the sprung mass of a corner on its springs, with the rate at the
    wheel; tyres not in series. Local slopes of the damper curve, heave damper included. A tyre gives way
    under a stiff damper, so the body's mode on the whole car is damped less: 0.27 where this says 0.33 in
    the two-mass car of the tests, half and less on stiff cars. `modes` has that number.
    """
    bump = wheel_damping(vector, side="bump", speed=damper_speed)
    rebound = wheel_damping(vector, side="rebound", speed=damper_speed)
    critical = [
        2.0 * float(np.sqrt(k * 0.5 * m))
        for k, m in zip(wheel_rates(vector), axle_sprung_masses(vector), strict=True)
    ]

    def ratio(rates: Axles) -> Axles:
        return Axles(*(c / full for c, full in zip(rates, critical, strict=True)))

    return Damping(
        damper_speed=damper_speed,
        bump_rate=bump,
        rebound_rate=rebound,
        bump_ratio=ratio(bump),
        rebound_ratio=ratio(rebound),
        mean_ratio=ratio(Axles(*(0.5 * (b + r) for b, r in zip(bump, rebound, strict=True)))),
    )


def roll(vector: Vector) -> Roll:
    """Return roll stiffness and roll gradients of a packed car."""
    stiffness = roll_stiffness(vector)
    return Roll(
        springs=stiffness.springs,
        bar=stiffness.bar,
        suspension=stiffness.suspension,
        tyres=stiffness.tyres,
        with_tyres=stiffness.with_tyres,
        front_share=stiffness.suspension.front / sum(stiffness.suspension),
        gradient_on_rigid_tyres=roll_gradient_on_rigid_tyres(vector),
        gradient=lateral_transfer(vector).roll_gradient,
    )


@kernel
def _cornering_stiffnesses(vector: Vector, loads: Vector, inclinations: Vector, stiffness: Vector) -> None:
    """Fill the cornering stiffness of four tyres; all (4,) [N], [rad], [N/rad]."""
    for corner in range(4):
        tyre = TYRE_BASE + (corner // 2) * N_TYRE
        stiffness[corner] = cornering_stiffness(vector, tyre, 0, 1, loads[corner], inclinations[corner])


def handling(vector: Vector) -> SingleTrack:
    """Return the single-track values of a packed car, its tyres at their static loads and inclinations."""
    return handling_at(vector, corner_loads(vector), corner_values(vector, C.inclination))


def handling_at(vector: Vector, loads: Vector, inclinations: Vector) -> SingleTrack:
    """Return the single-track values of a packed car, its tyres at given loads [N] and inclinations [rad]."""
    stiffness = np.empty(4)
    _cornering_stiffnesses(vector, loads, inclinations, stiffness)
    return single_track(
        mass=float(vector[P.total_mass]),
        cg_to_front=float(vector[P.cg_to_front]),
        cg_to_rear=float(vector[P.cg_to_rear]),
        cornering_stiffness=Axles(float(stiffness[:2].sum()), float(stiffness[2:].sum())),
    )
