"""What one step of every adjuster does, in words."""

from collections.abc import Iterator
from math import ceil, isfinite

import numpy as np

from fourpatch.advice.sensitivity import EffectTable
from fourpatch.analysis.event_measures import CORNER_PHASES
from fourpatch.picture.shown import rounded

BALANCE = (
    "Balance is 100 (U front - U rear), U being the share of its grip that an axle uses, averaged over the "
    "phase. A change above 0 is towards understeer, below 0 towards oversteer."
)

_SEEN = 0.005
"""Change below which a balance shows as 0. [points]"""

_LOAD_SEEN = 5.0
"""Change of an axle's load below which nothing is said of it. [N]"""

_WORTH_SAYING = 0.05
"""Share of what bumps cost below which no step is said to give anything back. [1]"""

_MOSTLY = 1.0 / 3.0
"""Change of the largest load, over a swing, below which the swing is the same load at another time. [1]"""

_SOON = 0.1
"""Delay beyond which it is not. [s]"""


def corner_meaning(table: EffectTable, corner: str) -> str:
    """Name, for each phase, the step that moves the balance most either way."""
    said = list(_beyond_grip(table, corner))
    for phase in CORNER_PHASES:
        place = table.index(f"{corner}.{phase}.balance")
        steps = list(_steps(table, place))
        up, down = max(steps, default=None), min(steps, default=None)
        parts = []
        if up and up[0] >= _SEEN:
            parts.append(f"{up[1]} most towards understeer ({up[0]:+.2f})")
        if down and down[0] <= -_SEEN:
            parts.append(f"{down[1]} most towards oversteer ({down[0]:+.2f})")
        said.append(f"{phase}: {', '.join(parts) or 'no step moves the balance'}")
    return "; ".join(said) + "."


def _beyond_grip(table: EffectTable, corner: str) -> Iterator[str]:
    uses = {
        (phase, axle): float(table.present[table.index(f"{corner}.{phase}.use.{axle}")])
        for phase in CORNER_PHASES
        for axle in ("front", "rear")
    }
    (phase, axle), use = max(uses.items(), key=lambda item: item[1])
    if use > 1.0:
        yield (
            f"this car cannot follow this motion, whose {phase} asks for {ceil(100.0 * use)} % of the "
            f"{axle}'s grip, and the changes are those of a car that could"
        )


def load_meaning(table: EffectTable, corner: str) -> str:
    """Say of the largest swing of the front's load in each phase when it is, and whether it is more load."""
    said = []
    for phase in CORNER_PHASES:
        place = table.index(f"{corner}.{phase}.axle_load_swing.front")
        effects = table.effects[:, :, place]
        k, column = np.unravel_index(int(np.nanargmax(np.abs(effects))), effects.shape)
        swing = float(effects[k, column])
        if abs(swing) < _LOAD_SEEN:
            continue
        after, delay, peak = (
            float(table.effects[k, column, table.index(f"{corner}.{phase}.{quantity}.front")])
            for quantity in ("axle_load_swing_time", "axle_load_delay", "axle_load_peak")
        )
        step = f"{table.adjusters[int(k)].name} {('down', 'up')[int(column)]}"
        what = f"{phase}: {step} {swing:+.0f} N at {after:.2f} s of the phase"
        if abs(delay) <= _SOON and abs(peak) <= _MOSTLY * abs(swing):
            when = "later" if delay > 0.0 else "earlier"
            what += f", which is mostly the same load {1e3 * abs(delay):.0f} ms {when}"
        said.append(f"{what} (largest load of the phase {rounded(peak, 0, signed=True)} N)")
    return f"{'; '.join(said) or 'no step moves the front axle by a load to speak of'}."


def bumps_meaning(table: EffectTable, event: str) -> str:
    """Name the step that leaves most grip in front and at the rear, where it is worth naming."""
    said = []
    for axle in ("front", "rear"):
        place = table.index(f"{event}.grip_left.{axle}")
        lost, left = float(table.present[table.index(f"{event}.grip_lost.{axle}")]), table.present[place]
        change, step = max(_steps(table, place), default=(0.0, ""))
        cost = f"bumps cost the {axle} {100.0 * lost:.2f} % of its lateral grip"
        taken = lost / (1.0 - lost) * left
        if taken > 0.0 and change >= _WORTH_SAYING * taken:
            cost += f"; the largest single step is {step}: {100.0 * change / left:+.2f} % of the grip left"
        said.append(cost)
    return "; ".join(said) + "."


def _steps(table: EffectTable, place: int) -> Iterator[tuple[float, str]]:
    """Yield the change of a measure for each step, and the step in words."""
    for k, one in enumerate(table.adjusters):
        for direction, change in zip(("down", "up"), table.effects[k, :, place], strict=True):
            if isfinite(change):
                yield float(change), f"{one.name} {direction}"
