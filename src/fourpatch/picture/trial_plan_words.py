"""A plan for the next session, in sentences: the command line and the app both show these."""

from collections.abc import Iterator

from fourpatch.advice.laps_needed import POWER, SIGNIFICANCE
from fourpatch.advice.trial_plan import MANY_LAPS, SessionPlan, Watched
from fourpatch.car.scale_words import counted, from_to
from fourpatch.picture.shown import rounded

_FEW = 3
"""Laps in which a driver can say what changed: common practice, no published source."""


def plan_sections(found: SessionPlan) -> Iterator[tuple[str, list[str]]]:
    """Yield heading and sentences of each part of the plan."""
    yield "Change", [_change(found)]
    yield "Expect", [_expect(found)]
    yield "Drive", _drive(found)
    yield "Watch", [_watch(one) for one in found.watched] or [_nothing_to_watch()]
    yield "Stop", _stop(found)


def _change(found: SessionPlan) -> str:
    parts = [f"{one.name} {from_to(before, after, one.unit)}" for one, before, after in found.changes]
    alone = (
        "" if len(parts) == 1 else " They are one change here: what each does alone, this test cannot tell."
    )
    return f"{'; '.join(parts)}. Nothing else: same fuel, same tyre age and pressures, same lines.{alone}"


def _expect(found: SessionPlan) -> str:
    quicker = "quicker" if found.effect < 0.0 else "slower"
    other = ""
    if found.steady_effect is not None:
        other = (
            f" The quasi-steady lap says {rounded(found.steady_effect, 3, signed=True)} s, grip in corners "
            f"and on bumps by the rig {rounded(found.rig_effect, 3, signed=True)} s."
        )
    if abs(found.effect) < 0.0005:
        return f"No difference on {found.timed} to a thousandth of a second ({found.computed_by}).{other}"
    return f"{abs(found.effect):.3f} s {quicker} on {found.timed} ({found.computed_by}).{other}"


def _drive(found: SessionPlan) -> list[str]:
    if found.laps is None:
        return [
            f"No number of laps shows so little through a scatter of {found.scatter:g} s. Judge by what to "
            f"watch, or take a larger change.{_larger(found)}"
        ]
    if found.laps > MANY_LAPS:
        return [
            f"{found.laps} laps with each would tell {abs(found.effect):.3f} s from a scatter of "
            f"{found.scatter:g} s: more than a session has, so the lap time will not tell.{_larger(found)} "
            f"For what to watch drive A-B-A, {_FEW} laps each."
        ]
    return [
        f"A-B-A: {counted(found.before, 'laps')} as it is, {found.laps} with the change, {found.back} as it "
        "was. Warm up before each; leave out laps with traffic or a mistake, and drive others for them.",
        f"That many tell {abs(found.effect):.3f} s from a scatter of {found.scatter:g} s a lap with "
        f"{100.0 * POWER:.0f} % chance, and see a difference where there is none in "
        f"{100.0 * SIGNIFICANCE:.0f} % (two-sample t test). The second A shows what track and "
        "tyres did meanwhile.",
    ]


def _larger(found: SessionPlan) -> str:
    if found.steps_for_many is None:
        return ""
    return (
        f" {found.steps_for_many} times the change would show within {MANY_LAPS} laps, if the range has it."
    )


def _watch(one: Watched) -> str:
    way = "understeer" if one.balance > 0.0 else "oversteer"
    grip = "more" if one.use < 0.0 else "less"
    return (
        f"{one.corner}, {one.phase}: balance {abs(one.balance):.2f} points towards {way}, with "
        f"{abs(one.use):.2f} points {grip} grip in hand: steering angle at the same speed and line."
    )


def _nothing_to_watch() -> str:
    return "No phase changes its balance by a tenth of a point: a driver will not feel it in a corner."


def _stop(found: SessionPlan) -> list[str]:
    said = [
        "When the laps are done, not at the first good one: stopping at a lap you like finds what is not "
        "there.",
        "At once if the car does what you do not expect, touches the road, or a wheel locks or lifts earlier "
        "than before; go back to the set-up you know.",
    ]
    if found.rear_first:
        said.append(
            f"Care on the brakes: in {', '.join(found.rear_first)} the rear uses more of its grip than the "
            "front after this change. First brake in a straight line, where there is room."
        )
    if found.laps is not None:
        said.append("Keep the change if B is quicker than both A, or as quick and easier to repeat.")
    return said
