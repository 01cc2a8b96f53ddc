"""From targets to the driver's own steps: where a base set-up starts from, each value with its reason."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import product
from math import degrees

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.base_targets import Targets
from fourpatch.advice.brake_share import laden_front_share
from fourpatch.advice.occasion import Occasion
from fourpatch.advice.two_mass import TwoMass, high_speed_slope, road_intensity
from fourpatch.analysis.load_transfer import axle_sprung_masses, cg_height, lateral_transfer, wheelbase
from fourpatch.analysis.speed_sweep import AtSpeed, speed_sweep
from fourpatch.analysis.statics import damping, ride
from fourpatch.analysis.steady_limits import SteadyCar, braking_limit
from fourpatch.analysis.wheel_rates import axle_means, corner_values, tyre_rates, wheel_rates
from fourpatch.car.adjusters import Adjuster
from fourpatch.car.car import Car
from fourpatch.car.engine_curve import driven_radius, overrun_wheel_torque
from fourpatch.car.gravity import GRAVITY
from fourpatch.car.pack import pack
from fourpatch.car.paths import parameter
from fourpatch.car.scale_words import counted
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.errors import CarError
from fourpatch.events.corner import Corner
from fourpatch.events.motion import steady_inputs
from fourpatch.physics.layout import C, O, P

Array = NDArray[np.float64]

ENDS = ("front", "rear")

HIGH_DAMPER_SPEED = 0.25
"""At which high-speed slopes are read. [m/s]"""

SIGMAS = 2.576
"""Standard deviations of travel kept clear of the bump stop: 99 % of the time for Gaussian travel."""

_AERO_SPEED = 0.8
"""Share of the highest speed at which brakes and wings are set: about where a car brakes."""

_REAR_LEANS = 0.02
"""Front share of downforce less that of the weight is at most minus this: balance must not turn towards
oversteer with speed. Common practice, no published source. [1]"""

_MOST_PAIRS = 600


@dataclass(slots=True)
class Started:
    """A set-up being put together from targets, and why each value is what it is."""

    car: Car
    setup: Setup
    because: dict[str, str] = field(default_factory=dict)

    def standing(self) -> Car:
        """Return the car as it stands."""
        return apply_setup(self.car, self.setup)

    def acting_on(self, path: str) -> Adjuster | None:
        """Return the first adjuster that acts on a parameter."""
        return next((one for one in self.car.adjusters if path in one.targets), None)

    def place(self, adjuster: Adjuster, position: float, because: str) -> None:
        """Put an adjuster somewhere and remember why."""
        values = {**self.setup.values, adjuster.name: position}
        self.setup = self.setup.model_copy(update={"values": values})
        self.because[adjuster.name] = because

    def closest(self, adjusters: Sequence[Adjuster], miss: Callable[[Array], float]) -> list[float]:
        """Return the positions at which a packed car misses least; of equals, those moved least."""
        grids = [_thinned(one.positions(), len(adjusters)) for one in adjusters]
        present = [self.setup.position(one) for one in adjusters]
        best: tuple[float, float, list[float]] = (np.inf, np.inf, present)
        for positions in product(*grids):
            values = {one.name: at for one, at in zip(adjusters, positions, strict=True)}
            trial = self.setup.model_copy(update={"values": {**self.setup.values, **values}})
            try:
                missed = miss(pack(apply_setup(self.car, trial)))
            except CarError:
                continue
            rows = zip(positions, present, adjusters, strict=True)
            moved = sum(abs(at - was) / one.step for at, was, one in rows)
            if (missed, moved) < best[:2]:
                best = (missed, moved, list(positions))
        return best[2]


def _thinned(positions: list[float], adjusters: int) -> list[float]:
    every = max(1, round(len(positions) / _MOST_PAIRS ** (1.0 / adjusters)))
    return positions[::every]


def start_from_targets(car: Car, setup: Setup, occasion: Occasion, targets: Targets) -> Started:
    """Return the set-up that comes nearest to the targets; what no target speaks of stays where it stood.

    Notes
    -----
    In an order in which what is set early does not depend on what is set late: pressures, wings, springs,
    bars, dampers, stops, camber, brakes, differential.
    """
    found = Started(car=car, setup=setup)
    for place, end in enumerate(ENDS):
        _pressure(found, end)
        _spring(found, end, place, targets)
    _bars(found, targets)
    for place, end in enumerate(ENDS):
        _dampers(found, end, place, targets, occasion)
        _stop(found, end, place, occasion)
        _camber(found, end, place, occasion)
    _wings(found, occasion)
    _brakes(found, occasion, targets)
    return found


def _pressure(found: Started, end: str) -> None:
    one = found.acting_on(f"{end}.tyre.pressure")
    if one is None:
        return
    best = getattr(found.car, end).tyre.best_pressure
    position = one.nearest_step(best, parameter(found.car, one.targets[0]))
    found.place(one, position, f"the tyre grips best at {best / 1e5:.2f} bar hot")


def _spring(found: Started, end: str, place: int, targets: Targets) -> None:
    springs = [
        one
        for one in (found.acting_on(f"{end}.spring.rate"), found.acting_on(f"{end}.heave.rate"))
        if one is not None
    ]
    if not springs:
        return
    wanted = targets.ride_frequency[place]
    positions = found.closest(springs, lambda v: abs(ride(v).ride_frequency[place] - wanted))
    for one, position in zip(springs, positions, strict=True):
        found.place(one, position, "")
    had = ride(pack(found.standing())).ride_frequency[place]
    for one, position in zip(springs, positions, strict=True):
        because = f"ride frequency {had:.2f} Hz for a target of {targets.frequency_because[place]}"
        found.place(one, position, because)


def _bars(found: Started, targets: Targets) -> None:
    bars = [one for one in (found.acting_on(f"{end}.bar.rate") for end in ENDS) if one is not None]
    if not bars:
        return

    def miss(vector: Array) -> float:
        transfer = lateral_transfer(vector)
        softer = max(transfer.roll_gradient / targets.roll_gradient - 1.0, 0.0)
        off = (transfer.front_share - targets.front_transfer_share) / 0.01
        return abs(off) + 2.0 * softer

    positions = found.closest(bars, miss)
    for one, position in zip(bars, positions, strict=True):
        found.place(one, position, "")
    transfer = lateral_transfer(pack(found.standing()))
    because = (
        f"front {100.0 * transfer.front_share:.1f} % of the lateral load transfer for a target of "
        f"{100.0 * targets.front_transfer_share:.1f} %, roll {_per_g(transfer.roll_gradient):.2f} deg/g for "
        f"at most {_per_g(targets.roll_gradient):.2f}"
    )
    for one in bars:
        found.because[one.name] = because


def _per_g(gradient: float) -> float:
    return degrees(gradient * GRAVITY)


def corner_two_mass(vector: Array, place: int) -> TwoMass:
    """Return the two-mass model of a corner of an axle."""
    return TwoMass(
        sprung_mass=0.5 * axle_sprung_masses(vector)[place],
        unsprung_mass=axle_means(corner_values(vector, C.unsprung_mass))[place],
        wheel_rate=wheel_rates(vector)[place],
        tyre_rate=tyre_rates(vector)[place],
    )


def _dampers(found: Started, end: str, place: int, targets: Targets, occasion: Occasion) -> None:
    for direction, ratio in (("bump", targets.bump_ratio), ("rebound", targets.rebound_ratio)):
        low = found.acting_on(f"{end}.damper.{direction}.low_speed")
        if low is not None:
            _low_speed(found, low, direction, place, ratio)
        high = found.acting_on(f"{end}.damper.{direction}.high_speed")
        if high is not None and high is not low:
            _high_speed(found, high, direction, place, targets, occasion)


def _slope_ratio(vector: Array, direction: str, place: int, speed: float) -> float:
    at = damping(vector, damper_speed=speed)
    return (at.bump_ratio if direction == "bump" else at.rebound_ratio)[place]


def _low_speed(found: Started, one: Adjuster, direction: str, place: int, ratio: float) -> None:
    [position] = found.closest([one], lambda v: abs(_slope_ratio(v, direction, place, 0.0) - ratio))
    found.place(one, position, "")
    had = _slope_ratio(pack(found.standing()), direction, place, 0.0)
    found.because[one.name] = (
        f"{direction} damping ratio {had:.2f} at low speed for a target of {ratio:.2f}, which holds the body"
    )


def _high_speed(
    found: Started, one: Adjuster, direction: str, place: int, targets: Targets, occasion: Occasion
) -> None:
    vector = pack(found.standing())
    mass = corner_two_mass(vector, place)
    best = mass.least_load_damping()
    intensity = road_intensity(occasion.road.road_class, occasion.road.speed)
    speed = mass.damper_speed(damping=best, intensity=intensity)
    share = (targets.bump_ratio if direction == "bump" else targets.rebound_ratio) / targets.damping_ratio
    wanted = high_speed_slope(
        wanted=share * best,
        low=_slope_ratio(vector, direction, place, 0.0) * mass.critical_damping(),
        knee=_knee(found.standing(), ENDS[place], direction),
        rms_speed=speed,
    )
    ratio = wanted / mass.critical_damping()
    [position] = found.closest(
        [one], lambda v: abs(_slope_ratio(v, direction, place, HIGH_DAMPER_SPEED) - ratio)
    )
    found.place(
        one,
        position,
        f"class {occasion.road.road_class} at {3.6 * occasion.road.speed:.0f} km/h moves the wheel against "
        f"the body by {1e3 * speed:.0f} mm/s RMS, and {best:.0f} N s/m at the wheel give the least tyre load "
        "of the two-mass model",
    )


def _knee(car: Car, end: str, direction: str) -> float:
    """Damper speed at the wheel from which on the high-speed slope holds. [m/s]"""
    axle = getattr(car, end)
    side = getattr(axle.damper, direction, None)
    knee = getattr(side, "knee_speed", 0.05)
    return float(knee / axle.geometry.damper_motion_ratio.value)


def _stop(found: Started, end: str, place: int, occasion: Occasion) -> None:
    """Give the wheel the travel that downforce, braking and bumps ask for, and no more."""
    one = found.acting_on(f"{end}.bump_stop.gap")
    if one is None:
        return
    needed = travel_needed(found.standing(), place, occasion)
    gaps = {at: _gap_at(found, one, at, place) for at in one.positions()}
    enough = {at: gap for at, gap in gaps.items() if gap >= needed}
    position = min(enough, key=lambda at: enough[at]) if enough else max(gaps, key=lambda at: gaps[at])
    short = "" if enough else "; no step leaves so much, so this is the largest"
    found.place(
        one,
        position,
        f"{1e3 * gaps[position]:.0f} mm to the stop for {1e3 * needed:.0f} mm of travel from downforce, "
        f"braking and 99 % of the bumps of class {occasion.road.road_class}{short}",
    )


def _gap_at(found: Started, one: Adjuster, at: float, place: int) -> float:
    values = {**found.setup.values, one.name: at}
    trial = found.setup.model_copy(update={"values": values})
    return axle_means(corner_values(pack(apply_setup(found.car, trial)), C.stop_gap))[place]


def travel_needed(car: Car, place: int, occasion: Occasion) -> float:
    """Return the wheel travel that downforce, braking and bumps use up, in closed form. [m]

    Notes
    -----
    Downforce at four fifths of the highest speed and, in front, the transfer under the car's braking limit
    there, both on the rate at the wheel, plus `SIGMAS` times the RMS travel of the two-mass model. Anti-dive
    is left out: it spares up to its share of the transfer. Source: derived here.
    """
    vector = pack(car)
    mass = corner_two_mass(vector, place)
    speed = _AERO_SPEED * occasion.fastest
    at = speed_sweep(car, fastest=speed, speeds=2)[1]
    steady = 0.5 * max(at.downforce[place], 0.0)
    if place == 0:
        limit = braking_limit(car, speed=speed)
        steady += 0.5 * float(vector[P.total_mass]) * limit * cg_height(vector) / wheelbase(vector)
    intensity = road_intensity(occasion.road.road_class, occasion.road.speed)
    bumps = mass.travel(damping=mass.least_load_damping(), intensity=intensity)
    return steady / mass.wheel_rate + SIGMAS * bumps


def _camber(found: Started, end: str, place: int, occasion: Occasion) -> None:
    """Lean the wheels so that the outer tyre stands, against the road, where it grips best."""
    one = found.acting_on(f"{end}.camber")
    best = getattr(getattr(found.car, end).tyre.grip, "best_camber", None)
    if one is None or best is None:
        return
    corner = list(occasion.corners.values())[len(occasion.corners) // 2]
    standing = found.standing()
    inputs = steady_inputs(standing, speed=corner.speed, lateral_acceleration=corner.speed**2 / corner.radius)
    outputs = SteadyCar(standing).settled(inputs).outputs[0, 0]
    # In a left turn the right wheels are the outer ones; leaning into the turn, to the left, is the good way.
    leans = -float(outputs[O.inclination + 2 * place + 1])
    own = getattr(standing, end).camber
    wanted = own - (best - leans)
    position = one.nearest_step(wanted, parameter(found.car, one.targets[0]))
    found.place(
        one,
        position,
        f"in a corner of {corner.radius:.0f} m the outer tyre would lean {degrees(leans):.1f} deg into the "
        f"turn at {degrees(own):.1f} deg of camber, and it grips best at {degrees(best):.1f}",
    )


def _wings(found: Started, occasion: Occasion) -> None:
    """Balance the wings at speed; how much of both is a matter of the lap, and is left as it is."""
    front, rear = (found.acting_on(f"aero.{end}_wing.angle") for end in ENDS)
    one = front or rear
    if one is None:
        return
    speed = _AERO_SPEED * occasion.fastest
    present = _at(found.standing(), speed)
    if present.aero_balance is None or sum(present.downforce) < 0.02 * sum(present.tyre_load):
        found.because[one.name] = "there is too little downforce to balance"
        return
    weight = _front_weight(found.standing())
    balances = {at: _at(_with(found, one, at), speed).aero_balance for at in one.positions()}
    known = {at: share for at, share in balances.items() if share is not None}
    position = min(known, key=lambda at: abs(known[at] - (weight - _REAR_LEANS)))
    found.place(
        one,
        position,
        f"{100.0 * known[position]:.1f} % of the downforce in front at {3.6 * speed:.0f} km/h for a target "
        f"of {100.0 * (weight - _REAR_LEANS):.1f} %, two points behind the weight's; the other wing says how "
        "much",
    )


def _with(found: Started, one: Adjuster, at: float) -> Car:
    values = {**found.setup.values, one.name: at}
    return apply_setup(found.car, found.setup.model_copy(update={"values": values}))


def _front_weight(car: Car) -> float:
    vector = pack(car)
    return float(vector[P.cg_to_rear] / wheelbase(vector))


def _at(car: Car, speed: float) -> AtSpeed:
    return speed_sweep(car, fastest=speed, speeds=2)[1]


def _brakes(found: Started, occasion: Occasion, targets: Targets) -> None:
    one = found.acting_on("brakes.front_share")
    if one is None:
        return
    margin = targets.style.brake_margin
    needs = {
        name: brake_need(found.standing(), speed=0.5 * (corner.speed + _entry_speed(corner)), margin=margin)
        for name, corner in occasion.corners.items()
    }
    # The middle one: slower, a low gear brakes the rear more than drivers let it; faster, aero helps.
    name = sorted(needs, key=lambda key: needs[key].front_share)[len(needs) // 2]
    need = needs[name]
    target = parameter(found.car, one.targets[0])
    # Rounded forward: half a step too far forward costs grip, too far rearward a spin.
    enough = [at for at in one.positions() if one.value(at, target) >= need.front_share - 1e-9]
    position = min(enough or one.positions(), key=lambda at: abs(one.value(at, target) - need.front_share))
    short = "" if enough else "; no step is so far forward, so this is the nearest"
    found.place(
        one,
        position,
        f"braking at {need.deceleration:.1f} m/s² from {3.6 * need.speed:.0f} km/h, the car's own limit, the "
        f"front carries {100.0 * need.ideal:.1f} % of the load; {counted(100.0 * margin, 'points')} more so "
        f"that the front locks first, and the engine's {100.0 * need.engine_share:.0f} % of the braking, ask "
        f"for {100.0 * need.front_share:.1f} % of the brakes ({name}){short}",
    )


def _entry_speed(corner: Corner) -> float:
    return corner.speed + corner.deceleration * (0.5 * corner.build_up + corner.braking + 0.5 * corner.entry)


@dataclass(frozen=True, slots=True, kw_only=True)
class BrakeNeed:
    """What the brakes are asked for at one speed."""

    speed: float
    """[m/s]"""
    deceleration: float
    """The car's own limit there. [m/s^2]"""
    ideal: float
    """Front share of the load. [1]"""
    engine_share: float
    """Of the tyres' braking force. [1]"""
    front_share: float
    """Of the brakes' torque, that gives the tyres ideal plus margin. [1]"""


def brake_need(car: Car, *, speed: float, margin: float) -> BrakeNeed:
    """Return the brake bias that lets the front lock first by a margin at the car's limit.

    Parameters
    ----------
    speed : at which the car brakes. [m/s]
    margin : front share of the tyres' braking force beyond the front share of the load. [1]

    Notes
    -----
    Tyres brake with T = m a - drag, of which the closed throttle gives E to the driven axle and the brakes
    T - E. Of E a share d goes to the front, so (ideal + margin) T = bias (T - E) + d E. The radii of the
    tyres count as equal. Source: derived here.
    """
    vector = pack(car)
    limit = braking_limit(car, speed=speed)
    at = _at(car, speed)
    mass = float(vector[P.total_mass])
    ideal = laden_front_share(
        front_load=at.tyre_load.FL + at.tyre_load.FR,
        rear_load=at.tyre_load.RL + at.tyre_load.RR,
        transfer=mass * limit * cg_height(vector) / wheelbase(vector),
    )
    force = mass * limit - at.drag
    engine = float(overrun_wheel_torque(car, np.array([speed]))[0]) / driven_radius(car)
    engine = min(max(engine, 0.0), 0.5 * force)
    to_front = float(vector[P.drive_front_share])
    bias = ((ideal + margin) * force - to_front * engine) / (force - engine)
    return BrakeNeed(
        speed=speed,
        deceleration=limit,
        ideal=ideal,
        engine_share=engine / force,
        front_share=min(max(bias, 0.0), 1.0),
    )
