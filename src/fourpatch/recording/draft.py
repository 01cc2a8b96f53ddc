"""Columns with what they may be, while a proposal is made."""

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from fourpatch.recording.mapping import MappedColumn
from fourpatch.recording.raw import Array, RawColumn
from fourpatch.recording.vocabulary import SPECS, Meaning, meanings
from fourpatch.recording.written_units import measured_by, scale_of
from fourpatch.runs.channels import CHANNELS

SURE = 0.75
"""Score of a name from which on nobody is asked."""

_SMOOTH = 1e-4  # rad/s: a car at 600 m/s
_LEVEL = 5.0  # m/s^2 that an acceleration in the plane is off zero most of the time, at the most


@dataclass(slots=True, kw_only=True, eq=False)
class Draft:
    """What a column is thought to be."""

    column: RawColumn
    channel: str
    wheel: str
    score: float
    units: list[str]
    """Those it may be in, the likeliest first."""
    row: Array
    """Binned, as written."""
    reversed: bool = False
    by_name: bool = True
    """Whether its name tells what it is; else somebody has to agree."""
    confirmed: bool = False
    """Whether physics says so too."""
    reasons: list[str] = field(default_factory=list)

    @property
    def sure(self) -> bool:
        """Say whether nobody needs to be asked."""
        told = self.score >= SURE or (self.confirmed and self.by_name)
        return told and (len(self.units) == 1 or self.confirmed)

    @property
    def factor(self) -> float:
        """SI value of one of the likeliest unit, with the sign."""
        scale = scale_of(self.units[0], CHANNELS[self.channel].unit)
        return (scale[0] if scale else 1.0) * (-1.0 if self.reversed else 1.0)

    @property
    def si(self) -> Array:
        """The row in SI, with the sign."""
        scale = scale_of(self.units[0], CHANNELS[self.channel].unit)
        offset = scale[1] if scale else 0.0
        return np.asarray(self.row * self.factor + offset)

    def mapped(self) -> MappedColumn:
        """Return it as a line of a mapping."""
        return MappedColumn(
            column=self.column.name,
            channel=self.channel,
            wheel=self.wheel,
            unit=self.units[0],
            reversed=self.reversed,
        )


def drafts(rows: dict[str, Array], columns: dict[str, RawColumn]) -> list[Draft]:
    """Give each column what its name, unit and range say best, each channel to one column.

    Parameters
    ----------
    rows : binned, by the name of the column.
    columns : by name.
    """
    possible = sorted(
        (one for name, row in rows.items() for one in _readings(columns[name], row)),
        key=lambda one: -one.score,
    )
    taken: set[tuple[str, str]] = set()
    named: set[str] = set()
    found = []
    for one in possible:
        place = (one.channel, one.wheel)
        if one.column.name in named or place in taken:
            continue
        taken.add(place)
        named.add(one.column.name)
        found.append(one)
    order = {name: place for place, name in enumerate(columns)}
    return sorted(found, key=lambda one: order[one.column.name])


def _readings(column: RawColumn, row: Array) -> Iterator[Draft]:
    """Yield what a column may be, with how well it fits."""
    if not np.isfinite(row).any():
        return
    for meaning in meanings(column.name):
        units = _units(column, meaning, row)
        if not units:
            continue
        fits = plausible(meaning.channel, row, units[0])
        # A position's own speed and course are coarse; others of that name are better.
        coarse = 0.03 if "gps" in column.name.lower() and meaning.channel in ("speed", "course") else 0.0
        dead = 0.3 if np.ptp(row) == 0.0 else 0.0
        score = meaning.score * (1.0 if fits else 0.5) - coarse - dead
        if score > 0.25 and (meaning.wheel or meaning.channel not in _NEED_WHEEL):
            yield Draft(
                column=column,
                channel=meaning.channel,
                wheel=meaning.wheel,
                score=score,
                units=units,
                row=row,
                reasons=[f'named "{column.name}"'],
            )


_NEED_WHEEL = frozenset(
    {
        "rolling_speed",
        "wheel_speed",
        "damper_travel",
        "damper_speed",
        "travel",
        "tyre_load",
        "tyre_temperature",
        "tyre_pressure",
        "brake_temperature",
    }
)


def _units(column: RawColumn, meaning: Meaning, row: Array) -> list[str]:
    """Return the units a column may be in as such a channel; none if its unit measures something else."""
    si = CHANNELS[meaning.channel].unit
    written = column.unit.strip()
    if written and scale_of(written, si) is not None and (written not in ("-", "1") or si == "1"):
        return [written]
    if measured_by(written) not in (None, "1"):
        return []
    own = column.name.split()[0]
    if own in CHANNELS and not written and own not in ("latitude", "longitude"):  # those are degrees to all
        return [si]
    spec = SPECS.get(meaning.channel)
    usual = list(spec.units) if spec else [si]
    fitting = [unit for unit in usual if plausible(meaning.channel, row, unit)]
    return fitting or usual[:1]


def plausible(channel: str, row: Array, unit: str) -> bool:
    """Say whether numbers in a unit can be a channel: its range, how far it moves, how smooth it is."""
    spec, scale = SPECS.get(channel), scale_of(unit, CHANNELS[channel].unit)
    if spec is None or scale is None:
        return True
    values = row * scale[0] + scale[1]
    low, middle, high = np.nanpercentile(values, [0.5, 50.0, 99.5])
    if low < spec.low or high > spec.high or max(abs(low), abs(high)) < spec.reach:
        return False
    if channel in ("latitude", "longitude"):
        return bool(np.nanpercentile(np.abs(np.diff(values)), 99.0) < _SMOOTH)
    if channel in ("longitudinal_acceleration", "lateral_acceleration"):
        return bool(abs(middle) < _LEVEL)
    if channel in ("distance", "lap_number"):
        return bool(np.mean(np.diff(values) >= -1e-9) > 0.9)
    return True
