"""A base set-up, in tables and in words."""

from math import degrees

from fourpatch.advice.base_setup import BaseSetup, BaseValue
from fourpatch.advice.grip_cost import HARDLY, PARTS, PHASES
from fourpatch.car.pack import GRAVITY
from fourpatch.cli.output import Head, write_table, write_text


def write_base(found: BaseSetup, *, title: str) -> None:
    """Write targets, the set-up with reasons, what it costs, its balance, and what it means."""
    write_text(title)
    if found.stopped:
        write_text(
            f"You stopped it: the best of {found.tried} set-ups; the ranges that hardly matter are not known."
        )
    for note in found.occasion.notes:
        write_text(note)
    write_text(_targets(found))
    write_table(
        [
            Head(text="adjuster", right=False),
            Head(text="set to"),
            Head(text="was"),
            Head(text="hardly\nmatters"),
            Head(text="because", right=False),
        ],
        [_row(one) for one in found.values],
        title="Set-up",
    )
    _write_cost(found)
    _write_balance(found)
    write_text(f"What this means: {base_meaning(found)}")


def _targets(found: BaseSetup) -> str:
    t = found.targets
    return (
        f"Targets of a car on {t.tyre_class} tyres (peak friction {t.friction:.2f}), downforce "
        f"{t.downforce_class}: ride frequency {t.ride_frequency.front:.2f} Hz front, "
        f"{t.ride_frequency.rear:.2f} Hz rear; roll at most {degrees(t.roll_gradient * GRAVITY):.2f} deg/g; "
        f"{100.0 * t.front_transfer_share:.1f} % of the lateral load transfer in front; damping ratio "
        f"{t.bump_ratio:.2f} in bump, {t.rebound_ratio:.2f} in rebound; balance {t.style.balance:+g} points. "
        "Where they come from: docs/base-setup.md."
    )


def _row(one: BaseValue) -> tuple[str, ...]:
    unit = f" {one.adjuster.unit}" if one.adjuster.unit else ""
    around = "-" if one.low is None or one.high is None else f"{one.low:g} to {one.high:g}"
    unsure = " (nobody has said what a step does: a plausible range is assumed)" if one.unknown else ""
    return (
        one.adjuster.name,
        f"{one.position:g}{unit}",
        f"{one.before:g}",
        around,
        one.because + unsure,
    )


def _write_cost(found: BaseSetup) -> None:
    rows = [
        (name, *(f"{value:.2f}" for value in cost.parts[0]), f"{float(cost.total[0]):.2f}")
        for name, cost in (
            ("as given", found.given),
            ("targets alone", found.start),
            ("this set-up", found.found),
        )
    ]
    write_table(
        [Head(text="", right=False), *(Head(text=part, unit="points") for part in (*PARTS, "total"))],
        rows,
        title="Cost in hundredths of the grip the tyres could have",
    )


def _write_balance(found: BaseSetup) -> None:
    rows = []
    for k, name in enumerate(found.occasion.corners):
        for label, cost in (("as given", found.given), ("this set-up", found.found)):
            rows.append((name, label, *(f"{value:+.1f}" for value in cost.balance[0, k])))
    write_table(
        [
            Head(text="corner", right=False),
            Head(text="", right=False),
            *(Head(text=phase, unit="points") for phase in PHASES),
        ],
        rows,
        title=f"Balance (above 0 understeer; sought {found.targets.style.balance:+g})",
    )


def base_meaning(found: BaseSetup) -> str:
    """Say what was gained, where, what got worse, and what decides."""
    gain = float(found.given.total[0] - found.found.total[0])
    change = found.given.parts[0] - found.found.parts[0]
    largest = PARTS[int(abs(change).argmax())]
    sharp = [one.adjuster.name for one in found.values if _narrow(one)]
    said = [
        f"in the same motions it spares {gain:.2f} points of grip against the set-up given, most of it in "
        f"{largest} ({change[PARTS.index(largest)]:+.2f})"
    ]
    if found.worse_parts:
        said.append(f"it is worse than the set-up given in {', '.join(found.worse_parts)}")
    if sharp:
        said.append(f"what decides is {', '.join(sharp)}: a step or two already cost {HARDLY:g} points")
    if not found.converged:
        said.append("the search was cut short; running it again from this set-up may gain more")
    return (
        f"{'; '.join(said)}. A point is about half a per cent of corner speed. Lowest floor: "
        f"{1e3 * float(found.found.floor.min()):.0f} mm."
    )


def _narrow(one: BaseValue) -> bool:
    """Say whether a few steps already cost something: a short range that is not just a short scale."""
    if one.low is None or one.high is None:
        return False
    whole = one.low <= one.adjuster.lowest and one.high >= one.adjuster.highest
    return not whole and one.high - one.low <= 3.0 * one.adjuster.step
