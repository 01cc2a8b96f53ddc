"""What a base set-up aims for, before anything is computed: stated targets, each with its source.

Ride frequency
    Passenger cars 0.5 to 1.5 Hz, race saloons and moderate downforce 1.5 to 2.0, high downforce 3.0 to 5.0
    (Giaraffa, Springs and Dampers, part one; seen). The class of the tyres decides, or what carries the
    downforce where that is higher.
Roll gradient
    Milliken and Milliken, Race Car Vehicle Dynamics, ch. 16 (from memory), by class of tyre.
Front share of lateral load transfer
    Common practice, no published source.
Damping ratio at low speed
    Race 0.6 to 0.7 (Ortiz 2009; seen), road 0.2 to 0.4 (Dixon; from memory), by class of tyre.
Rebound over bump
    Common practice, no published source; 1.5 costs 0.5 % of load variation.
Damping at high speed
    Least tyre load of the two-mass model, in closed form (`two_mass`).
Brake bias
    Ideal distribution in closed form (`brake_share`) and a margin by style.
"""

from dataclasses import dataclass
from math import pi, sqrt
from typing import Literal, get_args

import numpy as np

from fourpatch.advice.occasion import Occasion
from fourpatch.analysis.quantity import Axles
from fourpatch.analysis.speed_sweep import speed_sweep
from fourpatch.analysis.statics import corner_loads, weights
from fourpatch.car.car import Car
from fourpatch.car.estimation.classes import DOWNFORCE, GRIP, Downforce, Grip
from fourpatch.car.gravity import GRAVITY
from fourpatch.car.pack import pack
from fourpatch.physics.grip import peak_lateral
from fourpatch.physics.layout import P

StyleName = Literal["calm", "neutral", "lively"]

SINK_SHARE = 0.25
"""Share of its ride height by which downforce may sink an end at the highest speed: common practice, no
published source."""

TRANSFER_BEYOND_WEIGHT = {"front": -0.04, "rear": 0.03, "all": 0.0}
"""Front share of lateral load transfer less that of the weight, by driven axle: common practice, no published
source; three open vehicle data sets have +2.7 and +3.2 points (rear drive) and -4.3 (front drive)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Style:
    """What a driver wants of the balance. All numbers: common practice, no published source."""

    name: StyleName
    balance: float
    """Sought in every phase: front use less rear use. [points]"""
    brake_margin: float
    """Front share of the tyres' braking force beyond that of the load; a point is about four of balance."""
    transfer: float
    """Added to the front share of lateral load transfer. [1]"""


STYLES: dict[StyleName, Style] = {
    "calm": Style(name="calm", balance=3.0, brake_margin=0.02, transfer=0.01),
    "neutral": Style(name="neutral", balance=1.5, brake_margin=0.01, transfer=0.0),
    "lively": Style(name="lively", balance=0.0, brake_margin=0.005, transfer=-0.01),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Targets:
    """What a base set-up aims for."""

    style: Style
    tyre_class: Grip
    """Nearest by peak friction at the static load."""
    friction: float
    """That friction. [1]"""
    downforce_class: Downforce
    """Nearest by downforce area."""
    downforce_share: Axles
    """Downforce at the highest speed over the sprung weight of the axle. [1]"""
    ride_frequency: Axles
    """[Hz]"""
    frequency_because: tuple[str, str]
    """Front, rear."""
    roll_gradient: float
    """At most. [rad s^2/m]"""
    front_transfer_share: float
    """[1]"""
    damping_ratio: float
    """Mean of bump and rebound, low speed. [1]"""
    rebound_to_bump: float

    @property
    def bump_ratio(self) -> float:
        """Damping ratio of bump. [1]"""
        return 2.0 * self.damping_ratio / (1.0 + self.rebound_to_bump)

    @property
    def rebound_ratio(self) -> float:
        """Damping ratio of rebound. [1]"""
        return self.bump_ratio * self.rebound_to_bump


def base_targets(car: Car, occasion: Occasion, style: Style) -> Targets:
    """Return what a base set-up of a car aims for.

    Parameters
    ----------
    car : as it stands.
    """
    vector = pack(car)
    loads = corner_loads(vector)
    peak = np.empty((1, 4))
    peak_lateral(vector[None, :], loads[None, :], peak)
    friction = float((peak[0] / loads).mean())
    tyre_class: Grip = min(get_args(Grip), key=lambda name: abs(GRIP[name].friction - friction))
    grip = GRIP[tyre_class]
    fast = speed_sweep(car, fastest=occasion.fastest, speeds=2)[1]
    found = weights(vector)
    sprung = (
        found.corner_sprung_mass.FL + found.corner_sprung_mass.FR,
        found.corner_sprung_mass.RL + found.corner_sprung_mass.RR,
    )
    share = Axles(*(max(f, 0.0) / (m * GRAVITY) for f, m in zip(fast.downforce, sprung, strict=True)))
    area = sum(fast.downforce) / (0.5 * car.aero.air_density * occasion.fastest**2)
    level: Downforce = min(get_args(Downforce), key=lambda name: abs(DOWNFORCE[name].area - area))
    usual = (grip.ride_frequency, grip.ride_frequency * grip.rear_to_front_frequency)
    heights = (car.front.ride_height, car.rear.ride_height)
    chosen = [_frequency(u, s, h, tyre_class) for u, s, h in zip(usual, share, heights, strict=True)]
    return Targets(
        style=style,
        tyre_class=tyre_class,
        friction=friction,
        downforce_class=level,
        downforce_share=share,
        ride_frequency=Axles(chosen[0][0], chosen[1][0]),
        frequency_because=(chosen[0][1], chosen[1][1]),
        roll_gradient=min(grip.roll_gradient, DOWNFORCE[level].largest_roll_gradient) / GRAVITY,
        front_transfer_share=found.axle_share.front
        + TRANSFER_BEYOND_WEIGHT[driven(float(vector[P.drive_front_share]))]
        + style.transfer,
        damping_ratio=grip.damping_ratio,
        rebound_to_bump=grip.rebound_to_bump,
    )


def driven(front_share: float) -> str:
    """Name the driven axle from the front share of the drive torque."""
    if front_share >= 1.0:
        return "front"
    return "rear" if front_share <= 0.0 else "all"


def platform_frequency(*, downforce_share: float, sink: float) -> float:
    """Return the ride frequency at which downforce sinks an end by ``sink`` [m]. [Hz]

    Notes
    -----
    Sink x = D W / k and f = sqrt(k / m) / 2 pi give f = sqrt(D g / x) / 2 pi, D the downforce over the
    sprung weight. Springs and tyres taken as straight lines, stops left out. Source: derived here.
    """
    return sqrt(downforce_share * GRAVITY / sink) / (2.0 * pi)


def _frequency(usual: float, downforce_share: float, height: float, tyre_class: str) -> tuple[float, str]:
    carried = platform_frequency(downforce_share=downforce_share, sink=SINK_SHARE * height)
    if carried <= usual:
        return usual, f"{usual:.2f} Hz, usual for a car on {tyre_class} tyres"
    return carried, (
        f"{carried:.2f} Hz, at which downforce of {100.0 * downforce_share:.0f} % of the sprung weight sinks "
        f"this end by {1e3 * SINK_SHARE * height:.0f} mm, a quarter of its ride height"
    )
