"""Closed forms of the two-mass model on a random road: what damping a wheel's load asks for.

m_s and m_u are the sprung and unsprung mass of a corner, k_s the rate at the wheel, k_t the tyre's, c the
damping at the wheel; no tyre damping. The road's vertical speed is white with two-sided intensity W.
"""

from dataclasses import dataclass
from math import erf, pi, sqrt

from fourpatch.track.road import RoadClass

_REFERENCE = 0.1  # cycle/m at which ISO 8608 quotes roughness


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoMass:
    """One corner of a car."""

    sprung_mass: float
    """[kg]"""
    unsprung_mass: float
    """[kg]"""
    wheel_rate: float
    """[N/m]"""
    tyre_rate: float
    """[N/m]"""

    def critical_damping(self) -> float:
        """Return 2 sqrt(k_s m_s). [N s/m]"""
        return 2.0 * sqrt(self.wheel_rate * self.sprung_mass)

    def least_load_damping(self) -> float:
        """Return the damping of the least RMS tyre load, the spring given. [N s/m]

        Notes
        -----
        c^2 = k_s^2 (m_s + m_u) / k_t - 2 k_s m_s m_u / (m_s + m_u) + k_t m_u m_s^2 / (m_s + m_u)^2.

        Source: derived from the covariance of the linear model; checked against a Lyapunov solver in
        tests/validation/test_base_setup.py.
        """
        s, u, k, t = self.sprung_mass, self.unsprung_mass, self.wheel_rate, self.tyre_rate
        both = s + u
        return sqrt(k**2 * both / t - 2.0 * k * s * u / both + t * u * s**2 / both**2)

    def damper_speed(self, *, damping: float, intensity: float) -> float:
        """Return the RMS speed of wheel against body, sqrt(W k_t / 2c). [m/s]"""
        return sqrt(intensity * self.tyre_rate / (2.0 * damping))

    def travel(self, *, damping: float, intensity: float) -> float:
        """Return the RMS travel of wheel against body, sqrt(W (m_s + m_u) / 2c). [m]"""
        return sqrt(intensity * (self.sprung_mass + self.unsprung_mass) / (2.0 * damping))


def road_intensity(road_class: str, speed: float) -> float:
    """Return the two-sided intensity W = 2 pi^2 Gd(n0) n0^2 V of a road's vertical speed. [m^2/s]

    Source: ISO 8608 with waviness 2 (classes as in `track.road.RoadClass`); derived here.
    """
    return 2.0 * pi**2 * RoadClass[road_class].value * _REFERENCE**2 * speed


def high_speed_slope(*, wanted: float, low: float, knee: float, rms_speed: float) -> float:
    """Return the slope beyond the knee that makes a damper as strong as ``wanted`` on a random road. [N s/m]

    Parameters
    ----------
    wanted : slope of the straight line that is to stand for the curve. [N s/m]
    low : slope below the knee. [N s/m]
    knee, rms_speed : where the slope changes; RMS of the Gaussian damper speed. [m/s]

    Notes
    -----
    The straight line nearest to a curve F over Gaussian speeds has the slope E[F v] / E[v^2] = E[F'(v)]
    (Stein's lemma), so wanted = p low + (1 - p) high with p the share of time below the knee,
    erf(knee / (sqrt(2) rms)). A quarter of the low-speed slope is the least returned: less leaves nothing
    for kerbs.

    Source: derived here.
    """
    below = erf(knee / (sqrt(2.0) * rms_speed))
    return max((wanted - below * low) / max(1.0 - below, 1e-9), 0.25 * low)
