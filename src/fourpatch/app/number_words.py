"""Numbers of a corner, a kerb or a road as they stand in a table: unit, decimals, sign, better or worse."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from fourpatch.analysis.quantity import DAMPER_SPEED, Measure
from fourpatch.app.answers.corner import corner_figures
from fourpatch.app.answers.number import Number
from fourpatch.app.words import balance_change_text, capital, signed
from fourpatch.events.corner import Corner
from fourpatch.events.trial import CornerTrial
from fourpatch.picture.chosen_units import said
from fourpatch.picture.shown import measure_of, pretty, rounded

_DECIMALS = {"N": 0, "m": 1, "rad": 2, "1": 1, "points": 1, "s": 0, "count": 0, "m/s**2": 2, "m/s": 0}

_FINER = ("grip_lost", "time_off_ground", "stop_contact")
"""Shares in which hundredths of a per cent are spoken of."""

_SMALL_IS_BETTER = (
    "grip_lost",
    "load_variation",
    "time_off_ground",
    "longest_flight",
    "stop_contact",
    "stop_hits",
    "floor_strikes",
    "downforce_lost",
    "body_throw",
    "body_acceleration_peak",
    "body_acceleration_rms",
    "body_acceleration_felt",
    "peak_use",
)

_LABELS = {
    "balance": "Balance",
    "early_balance": "first half",
    "late_balance": "second half",
    "balance_swing": "Largest swing",
    "use": "Grip used",
    "peak_use": "Grip used, most",
    "axle_load": "Load",
    "front_transfer_share": "Front share",
    "lateral_transfer": "All paths",
    "elastic_transfer": "elastic",
    "geometric_transfer": "geometric",
    "unsprung_transfer": "unsprung",
    "damper_transfer": "damper",
    "ride_height": "Ride height",
    "downforce": "Downforce",
    "roll": "Roll",
    "pitch": "Pitch",
    "grip_lost": "Grip lost",
    "load_variation": "Load variation",
    "time_off_ground": "Time off the ground",
    "longest_flight": "Longest flight",
    "stop_contact": "Time on the bump stop",
    "stop_hits": "Bump-stop contacts",
    "floor_strikes": "Floor contacts",
    "least_load": "Least tyre load",
    "largest_load": "Largest tyre load",
    "height_least": "Least ride height",
    "height_rms": "Ride height, RMS",
    "downforce_lost": "Downforce lost",
    "low_bump": "Slow bump",
    "high_bump": "Fast bump",
    "low_rebound": "Slow rebound",
    "high_rebound": "Fast rebound",
    "mean_bump_speed": "Mean speed in bump",
    "mean_rebound_speed": "Mean speed in rebound",
    "body_throw": "Body throw",
    "body_acceleration_peak": "Body acceleration, peak",
    "body_acceleration_rms": "Body acceleration, RMS",
    "body_acceleration_felt": "Body acceleration, felt",
    "roll_peak": "Largest roll",
}


def measure(quantity: str, unit: str) -> Measure:
    """Return how a quantity is shown; speeds here are those of dampers."""
    return DAMPER_SPEED if unit == "m/s" else measure_of(unit)


def number_cell(number: Number) -> dict[str, str]:
    """Return a number as a cell of a table."""
    if number.value is None:
        return {"now": "–", "say": f"{number.meaning}: nothing to measure here"}
    here = measure(number.quantity, number.unit)
    decimals = _DECIMALS.get(number.unit, 2) + (1 if number.quantity in _FINER else 0)
    now = rounded(number.value / here.scale, decimals).replace("-", "−")
    if number.change is None or number.reference is None:
        return {"now": now, "say": number.meaning}
    change = signed(number.change / here.scale, decimals)
    reference = rounded(number.reference / here.scale, decimals).replace("-", "−")
    return {
        "now": now,
        "change": "" if change == "0" else change,
        "sense": "" if change == "0" else _sense(number),
        "say": f"{capital(number.meaning)}. " + said(f"With A {reference} {pretty(here.shown)}."),
    }


def number_cells(numbers: Iterable[Number], place: Callable[[Number], str]) -> dict[str, Mapping[str, str]]:
    """Return the cells of a table.

    Parameters
    ----------
    place : a number's "row|column".
    """
    return {place(one): number_cell(one) for one in numbers}


def rows(
    names: Sequence[str], units: Mapping[str, tuple[str, str]], *, axle: str = "", key: str = "{name}"
) -> list[dict[str, Any]]:
    """Return rows of a table of numbers.

    Parameters
    ----------
    names : quantities.
    units : SI unit and meaning of each; those of a platform stand under its front axle's name.
    axle : put behind the label.
    key : of a row, with ``{name}`` in it.
    """
    made = []
    for name in names:
        unit, meaning = units[name if name in units else f"front_{name}"]
        label = f"{_LABELS[name]}, {axle}" if axle else _LABELS[name]
        made.append(
            {
                "key": key.format(name=name),
                "label": label,
                "unit": pretty(measure(name, unit).shown),
                "say": f"{capital(meaning)}.",
            }
        )
    return made


_SPOKEN = {"balance": 0.05, "grip_lost": 5e-5, "body_throw": 5e-5}
"""What is told of one step, and the change from which on it is, in SI or points."""


def step_words(up: Sequence[Number] | None, down: Sequence[Number] | None, here: Sequence[Number]) -> str:
    """Return what one step up and one step down of an adjuster do most.

    Parameters
    ----------
    up, down : numbers with the adjuster one step further; None at its stop.
    here : as B stands.
    """
    standing = {(one.part, one.quantity, one.place): one.value for one in here}
    told = []
    for way, numbers in (("up", up), ("down", down)):
        if numbers is not None:
            told.append(f"One step {way}: {_largest_changes(numbers, standing)}.")
    return " ".join(told)


def _largest_changes(numbers: Sequence[Number], standing: Mapping[tuple[str, str, str], float | None]) -> str:
    told = []
    for quantity, least in _SPOKEN.items():
        changes = [
            (one.value - before, one)
            for one in numbers
            if one.quantity == quantity
            and one.value is not None
            and (before := standing.get((one.part, one.quantity, one.place))) is not None
        ]
        change, number = max(changes, key=lambda pair: abs(pair[0]), default=(0.0, None))
        if number is None or abs(change) < least:
            continue
        if quantity == "balance":
            told.append(f"{number.part} {balance_change_text(change)}")
            continue
        here = measure(quantity, number.unit)
        where = ", ".join((_LABELS[quantity].lower(), *filter(None, [number.place])))
        told.append(said(f"{where} {signed(change / here.scale, 2)} {pretty(here.shown)}"))
    return "; ".join(told) or "nothing that could be felt here"


def corner_text(event: CornerTrial) -> str:
    """Return a corner as a line of text."""
    one = corner_figures(event)
    if isinstance(event, Corner):
        return said(
            f"{one.radius:g} m {one.direction}-hander, {one.speed * 3.6:.0f} km/h in the middle; brakes at "
            f"{one.deceleration:.1f} m/s² before it, drives out at {one.acceleration:.1f} m/s²"
        )
    return said(
        f"{capital(event.name)}, as the lap goes with the set-up the car came with: {one.direction}-hander, "
        f"{one.radius:.0f} m and {one.speed * 3.6:.0f} km/h where it is slowest; slows by up to "
        f"{one.deceleration:.1f} m/s² before, gains up to {one.acceleration:.1f} m/s² on the way out"
    )


def _sense(number: Number) -> str:
    change = number.change or 0.0
    if "balance" in number.quantity:
        return "front" if change > 0.0 else "rear"
    if number.quantity in _SMALL_IS_BETTER:
        return "worse" if change > 0.0 else "better"
    return ""
