"""Heat of a tyre over minutes: a tread and a carcass with its gas; and the pressure of that gas."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fourpatch.car.parameters import TyreStint

Array = NDArray[np.float64]

ATMOSPHERE = 101325.0
"""Pressure of the standard atmosphere, ISO 2533, that gauges leave out. [Pa]"""

_IN_TREAD = 0.5  # of the work of rolling


class Warmed(NamedTuple):
    """Rises over air of tread and carcass, (tyres, 2). [K]"""

    end: Array
    """After the time."""
    mean: Array
    """Over it."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TyreHeat:
    """The heat balance of one kind of tyre, linear in its temperatures.

    Notes
    -----
    With rises over air T_t of the tread and T_c of the carcass and the gas,

        C_t dT_t/dt = P_t - G_t T_t - k (T_t - T_c),   C_c dT_c/dt = P_c - G_c T_c + k (T_t - T_c),

    x' = A x + b, whose solution x_s + exp(A t) (x_0 - x_s) is taken as it stands; A has two real negative
    eigenvalues. P_t is the tread's share of the work of sliding and half of that of rolling, P_c the other
    half.

    Left out: cooling that grows with speed, heat from brake to rim, heat that is stored across the tread's
    width (camber, pressure), radiation.

    Source: lumped heat balance, derived here; sizes of the constants are the car's.
    """

    tyre: TyreStint
    cooling: float = 1.0
    """Of the tread, over that of a dry road. [1]"""

    def powers(self, *, sliding: Array, rolling: Array) -> Array:
        """Return what warms tread and carcass of tyres, (tyres, 2). [W]

        Parameters
        ----------
        sliding : work of sliding per time, (tyres,). [W]
        rolling : load times speed, (tyres,). [W]
        """
        hysteresis = self.tyre.rolling_resistance * rolling
        tread = self.tyre.sliding_share * sliding + _IN_TREAD * hysteresis
        return np.stack([tread, (1.0 - _IN_TREAD) * hysteresis], axis=-1)

    @property
    def given_off(self) -> Array:
        """Heat that tread and carcass give off for each kelvin over air, (2,). [W/K]"""
        return np.array([self.cooling * self.tyre.tread_cooling, self.tyre.carcass_cooling])

    @property
    def capacity(self) -> Array:
        """Of tread and carcass, (2,). [J/K]"""
        return np.array([self.tyre.tread_capacity, self.tyre.carcass_capacity])

    @property
    def settling(self) -> float:
        """Time constant of the slower of its two ways to settle. [s]"""
        return float(-1.0 / np.linalg.eigvals(self._rates).max())

    @property
    def _rates(self) -> Array:
        """A of the equations. [1/s]"""
        between = self.tyre.tread_to_carcass
        lost = np.diag(self.given_off) + between * np.array([[1.0, -1.0], [-1.0, 1.0]])
        return -lost / self.capacity[:, None]

    def settled(self, power: Array) -> Array:
        """Return the rises at which as much is given off as taken in, (tyres, 2). [K]

        Parameters
        ----------
        power : of `powers`.
        """
        return np.asarray(np.linalg.solve(-self._rates, (power / self.capacity).T).T)

    def warmed(self, start: Array, power: Array, time: float) -> Warmed:
        """Return the rises over air after a time of even powers, and their means.

        Parameters
        ----------
        start : rises of tread and carcass, (tyres, 2). [K]
        power : of `powers`.
        time : longer than nothing. [s]
        """
        settled = self.settled(power)
        rate, way = np.linalg.eig(self._rates)
        apart = np.linalg.solve(way, (start - settled).T)
        end = way @ (np.exp(rate * time)[:, None] * apart)
        mean = way @ ((np.expm1(rate * time) / (rate * time))[:, None] * apart)
        return Warmed(end=settled + end.T, mean=settled + mean.T)


def warm_pressure(pressure: Array | float, temperature: Array, *, other: Array | float) -> Array:
    """Return the gauge pressure of gas at another temperature, in the same volume. [Pa]

    Parameters
    ----------
    pressure : gauge, at ``temperature``. [Pa]
    temperature, other : of the gas. [K]

    Notes
    -----
    p / T is constant, p absolute: ideal gas at constant volume. Left out: the tyre's growth (a few per
    cent of volume with speed and pressure) and moisture, which adds to the rise where air was not dry.
    """
    return np.asarray((pressure + ATMOSPHERE) * other / temperature - ATMOSPHERE)
