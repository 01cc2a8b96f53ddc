"""Braking in a turn, a run for each brake force."""

from math import degrees, isfinite

from fourpatch.analysis.braking_in_a_turn import TurnBrakedValues, turn_braked_values
from fourpatch.answers.answer import Said
from fourpatch.events.braking_in_a_turn import TurnBraked
from fourpatch.picture.blocks import Table, means
from fourpatch.picture.head import Head

_RATHER = 0.02
"""Difference of the yaw rate from that of the circle from which on a car is said to turn in or run wide."""


def turn_braked_said(braked: TurnBraked) -> Said:
    """Return the values of each run, then what they say."""
    values = turn_braked_values(braked)
    runs = Table(
        heads=[
            Head(text="brakes\nadd", unit="m/s²"),
            Head(text="mean\ndeceleration", unit="m/s²"),
            Head(text="yaw rate\nratio", unit="1"),
            Head(text="lateral accel.\nratio", unit="1"),
            Head(text="largest\nyaw rate ratio", unit="1"),
            Head(text="sideslip\nchange", unit="deg"),
            Head(text="path\ndeviation", unit="m"),
            Head(text="locked", right=False),
        ],
        rows=[_row(one) for one in values],
    )
    return Said({"runs": values}, [runs, means(turn_braked_meaning(values))])


def _row(one: TurnBrakedValues) -> tuple[str, ...]:
    return (
        f"{one.brake_deceleration:.1f}",
        _figure(one.mean_deceleration, 2),
        _figure(one.yaw_rate_ratio, 3),
        _figure(one.lateral_acceleration_ratio, 3),
        _figure(one.largest_yaw_rate_ratio, 3),
        _figure(degrees(one.sideslip_change), 2),
        _figure(one.path_deviation, 2),
        "spun" if one.spun else " ".join(name for name, wheel in one.lock_up.items() if wheel.share > 0.0),
    )


def _figure(value: float, digits: int) -> str:
    return f"{value:.{digits}f}" if isfinite(value) else "-"


def turn_braked_meaning(values: list[TurnBrakedValues]) -> str:
    """Say what throttle and brake do to the turn, and at which deceleration a wheel locks."""
    firm = max((one for one in values if isfinite(one.yaw_rate_ratio)), key=_firmness, default=None)
    said = "a second after first touch" if firm else "the car stands or has spun a second after first touch"
    if firm:
        parts = [f"closing the throttle alone, it {_turning(values[0])}"] if firm is not values[0] else []
        parts.append(f"slowing by {firm.mean_deceleration:.1f} m/s², it {_turning(firm)}")
        said = f"{said}, compared with a car that stays on the circle: {'; '.join(parts)}"
    locked = next((one for one in values if any(wheel.share > 0.0 for wheel in one.lock_up.values())), None)
    if locked is None:
        return f"{said}. No wheel locks."
    corners = " and ".join(name for name, wheel in locked.lock_up.items() if wheel.share > 0.0)
    return f"{said}. {corners} {'locks' if ' ' not in corners else 'lock'} first."


def _firmness(one: TurnBrakedValues) -> float:
    """Mean deceleration of a run in which no wheel locks; runs with a locked wheel come last."""
    return -1.0 if any(wheel.share > 0.0 for wheel in one.lock_up.values()) else one.mean_deceleration


def _turning(one: TurnBrakedValues) -> str:
    more = one.yaw_rate_ratio - 1.0
    if not isfinite(more):
        return "stands or has spun"
    if abs(more) < _RATHER:
        return "turns as sharply, within 2 %"
    return f"turns {abs(more):.0%} {'more' if more > 0.0 else 'less'} sharply".replace("%", " %")
