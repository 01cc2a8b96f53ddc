"""Laps of a run: found from positions, from what the recorder counted, or from how the way bends alone."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fourpatch.errors import RecordingError
from fourpatch.recording.signals import cross_correlation
from fourpatch.recording.way import SPACING, Way
from fourpatch.runs.run import Run

Array = NDArray[np.float64]

SHORTEST: Final = 200.0
"""That a lap may be. [m]"""

_REACH = 20.0  # across the start line, from where it was set [m]
_ALIKE = 0.6  # correlation of the bends of two laps, from which on they are laps of one track
_OFF_ROUND = 0.6  # by which a lap may turn more or less than whole turns: zero of the yaw rate, lines [rad]
_LONGER = 0.04  # share by which a lap's length may differ from the usual one


@dataclass(frozen=True, slots=True, kw_only=True)
class Lap:
    """One lap."""

    number: int
    """Counted from 1 in the order they were driven, those of the pits included."""
    begin: float
    """Distance driven at its start line. [m]"""
    end: float
    """Distance driven when it is crossed again. [m]"""
    start: float
    """[s]"""
    finish: float
    """[s]"""
    like_others: bool
    """Whether it is as long as most: not cut short, not through the pits."""

    @property
    def length(self) -> float:
        """[m]"""
        return self.end - self.begin

    @property
    def duration(self) -> float:
        """Time it took. [s]"""
        return self.finish - self.start


@dataclass(frozen=True, slots=True, kw_only=True)
class Laps:
    """The laps of a run, and how they were told."""

    laps: tuple[Lap, ...]
    told_by: str
    """What they were told by and where the start line is, a sentence."""

    @property
    def usual(self) -> tuple[Lap, ...]:
        """Those that are like the others."""
        return tuple(one for one in self.laps if one.like_others)

    @property
    def fastest(self) -> Lap:
        """The quickest of those that are like the others."""
        return min(self.usual, key=lambda one: one.duration)


def find_laps(run: Run, way: Way) -> Laps:
    """Find the laps of a run.

    Parameters
    ----------
    way : of the run.

    Raises
    ------
    RecordingError
        If there are none: nothing is driven twice.

    Notes
    -----
    In this order: where the recorder's own count of laps changes; where the car crosses a line through the
    place that it passes fastest, at right angles to its way there; where its way begins to bend as it did
    before, by the autocorrelation of curvature along the distance, each lap then fitted to the first.
    """
    for found, told in (
        (_counted(run, way), "The recorder counted the laps; the start line is where it did."),
        (_crossed(way), "Laps begin where the car passes the place at which it was fastest."),
        (_repeated(way), "Nothing says where the car was, so laps begin where its way repeats."),
    ):
        if found.size >= 2:
            return Laps(laps=_laps_between(found, way), told_by=told)
    raise RecordingError(
        f"{run.name}: no lap is complete: over {way.distance[-1] / 1e3:.2f} km nothing is driven twice. Give "
        "a recording of two laps or more, or ask for it as one stretch: --open."
    )


def whole_as_lap(name: str, way: Way) -> Laps:
    """Take a whole run as one lap, as of a recording cut at the start line.

    Raises
    ------
    RecordingError
        If it does not turn once round.
    """
    turned = float(np.sum(way.curvature)) * SPACING
    if abs(abs(turned) - 2.0 * np.pi) > _OFF_ROUND:
        raise RecordingError(
            f"{name}: nothing is driven twice, and over {way.distance[-1] / 1e3:.2f} km the way turns by "
            f"{np.degrees(turned):.0f} degrees, where a lap turns by 360. Give a whole lap from the start "
            "line to the start line, two laps or more, or take it as an open road."
        )
    lap = Lap(
        number=1,
        begin=0.0,
        end=float(way.distance[-1]),
        start=float(way.time[0]),
        finish=float(way.time[-1]),
        like_others=True,
    )
    return Laps(laps=(lap,), told_by="The whole recording is taken as one lap.")


def _laps_between(edges: Array, way: Way) -> tuple[Lap, ...]:
    lengths = np.diff(edges)
    usual = float(np.median(lengths))
    return tuple(
        Lap(
            number=number,
            begin=float(begin),
            end=float(end),
            start=float(way.when(begin)),
            finish=float(way.when(end)),
            like_others=bool(abs(end - begin - usual) < _LONGER * usual),
        )
        for number, (begin, end) in enumerate(pairwise(edges), start=1)
    )


def _counted(run: Run, way: Way) -> Array:
    """Return the distances at which the recorder's count of laps changes."""
    if "lap_number" not in run:
        return np.array([])
    count = run["lap_number"]
    known = np.isfinite(count.values)
    time, values = count.time[known], count.values[known]
    changes = np.flatnonzero(np.diff(values) != 0.0)
    found = np.interp(0.5 * (time[changes] + time[changes + 1]), way.time, way.distance)
    return _apart(found)


def _apart(edges: Array) -> Array:
    """Leave out edges that follow another too soon."""
    kept: list[float] = []
    for edge in edges:
        if not kept or edge - kept[-1] > SHORTEST:
            kept.append(float(edge))
    return np.array(kept)


def _crossed(way: Way) -> Array:
    """Return the distances at which the car crosses a line at its fastest place."""
    if way.x is None or way.y is None:
        return np.array([])
    fastest = int(np.argmax(_mean(way.speed, 50)))
    return crossings(way, fastest)


def crossings(way: Way, place: int) -> Array:
    """Return the distances at which a way crosses the line across it at one of its places.

    Parameters
    ----------
    place : index along the way, which must have positions.
    """
    if way.x is None or way.y is None:
        return np.array([])
    before, after = max(place - 10, 0), min(place + 10, way.x.size - 1)
    along = np.array([way.x[after] - way.x[before], way.y[after] - way.y[before]])
    along /= max(float(np.hypot(*along)), 1e-9)
    dx, dy = way.x - way.x[place], way.y - way.y[place]
    ahead, beside = dx * along[0] + dy * along[1], dy * along[0] - dx * along[1]
    passed = np.flatnonzero((ahead[:-1] < 0.0) & (ahead[1:] >= 0.0) & (np.abs(beside[1:]) < _REACH))
    share = -ahead[passed] / (ahead[passed + 1] - ahead[passed])
    return _apart(way.distance[passed] + share * SPACING)


def _mean(row: Array, places: int) -> Array:
    return np.convolve(row, np.full(places, 1.0 / places), mode="same")


def _repeated(way: Way) -> Array:
    """Return the distances at which the way bends again as it did at the first of them."""
    bend = _mean(way.curvature, 15)
    length = _period(bend)
    if length is None:
        return np.array([])
    # Begin where the car is fastest in the first lap: on a straight, where an error of place matters least.
    first = int(np.argmax(_mean(way.speed, 50)[: round(length / SPACING)]))
    edges = [first]
    size = round(length / SPACING)
    room = round(_LONGER * size)
    pattern = bend[first : first + size]
    while edges[-1] + size - room < bend.size:
        wanted = edges[-1] + size
        found = _best_shift(bend, pattern, wanted, room)
        if found is None:
            break
        edges.append(found)
    return way.distance[np.minimum(edges, way.distance.size - 1)]


def _period(bend: Array) -> float | None:
    """Return the distance after which a way bends as before, by its autocorrelation."""
    row = bend - bend.mean()
    whole = cross_correlation(row, row)[row.size - 1 :]
    energy = np.cumsum(row**2)
    total = energy[-1]
    lags = np.arange(row.size)
    # Of what overlaps: the energy of the front part times that of the back part.
    front = energy[::-1]
    back = total - np.concatenate([[0.0], energy[:-1]])
    alike = whole / np.sqrt(np.maximum(front * back, 1e-30))
    good = (lags >= SHORTEST / SPACING) & (front > 0.1 * total) & (alike > _ALIKE)
    good[1:-1] &= (alike[1:-1] >= alike[:-2]) & (alike[1:-1] >= alike[2:])
    heading = np.cumsum(bend) * SPACING
    # The first peak after which the car has turned once round, or not at all on an eight.
    laps = [
        int(lag) for lag in np.flatnonzero(good) if _is_round(heading[lag:] - heading[: heading.size - lag])
    ]
    highest = max((alike[lag] for lag in laps), default=0.0)
    return next((lag * SPACING for lag in laps if alike[lag] > 0.9 * highest), None)


def _is_round(turned: Array) -> bool:
    """Say whether a way turns by whole turns over a distance, wherever one begins."""
    low, middle, high = np.percentile(turned, [10.0, 50.0, 90.0])
    off = middle - 2.0 * np.pi * np.round(middle / (2.0 * np.pi))
    return bool(abs(off) < _OFF_ROUND and high - low < _OFF_ROUND)


def _best_shift(bend: Array, pattern: Array, wanted: int, room: int) -> int | None:
    """Return where near a place a lap begins that bends like a pattern; None if none does.

    What is compared is half a lap before the place and as much of a lap behind it as there is.
    """
    before = pattern.size // 2
    shifts = np.arange(-room, min(room, bend.size - 1 - wanted) + 1)
    behind = min(pattern.size, bend.size - wanted - int(shifts[-1]))
    part = np.concatenate([pattern[-before:], pattern[:behind]])
    part = part - part.mean()
    scores = [_alike(bend[wanted + by - before : wanted + by + behind], part) for by in shifts]
    best = int(np.argmax(scores))
    return wanted + int(shifts[best]) if scores[best] > _ALIKE else None


def _alike(row: Array, part: Array) -> float:
    centred = row - row.mean()
    spread = float(np.sqrt((centred @ centred) * (part @ part)))
    return float(centred @ part) / spread if spread > 0.0 else 0.0


def stations(way: Way, lap: Lap, reference: Lap) -> Array:
    """Return where along the reference lap each place of a lap lies [m].

    Parameters
    ----------
    way : of the run that both are laps of.

    Returns
    -------
    Array
        For the places ``way.part(lap.begin, lap.end)``; from 0 to the length of the reference lap, never less
        than before.

    Notes
    -----
    With positions, the nearest place of the reference lap, looked for near where lengths in proportion put
    it. Without, lengths in proportion, with bends shifted onto each other: in stretches of an eighth of a
    lap the shift of the highest correlation, linear between their middles.
    """
    here, there = way.part(lap.begin, lap.end), way.part(reference.begin, reference.end)
    guess = (way.distance[here] - lap.begin) * (reference.length / lap.length)
    if lap == reference:
        return guess
    if way.x is not None and way.y is not None:
        found = _nearest(np.column_stack([way.x, way.y]), way.distance, here, there, guess)
    else:
        found = guess + _bend_shift(way, here, there, guess)
    found[0], found[-1] = 0.0, reference.length
    return np.maximum.accumulate(np.clip(found, 0.0, reference.length))


def _nearest(places: Array, distance: Array, here: slice, there: slice, guess: Array) -> Array:
    """Return the place of a lap, given as (n, 2), nearest to each of another."""
    from scipy.spatial import KDTree

    _, nearest = KDTree(places[there]).query(places[here], k=8)
    found = (distance[there] - distance[there.start])[nearest]
    # Of the nearest places the one about where it should be: tracks come near themselves.
    best = np.argmin(np.abs(found - guess[:, None]), axis=1)
    chosen = found[np.arange(guess.size), best]
    far = np.abs(chosen - guess) > 0.1 * max(float(guess[-1]), 1.0)
    chosen[far] = guess[far]
    return _mean_inside(chosen, 11)


def _mean_inside(row: Array, places: int) -> Array:
    from scipy.ndimage import uniform_filter1d

    # About the straight line, so that the ends stay where they are.
    line = np.linspace(row[0], row[-1], row.size)
    return np.asarray(line + uniform_filter1d(row - line, places, mode="nearest"))


def _bend_shift(way: Way, here: slice, there: slice, guess: Array) -> Array:
    own = way.curvature[here]
    reference = np.interp(guess, way.distance[there] - way.distance[there.start], way.curvature[there])
    pieces = np.linspace(0, guess.size, 9).astype(int)
    middles, shifts = [0.0], [0.0]
    for first, last in pairwise(pieces):
        best = shift_of(own, reference, first, last)
        middles.append(0.5 * (first + last))
        shifts.append(best)
    middles.append(float(guess.size))
    shifts.append(0.0)
    return np.interp(np.arange(guess.size), middles, shifts) * SPACING


def shift_of(own: Array, reference: Array, first: int, last: int) -> float:
    """Return by how many places bends must be moved along others to lie on the same; 0 if untold."""
    part = own[first:last] - own[first:last].mean()
    if float(np.abs(part).max(initial=0.0)) < 2e-3:
        return 0.0  # a straight tells nothing
    tries = [by for by in range(-25, 26) if first + by >= 0 and last + by <= reference.size]
    scores = [_alike(reference[first + by : last + by], part) for by in tries]
    best = int(np.argmax(scores)) if scores else 0
    return float(tries[best]) if scores and scores[best] > _ALIKE else 0.0


def mean_bend(way: Way, laps: Sequence[Lap], reference: Lap, spacing: float = 1.0) -> tuple[Array, Array]:
    """Return distance along the reference lap [m] and the mean curvature of laps there [1/m].

    Notes
    -----
    The last place is the first again: a lap.
    """
    count = max(round(reference.length / spacing), 10)
    distance = np.linspace(0.0, reference.length, count + 1)
    rows = [
        np.interp(distance, stations(way, lap, reference), way.curvature[way.part(lap.begin, lap.end)])
        for lap in laps
    ]
    bend = np.mean(rows, axis=0)
    bend[-1] = bend[0] = 0.5 * (bend[0] + bend[-1])
    return distance, bend
