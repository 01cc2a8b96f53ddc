"""Heat of brakes and tyres over laps like one that was driven: a balance with assumed constants."""

from dataclasses import dataclass
from itertools import pairwise
from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.driven_lap import DrivenLap, LapRows
from fourpatch.analysis.quantity import TIME, Axles, Corners, Findings, Measure
from fourpatch.physics.layout import X

Array = NDArray[np.float64]

POWER = Measure("W", "kW", 1e3)
RISE = Measure("K", "K")
HEAT = Measure("J", "kJ", 1e3)

_TOUCHED = 0.01  # of full pedal, from which a brake counts as used


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatAssumptions:
    """What nobody measured: constants of a disc and of a tread, alike for every car.

    Notes
    -----
    Source: from memory, common practice, no published source. Discs of road and club racing cars weigh 4 to
    12 kg; cast iron takes 460 J/(kg K) cold and some 600 at 400 degC; with ducts a ventilated disc gives off
    60 to 150 W/(m^2 K), radiation counted in. Rises scale with 1 / (area x coefficient): a guess that is off
    by a half puts them off by a half. They compare set-ups and laps; they are no temperatures to trust.
    """

    front_disc_mass: float = 8.0
    """[kg]"""
    rear_disc_mass: float = 5.5
    """[kg]"""
    disc_specific_heat: float = 500.0
    """[J/(kg K)]"""
    front_disc_area: float = 0.25
    """Faces and vanes. [m^2]"""
    rear_disc_area: float = 0.16
    """[m^2]"""
    disc_coefficient: float = 100.0
    """Heat given off per area and rise over air. [W/(m^2 K)]"""
    tread_mass: float = 3.0
    """[kg]"""
    tread_specific_heat: float = 1700.0
    """[J/(kg K)]"""
    tread_area: float = 0.45
    """[m^2]"""
    tread_coefficient: float = 60.0
    """Air and road together. [W/(m^2 K)]"""
    tread_share: float = 0.5
    """Of the work of sliding that heats the tread; the rest heats the road. [1]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lump:
    """A body of one temperature that gives off heat to air."""

    capacity: float
    """Mass times specific heat. [J/K]"""
    conductance: float
    """Area times coefficient. [W/K]"""

    @property
    def time_constant(self) -> float:
        """Time in which it cools to 1/e. [s]"""
        return self.capacity / self.conductance

    def steady_rise(self, power: float) -> float:
        """Rise over air at which it gives off what it takes in. [K]"""
        return power / self.conductance

    def lap_rise(self, power: Array, interval: float) -> Array:
        """Return the rise over air at the end of each interval of a lap that is driven over and over. [K]

        Parameters
        ----------
        power : taken in, even within each interval, (intervals,). [W]
        interval : [s]

        Notes
        -----
        dT/dt = (P - G T) / C has over an interval the solution T e^(-dt/tau) + (1 - e^(-dt/tau)) P / G. After
        many laps the lap ends as it began; its mean is then the mean power over G.

        Source: derived here.
        """
        kept = float(np.exp(-interval / self.time_constant))
        from scipy.signal import lfilter

        forced = np.asarray(lfilter([1.0 - kept], [1.0, -kept], power / self.conductance))
        decay = kept ** np.arange(1, power.size + 1)
        return np.asarray(forced + decay * forced[-1] / (1.0 - decay[-1]))


class LapHeat(Findings):
    """Heat of brakes and tyres when the lap is driven over and over; rises are over the air's temperature."""

    brake_power: Annotated[Corners, POWER]
    """Mean over the lap."""
    brake_rise: Annotated[Corners, RISE]
    """Of the disc, mean over the lap, once laps no longer change it."""
    brake_peak_rise: Annotated[Corners, RISE]
    """Of the disc, at its hottest on such a lap."""
    hardest_stop: Annotated[Corners, HEAT]
    """Most heat of one braking."""
    hardest_stop_rise: Annotated[Corners, RISE]
    """What that braking would heat the disc by if nothing were given off meanwhile."""
    brake_settling: Annotated[Axles, TIME]
    """Until a disc is within 5 % of its mean: three time constants."""
    tyre_power: Annotated[Corners, POWER]
    """Mean work of sliding in the contact patch, the road's share included."""
    tread_rise: Annotated[Corners, RISE]
    """Of the tread, mean over the lap, once laps no longer change it; heat of rolling left out."""
    tread_settling: Annotated[float, TIME]
    """Until a tread is within 5 % of it."""


def lap_heat(lap: DrivenLap, rows: LapRows, *, assumed: HeatAssumptions | None = None) -> LapHeat:
    """Balance the heat of a driven lap as if it were driven over and over.

    Parameters
    ----------
    lap : finished.
    rows : its instants.
    assumed : constants; ours if left out.

    Notes
    -----
    Left out: cooling that grows with speed, heat to pads, calipers and rims (some 10 % of a brake's), from
    brake to tyre, and of the tyre's rolling, which in gentle laps is of the size of its sliding. A disc of
    1000 K glows: radiation then gives off some 40 W/(m^2 K) more than at 600 K, so the hottest come out too
    hot.
    """
    given = assumed or HeatAssumptions()
    front = Lump(
        capacity=given.front_disc_mass * given.disc_specific_heat,
        conductance=given.front_disc_area * given.disc_coefficient,
    )
    rear = Lump(
        capacity=given.rear_disc_mass * given.disc_specific_heat,
        conductance=given.rear_disc_area * given.disc_coefficient,
    )
    tread = Lump(
        capacity=given.tread_mass * given.tread_specific_heat,
        conductance=given.tread_area * given.tread_coefficient,
    )
    discs = (front, front, rear, rear)
    power = brake_power(lap, rows)
    rises = [disc.lap_rise(power[:, k], rows.interval) for k, disc in enumerate(discs)]
    hardest = hardest_stop(power, rows.hands[:, 2] > _TOUCHED, rows.interval)
    mean = lap.brake_work / lap.lap_time
    sliding = lap.tyre_work / lap.lap_time
    return LapHeat(
        brake_power=Corners(*mean.tolist()),
        brake_rise=Corners(*(disc.steady_rise(float(p)) for disc, p in zip(discs, mean, strict=True))),
        brake_peak_rise=Corners(*(float(rise.max()) for rise in rises)),
        hardest_stop=Corners(*hardest.tolist()),
        hardest_stop_rise=Corners(
            *(float(q) / disc.capacity for disc, q in zip(discs, hardest, strict=True))
        ),
        brake_settling=Axles(3.0 * front.time_constant, 3.0 * rear.time_constant),
        tyre_power=Corners(*sliding.tolist()),
        tread_rise=Corners(*(tread.steady_rise(given.tread_share * float(p)) for p in sliding)),
        tread_settling=3.0 * tread.time_constant,
    )


def brake_power(lap: DrivenLap, rows: LapRows) -> Array:
    """Return the heat of each brake per time, (instants, 4). [W]

    Notes
    -----
    The work of the lap, shared out by pedal times spin; its mean is that work over the time of the lap.
    """
    shape = rows.hands[:, 2, None] * np.abs(rows.states[:, X.spin : X.spin + 4])
    used = shape.mean(axis=0)
    mean = lap.brake_work / lap.lap_time
    return np.asarray(shape * np.divide(mean, used, out=np.zeros(4), where=used > 0.0))


def hardest_stop(power: Array, braking: NDArray[np.bool_], interval: float) -> Array:
    """Return the most heat that each brake takes while the pedal is held once, (4,). [J]"""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], braking, [False]]).astype(np.int8)))
    stops = [power[a:b].sum(axis=0) * interval for a, b in pairwise(edges.tolist()) if braking[a]]
    return np.max(stops, axis=0) if stops else np.zeros(power.shape[1])
