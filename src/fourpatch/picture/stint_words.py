"""What a stint does, and what holds its balance, in words."""

from collections.abc import Iterator, Sequence
from math import sqrt
from typing import Final, NamedTuple

import numpy as np

from fourpatch.advice.stint_draws import StintSpread
from fourpatch.advice.stint_held import WORTH_A_WORD, Held, parts_of_drift
from fourpatch.analysis.stint import Stint, TrackState
from fourpatch.picture.shown import lap_time_text

_LAWS: Final = (
    "Simple laws with one temperature for each tread and one for carcass and gas; what they leave out, and "
    "where their constants come from, is in docs/stint.md. They say which way things go and about how far; "
    "your own pressures and temperatures after a run say more."
)
_PARTS: Final = {
    "temperature": "warmer treads",
    "pressure": "pressures that rise",
    "wear": "wear",
    "fuel": "fuel that goes",
}
_TOLD: Final = 0.1
"""Part of a drift below which its cause is not named. [points]"""


class StintWords(NamedTuple):
    """What is said of a stint."""

    stint: Stint
    sure: StintSpread | None
    held: Sequence[Held]


def stint_said(words: StintWords, state: TrackState) -> Iterator[str]:
    """Yield sentences about times, pressures, wear and fuel."""
    stint = words.stint
    if stint.driven < 1:
        yield f"Not one lap: {_ENDS[stint.ended]}."
        return
    yield _times(stint)
    yield _pressures(stint)
    yield _lasting(stint, words.sure)
    if state != "dry" or stint.conditions.surface.friction != 1.0:
        yield _wet(stint, state)
    yield _LAWS


_ENDS: Final = {
    "laps": "all laps are driven",
    "fuel": "the fuel does not last for one more",
    "tread": "the most worn tread does not last for one more",
}


def _times(stint: Stint) -> str:
    first, warm, last = (one.profile.lap_time for one in (stint.laps[0], stint.warm, stint.last))
    ended = "" if stint.ended == "laps" else f"; then {_ENDS[stint.ended]}"
    cold = f"the first {lap_time_text(first)}, " if stint.warm.lap > 1 else ""
    return (
        f"{stint.driven} laps in {lap_time_text(stint.total_time)}{ended}: {cold}on warm tyres, from lap "
        f"{stint.warm.lap} on, {lap_time_text(warm)}, at the end {lap_time_text(last)}. Times are "
        "quasi-steady: a driver is slower on all of them."
    )


def _pressures(stint: Stint) -> str:
    cold = [one / 1e5 for one in stint.cold_pressures()]
    end = stint.last.pressure / 1e5
    air = stint.conditions.air - 273.15
    asked = [one.tyre.pressure / 1e5 for one in (stint.car.front, stint.car.rear)]
    return (
        f"Tyres set to {cold[0]:.2f} bar in front and {cold[1]:.2f} bar at the rear, cold at {air:.0f} °C, "
        f"come to {end[:2].mean():.2f} and {end[2:].mean():.2f} bar; the set-up asks for {asked[0]:.2f} and "
        f"{asked[1]:.2f} bar. Stay within what the maker of the tyre allows."
    )


def _lasting(stint: Stint, sure: StintSpread | None) -> str:
    worn = stint.last.condition.worn
    most = int(np.argmax(worn))
    of = ""
    if sure is not None:
        low, high = sure.between(100.0 * sure.worn[:, most])
        of = f" (plausible: {low:.1f} to {high:.1f} %)"
    wheel, fuel = ("FL", "FR", "RL", "RR")[most], max(stint.last.condition.fuel, 0.0)
    return (
        f"{wheel} works hardest and has {100.0 * worn[most]:.1f} % of its life behind it{of}; a lap takes "
        f"{stint.fuel_per_lap:.2f} kg of fuel, and {fuel:.1f} kg are left."
    )


def _wet(stint: Stint, state: TrackState) -> str:
    friction = stint.conditions.surface.friction
    spread = friction * stint.conditions.surface.friction_spread
    lowest = float(stint.last.pressure.min())
    # Horne and Dreher, NASA TN D-2056 (1963), from memory: V = 9 sqrt(p) in knots and lbf/in^2.
    afloat = 9.0 * sqrt(lowest / 6894.757) * 1.852
    fastest = 3.6 * float(stint.reference.speed.max())
    said = (
        f"On the {state} road tyres are given {100.0 * friction:.0f} % of their dry grip"
        + (f", give or take {100.0 * spread:.0f} %" if spread else "")
        + ", a choice of ours: tyres, water and road differ more than that."
    )
    if state != "wet":
        return said
    reach = "reaches" if fastest > afloat else "stays below"
    return (
        f"{said} Standing water begins to float a smooth tyre at {lowest / 1e5:.2f} bar from about "
        f"{afloat:.0f} km/h (Horne and Dreher 1963, from memory); the lap {reach} that, with {fastest:.0f} "
        "km/h at most."
    )


def stint_meaning(words: StintWords) -> str:
    """Say where the balance goes, why, how sure that is and what holds it."""
    stint = words.stint
    if stint.driven < 1:
        return f"there is no stint: {_ENDS[stint.ended]}."
    cold = stint.warm.alike.balance - stint.laps[0].alike.balance
    parts = []
    if stint.warm.lap > 1 and abs(cold) >= WORTH_A_WORD:
        parts.append(
            f"on cold tyres the car is {abs(cold):.1f} points nearer {_toward(-cold)} than from lap "
            f"{stint.warm.lap} on"
        )
    drift = stint.drift
    if abs(drift) < WORTH_A_WORD:
        parts.append(
            f"from lap {stint.warm.lap} to the end the balance moves by {abs(drift):.1f} points, less than a "
            "driver feels: nothing has to hold it"
        )
    else:
        parts.append(
            f"from lap {stint.warm.lap} to the end the balance moves by {abs(drift):.1f} points toward "
            f"{_toward(drift)}, {_why(stint)}"
        )
    return f"{'; '.join(parts)}. {_how_sure(words)}{_hold(words)}".strip()


def _toward(balance: float) -> str:
    return "understeer" if balance > 0.0 else "oversteer"


def _why(stint: Stint) -> str:
    parts = parts_of_drift(stint)._asdict()
    with_it = [name for name, part in parts.items() if part * stint.drift > 0.0 and abs(part) >= _TOLD]
    if not with_it:
        return "by all of heat, pressure, wear and fuel together"
    ranked = sorted(with_it, key=lambda name: -abs(parts[name]))
    return "by " + " and ".join(f"{_PARTS[name]} ({abs(parts[name]):.1f})" for name in ranked)


def _how_sure(words: StintWords) -> str:
    if words.sure is None:
        return ""
    drifts = words.sure.drift
    low, high = words.sure.between(drifts)
    same = int((np.sign(drifts) == np.sign(words.stint.drift)).sum())
    return (
        f"Of {len(drifts)} plausible cars {same} go that way; for two thirds it is between {low:+.1f} and "
        f"{high:+.1f} points (+ toward understeer). "
    )


def _hold(words: StintWords) -> str:
    if not words.held:
        small = abs(words.stint.drift) < WORTH_A_WORD
        return "" if small else "No single adjuster of this car takes that back within half its scale."
    best = words.held[0]
    price = _total(words.stint, best)
    cost = (
        f"costs {price:.1f} s"
        if price >= 0.05
        else f"gains {-price:.1f} s"
        if price <= -0.05
        else "costs no time"
    )
    unit = f" {best.adjuster.unit}" if best.adjuster.unit else ""
    shift = best.warm_balance - words.stint.warm.alike.balance
    return (
        f"What holds it: {best.adjuster.name} from {best.before:g} to {best.after:g}{unit} gives the end of "
        f"the stint the balance that the car had warm, and {cost} over the stint if it is so from the first "
        f"lap; then the warm laps are {abs(shift):.1f} points nearer {_toward(shift)}. Half of that change "
        "shares the drift out."
    )


def _total(stint: Stint, held: Held) -> float:
    laps = range(1, min(held.stint.driven, stint.driven) + 1)
    return float(held.stint.lap_times(laps).sum() - stint.lap_times(laps).sum())
