"""A garage screen: a row for each setting a car may have, and the adjusters that its rows make.

Where the unit is known the number on the scale is the value; where it is not, the car's own value belongs to
where the scale stands now, and what the ends do is a stated plausible range.
"""

import re
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from pydantic import BaseModel, Field

from fourpatch.car.adjusters import Adjuster, DirectMap, RateMap, TableMap, UnknownMap
from fourpatch.car.car import Car
from fourpatch.car.garage_maps import (
    WING_GUESS,
    counted_map,
    is_share,
    plausible_values,
    ramp_map,
    require_in_range,
    share_map,
    unknown_map,
    wing_values,
)
from fourpatch.car.garage_settings import KEPT, RAMP, RATIO, UNKNOWN, Setting, settings_of, si_of, units_for
from fourpatch.car.paths import parameter, replace_parameters
from fourpatch.errors import FieldsError
from fourpatch.units import to_si


class GarageRow(BaseModel):
    """A setting as its row says it; numbers as they were typed."""

    key: str = Field(max_length=60, description="Which setting.")
    have: bool = Field(default=False, description="Whether the car has it.")
    lowest: str = Field(default="", max_length=40)
    highest: str = Field(default="", max_length=40)
    step: str = Field(default="", max_length=40)
    now: str = Field(default="", max_length=40, description="Where it stands; if empty, where the car is.")
    unit: str = Field(default=UNKNOWN, max_length=20, description=f'What the scale counts, or "{UNKNOWN}".')


# From a car to its rows


def rows_of(car: Car) -> list[GarageRow]:
    """Return the rows of a car: those it has as they are, the others as a proposal."""
    return [row_of(car, one) for one in settings_of(car)]


def row_of(car: Car, setting: Setting) -> GarageRow:
    """Return the row of a setting."""
    there = _there(car, setting)
    if there is not None:
        return GarageRow(
            key=setting.key,
            have=True,
            lowest=f"{there.lowest:g}",
            highest=f"{there.highest:g}",
            step=f"{there.step:g}",
            now=f"{there.baseline:g}",
            unit=_unit_of(there, setting),
        )
    lowest, highest, step = setting.scale
    return GarageRow(key=setting.key, lowest=f"{lowest:g}", highest=f"{highest:g}", step=f"{step:g}")


def _there(car: Car, setting: Setting) -> Adjuster | None:
    """Return the adjuster that a car has for a setting, if it has one."""
    alike = [one for one in car.adjusters if set(one.targets) == set(setting.targets)]
    ramp = setting.unit == RAMP
    return next((one for one in alike if (one.unit == RAMP) == ramp), None)


def _unit_of(one: Adjuster, setting: Setting) -> str:
    if isinstance(one.map, DirectMap):
        return RATIO if one.map.unit == "1" else one.map.unit
    if isinstance(one.map, UnknownMap):
        return UNKNOWN
    counted = isinstance(one.map, RateMap) and one.map.rate == f"1 {one.unit}"
    if is_share(one) or (counted and setting.known != "value"):
        return one.unit
    return RAMP if one.unit == RAMP else KEPT


# From rows to a car


_SCALE = Adjuster.model_validate(
    {
        "name": "scale",
        "system": "dampers",
        "axle": "car",
        "targets": ["-"],
        "lowest": 0.0,
        "highest": 1.0,
        "baseline": 0.0,
        "stiffer": "none",
        "more_means": "-",
        "map": {"kind": "rate", "rate": "1"},
    }
)
"""What any scale is like, to count its positions."""


class Settled(NamedTuple):
    """What rows make of a car."""

    car: Car
    changed: Mapping[str, float]
    """Parameters that stand elsewhere now, SI."""


def settled(car: Car, rows: Sequence[GarageRow]) -> Settled:
    """Return a car with the adjusters that its rows say.

    Raises
    ------
    FieldsError
        With every row that cannot be, its fields by the key of the row, a dot, and the name of the field.

    Notes
    -----
    A row that says what the car has leaves the adjuster as it is, with whatever map somebody has given it.
    Adjusters that no row is about stay. With a unit and a number for where it stands, the car gets that
    value; if that is left open, the car's own value is moved to the nearest place of the scale.
    """
    settings = {one.key: one for one in settings_of(car)}
    faults: dict[str, str] = {}
    values: dict[str, float] = {}
    made: list[Adjuster] = []
    about: list[Adjuster] = []
    for row in rows:
        setting = settings.get(row.key)
        if setting is None:
            faults[f"{row.key}.key"] = "is no setting of this car."
            continue
        there = _there(car, setting)
        about += [there] if there else []
        if not row.have:
            continue
        if there is not None and row == row_of(car, setting):
            made.append(there)
            continue
        try:
            one, own = _adjuster(car, setting, row, there)
        except FieldsError as error:
            faults |= {f"{row.key}.{field}": text for field, text in error.fields.items()}
            continue
        twice = [path for path in own if path in values and values[path] != own[path]]
        if twice:
            faults[f"{row.key}.have"] = "sets the same as another row. Keep one of the two."
        values |= own
        made.append(one)
    if faults:
        raise FieldsError(faults)
    by_name = {one.name: one for one in made}
    gone = {one.name for one in about} - by_name.keys()
    stay = [by_name.pop(one.name, one) for one in car.adjusters if one.name not in gone]
    changed = replace_parameters(car, values) if values else car
    guesses = {path: WING_GUESS for path in values if path.endswith("_area_per_angle")}
    about_car = {"adjusters": [*stay, *by_name.values()], "provenance": {**car.provenance, **guesses}}
    return Settled(changed.model_copy(update=about_car), values)


_NUMBER = re.compile(
    r"^\s*(?:about|around|approx\.?|ca\.?|circa|~|≈)?\s*([-+−]?\d+(?:[.,]\d+)?)\s*(.*?)\s*$", re.IGNORECASE
)
_WORDS = frozenset({"", "click", "clicks", "position", "positions", "pos", "hole", "holes", "step", "steps"})


def read_number(text: str, unit: str) -> float:
    """Return a number as somebody types it: ``45``, ``about 45``, ``45 %``, ``7 clicks``, ``30 psi`` for bar.

    Raises
    ------
    ValueError
        If it is none, or in a unit that measures something else.
    """
    match = _NUMBER.match(text)
    if not match:
        raise ValueError(f'is "{text}", not a number.' if text.strip() else "is still empty.")
    number = float(match[1].replace(",", ".").replace("−", "-"))
    written = match[2]
    if written.lower() in _WORDS or written == unit:
        return number
    if unit in (UNKNOWN, KEPT, RATIO, RAMP):
        if written in ("%", "°", "deg"):
            return number
        raise ValueError(
            f'is "{text}"; its unit is said to be {unit}. Choose the unit, or write {match[1]} alone.'
        )
    try:
        return to_si(number, written, si_of(unit)) / to_si(1.0, unit, si_of(unit))
    except ValueError:
        raise ValueError(
            f'is "{text}", which does not measure the same as {unit}. Write it in {unit}.'
        ) from None


def _adjuster(
    car: Car, setting: Setting, row: GarageRow, there: Adjuster | None
) -> tuple[Adjuster, dict[str, float]]:
    """Return the adjuster of a row, and the values of the car where it stands, SI."""
    if row.unit not in units_for(setting) and not (row.unit == KEPT and there):
        raise FieldsError({"unit": f'is "{row.unit}"; choose one of {", ".join(units_for(setting))}.'})
    lowest, highest, step = _scale(row)
    if row.unit == KEPT and there is not None:
        now = _now(row, lowest, highest, step, there.baseline)
        scale = {"lowest": lowest, "highest": highest, "step": step, "baseline": now}
        one = there.model_copy(update=scale)
        require_in_range(car, one, {})
        return one, {}
    own = parameter(car, setting.targets[0])
    is_value = row.unit not in (UNKNOWN, RAMP)
    unit = "1" if row.unit == RATIO else row.unit
    measured = own.value / to_si(1.0, unit, own.unit.si) if is_value else None
    now = _now(row, lowest, highest, step, measured)
    about: dict[str, Any] = {
        "name": there.name if there is not None else setting.key,
        "system": setting.system,
        "axle": setting.axle,
        "targets": list(setting.targets),
        "lowest": lowest,
        "highest": highest,
        "step": step,
        "baseline": now,
        "stiffer": setting.stiffer,
        "more_means": setting.more,
        "unit": _counts(setting, row.unit),
    }
    values: dict[str, float] = {}
    if row.unit == UNKNOWN:
        share = (now - lowest) / (highest - lowest)
        values = plausible_values(car, setting)
        has = replace_parameters(car, values) if values else car
        about |= unknown_map(has, setting, share=share, length=highest - lowest)
    elif row.unit == RAMP:
        about |= ramp_map(lowest, highest)
        table = Adjuster.model_validate(about)
        assert isinstance(table.map, TableMap)
        values = {path: table.map.value(now, table, own.unit) for path in setting.targets}
    elif setting.known == "counted":
        about |= counted_map(row.unit)
    elif setting.known == "share":
        if not 0.0 < lowest < highest < 100.0:
            raise FieldsError(
                {"highest" if lowest > 0.0 else "lowest": "is no share between 0 and 100 % of the braking."}
            )
        about |= share_map(car, setting.targets[0], lowest=lowest, now=now, highest=highest)
    else:
        about["map"] = {"kind": "direct", "unit": unit}
        values = {path: to_si(now, unit, own.unit.si) for path in setting.targets}
    one = Adjuster.model_validate(about)
    require_in_range(car, one, values)
    return one, values | (wing_values(car, setting.key.split()[0]) if setting.system == "aero" else {})


def _counts(setting: Setting, unit: str) -> str:
    """Return what a scale counts, for display."""
    if unit == UNKNOWN:
        return "clicks" if setting.system == "dampers" else "position"
    return "" if unit == RATIO else unit


def _scale(row: GarageRow) -> tuple[float, float, float]:
    """Read a row's scale, or refuse it field by field."""
    faults: dict[str, str] = {}
    read: dict[str, float] = {}
    for field in ("lowest", "highest", "step"):
        try:
            read[field] = read_number(getattr(row, field), row.unit)
        except ValueError as error:
            faults[field] = str(error)
    if faults:
        raise FieldsError(faults)
    lowest, highest, step = read["lowest"], read["highest"], read["step"]
    if row.unit == "%" and 0.0 <= lowest < highest <= 1.0:  # shares as parts of one
        lowest, highest, step = (round(100.0 * one, 9) for one in (lowest, highest, step))
    if highest <= lowest:
        raise FieldsError(
            {"highest": f"is {highest:g}, not above the lowest, {lowest:g}. Are the two exchanged?"}
        )
    if step <= 0.0:
        raise FieldsError({"step": f"is {step:g}; a step is above 0. Write how far two positions are apart."})
    steps = (highest - lowest) / step
    if abs(steps - round(steps)) > 1e-6 * max(steps, 1.0) or steps > 10_000:
        fits = (highest - lowest) / max(round(steps), 1)
        said = f"is {step:g}, which does not divide {lowest:g} to {highest:g}"
        raise FieldsError({"step": f"{said}. {fits:.4g} would; or give another end."})
    return lowest, highest, step


def _now(row: GarageRow, lowest: float, highest: float, step: float, own: float | None) -> float:
    """Return where a scale stands: as typed, else where the car is, else in the middle."""
    scale = _SCALE.model_copy(update={"lowest": lowest, "highest": highest, "step": step})
    if not row.now.strip():
        middle = 0.5 * (lowest + highest)
        return scale.nearest(own if own is not None and lowest <= own <= highest else middle)
    try:
        now = read_number(row.now, row.unit)
    except ValueError as error:
        raise FieldsError({"now": str(error)}) from None
    if row.unit == "%" and "%" not in row.now and 0.0 < now < 1.0 < lowest:
        now = round(100.0 * now, 9)
    if not scale.allows(now):
        raise FieldsError({"now": f"is {now:g}, which {scale.refusal(now)}"})
    return scale.nearest(now)
