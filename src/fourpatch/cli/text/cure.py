"""What cures a complaint, in tables, in words and for JSON."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from fourpatch.advice.because import Reason, counted, step_words
from fourpatch.advice.complaint import Complaint
from fourpatch.advice.complaint_text import Reading
from fourpatch.advice.course import MARGINS
from fourpatch.advice.cure import ChangeSet, Cure, Lever, left_alone
from fourpatch.advice.draws import Sureness
from fourpatch.advice.drive_check import DriveNumber
from fourpatch.advice.guard import Guard
from fourpatch.advice.powerless import doubt, powerless
from fourpatch.advice.sets import CURED
from fourpatch.advice.target import HARDLY, Target
from fourpatch.car.setup import Setup
from fourpatch.cli.output import Head, finite, number, write_heading, write_table, write_text
from fourpatch.picture.shown import measure_of, pretty, shown

MOST_LEVERS = 12
"""Adjusters in the table; JSON has all."""

_COSTS = 4  # side effects of a set that are named


@dataclass(frozen=True, slots=True, kw_only=True)
class CureAnswer:
    """Everything that is said about a complaint."""

    reading: Reading
    cure: Cure
    setup: Setup
    reasons: Sequence[Reason]
    drive: Sequence[DriveNumber]
    sureness: Sureness | None
    drawn: bool
    """Whether plausible cars were asked for."""


def write_cure(answer: CureAnswer, named: str) -> None:
    """Write the whole answer."""
    found = answer.cure
    on = f" on {found.course.name}" if found.course.lap else ""
    write_text(f'{named}{on}: what cures "{answer.reading.typed}"? Computed on the rig.')
    write_text(_read_as(answer.reading))
    for place, target in enumerate(found.targets):
        write_text(_measured(found, place, target))
    if found.course.notes:
        write_text(" ".join(found.course.notes))
    _write_levers(answer)
    _write_sets(answer)
    _write_reasons(answer)
    _write_drive(answer)
    _write_limits(found)
    _write_sureness(answer)
    if found.stopped:
        write_text("Stopped: sets of changes were not computed.")


def _read_as(reading: Reading) -> str:
    said = f"Read as: {'; '.join(one.text() for one in reading.complaints)}."
    if reading.unread:
        said += f" Not understood and left out: {', '.join(reading.unread)}."
    if reading.denied:
        said += f" Said not to be so, and left out: {'; '.join(reading.denied)}."
    return said


def _unit(target: Target) -> str:
    return pretty(measure_of(target.unit).shown)


def _value(value: float, target: Target, *, signed: bool = False) -> str:
    decimals = {"s": 1, "m": 2, "points": 2}.get(target.unit)
    if decimals is None:
        return shown(value, target.unit, signed=signed)
    number = value / measure_of(target.unit).scale
    return f"{number:+.{decimals}f}" if signed or target.unit == "points" else f"{number:.{decimals}f}"


def _measured(found: Cure, place: int, target: Target) -> str:
    """Say which number stands for a complaint, where it is, what is wanted, and if the model shows it."""
    present, wanted = found.present(target), found.wanted[place]
    way = "down" if target.sign > 0.0 else "up"
    amount = _value(wanted, target).lstrip("+")
    said = (
        f"Measured by the {target.meaning}: now {_value(present, target)} {_unit(target)}. Cured means "
        f"{way} by {amount} {_unit(target)}, to a tenth of that."
    )
    shows = found.shows(target)
    if shows is None:
        said += " Nobody has published from where on such a number is a complaint, so take the driver's word."
    elif shows:
        said += " The model shows the complaint."
    else:
        text = doubt(found, place)
        said += f" {text[0].upper()}{text[1:]}"
    return " ".join([said, *target.notes])


def _corner_of(found: Cure) -> str:
    """Return the corner whose phases stand beside the ranking: one complained of, else the middle one."""
    corners = found.course.corners
    for target in found.targets:
        asked = target.complaint
        if asked.corners or asked.place.endswith("corner"):
            return found.course.corners_of(asked)[0]
    typical = found.course.typical(corners)
    return typical[len(typical) // 2]


def _write_levers(answer: CureAnswer) -> None:
    found = answer.cure
    if not found.levers:
        write_text("No adjuster that is left to turn does anything for this complaint.")
        return
    _write_helping(answer)
    _write_elsewhere(found)
    if len(found.levers) > MOST_LEVERS:
        rest = ", ".join(_lever_name(found, lever) for lever in found.levers[MOST_LEVERS:])
        write_text(f"Less: {rest}.")
    alone = {one.name: left_alone(one) for one in (found.table.adjusters[v.adjuster] for v in found.levers)}
    if any(alone.values()):
        named = "; ".join(f"{name} ({why})" for name, why in alone.items() if why)
        write_text(f"Not used in what follows: {named}.")
    against = [_lever_name(found, lever) for lever in found.levers if lever.against]
    if against:
        write_text(
            "Not used either, for in the drive they do nothing at mid-corner, or the opposite of what the "
            "rig says: "
            f"{'; '.join(against)}."
        )
    least = [
        lever for lever in found.levers if found.targets[0].unit == "points" and lever.per_step[0] < HARDLY
    ]
    if least:
        write_text(
            f"Steps under {HARDLY:g} points are hardly measurable: a point of balance is one hundredth of "
            "an axle's "
            "grip, half a per cent of corner speed."
        )


def _write_helping(answer: CureAnswer) -> None:
    """Write what one step of each adjuster does for the complaints."""
    found, sure = answer.cure, answer.sureness
    several = len(found.targets) > 1
    heads = [Head(text="one step of", right=False)]
    for k, target in enumerate(found.targets, start=1):
        heads.append(Head(text=f"cures {k}" if several else "cures", unit=_unit(target)))
    heads.append(Head(text="steps\nleft"))
    if sure:
        heads.append(Head(text=f"holds in\nof {sure.asked}"))
    rows = []
    for place, lever in enumerate(found.levers[:MOST_LEVERS]):
        pairs = zip(lever.per_step, found.targets, strict=True)
        row = [_lever_name(found, lever), *(_value(size, target, signed=True) for size, target in pairs)]
        row.append("not used" if lever.against or not lever.left else str(lever.left))
        rows.append([*row, str(sure.holds[place])] if sure else row)
    write_table(heads, rows, title="adjusters that help, turned the way that helps")


def _write_elsewhere(found: Cure) -> None:
    """Write what the same steps do to other phases, over bumps and a kerb."""
    corner, names = _corner_of(found), found.names
    phases = found.course.phases[corner]
    heads = [Head(text="one step of", right=False), *(Head(text=phase) for phase in phases)]
    heads.append(Head(text="grip lost\non bumps", unit="%"))
    heads.append(Head(text="off ground\non bumps", unit="%"))
    heads.append(Head(text="kerb\nthrow", unit="mm"))
    columns: list[tuple[tuple[str, ...], str]] = [
        ((f"{corner}.{phase}.balance",), "points") for phase in phases
    ]
    columns += [
        (tuple(f"rough road.{quantity}.{end}" for end in ("front", "rear")), "1")
        for quantity in ("grip_lost", "time_off_ground")
    ]
    columns.append((("kerb.body_throw",), "m"))
    rows = []
    for lever in found.levers[:MOST_LEVERS]:
        effect = found.table.effects[lever.adjuster, int(lever.direction > 0)]
        values = [
            sum(float(effect[names.index(name)]) for name in group) / len(group) for group, _ in columns
        ]
        cells = [shown(value, unit, signed=True) for value, (_, unit) in zip(values, columns, strict=True)]
        rows.append([_lever_name(found, lever), *cells])
    write_table(
        heads, rows, title=f"what the same step changes: balance in {_the(corner)} [points], bumps, a kerb"
    )


def _the(corner: str) -> str:
    return f"the {corner}" if corner.endswith("corner") else corner


def _lever_name(found: Cure, lever: Lever) -> str:
    one = found.table.adjusters[lever.adjuster]
    way = "up" if lever.direction > 0 else "down"
    return f"{one.name}, {counted(one.step, one.unit)} {way}"


def _changes(answer: CureAnswer, chosen: ChangeSet) -> str:
    adjusters = answer.cure.table.adjusters
    return "; ".join(step_words(adjusters[k], answer.setup, steps) for k, steps in chosen.changes)


def _write_sets(answer: CureAnswer) -> None:
    found = answer.cure
    if not found.sets:
        return
    write_heading("what to change: the smallest sets, each run again as changed")
    good = [one for one in found.sets if one.cured and not one.broken]
    if not good:
        write_text(
            "No set of up to three changes moves it as far as wanted without making something else worse "
            "than is "
            "tolerated. The nearest:"
        )
    for k, one in enumerate(found.sets, start=1):
        write_text(f"{k}. {_changes(answer, one)}.")
        write_text(f"   {' '.join(_outcome(found, one))}")


def _outcome(found: Cure, one: ChangeSet) -> Iterator[str]:
    for target, predicted, confirmed, share, present in zip(
        found.targets,
        one.predicted,
        one.confirmed,
        one.progress,
        (found.present(target) for target in found.targets),
        strict=True,
    ):
        cured = "cured" if share >= CURED else "not cured" if share < 0.5 else "cured in part"
        yield (
            f"{target.complaint.text()}: {_value(present, target)} to {_value(confirmed, target)} "
            f"{_unit(target)} "
            f"(steps added up said {_value(predicted, target)}), {100.0 * share:.0f} % of what is wanted: "
            f"{cured}."
        )
    costs = [pair for pair in one.worse if pair[1] >= 0.1 * pair[0].tolerance]
    if costs:
        said = "; ".join(_cost(guard, worse) for guard, worse in costs[:_COSTS])
        more = f"; and {len(costs) - _COSTS} smaller" if len(costs) > _COSTS else ""
        yield f"Costs: {said}{more}."
    else:
        yield "Nothing else becomes worse by more than a tenth of what is tolerated."
    if one.lap is not None:
        yield (
            f"Lap: {one.lap:+.2f} s (quasi-steady, with {100.0 * MARGINS.braking:.0f} to "
            f"{100.0 * MARGINS.lateral:.0f} % of the grip)."
        )


def _cost(guard: Guard, worse: float) -> str:
    scale, unit = (1.0, "points") if guard.unit == "points" else (measure_of(guard.unit).scale, "")
    unit = unit or pretty(measure_of(guard.unit).shown)
    word = {
        "away from zero": "further from neutral by",
        "below zero": "by",
        "rise": "up by",
        "fall": "down by",
    }[guard.harm]
    over = ", MORE THAN TOLERATED" if worse > guard.tolerance else ""
    return f"{guard.label} {word} {worse / scale:.2f} {unit} (tolerated {guard.tolerance / scale:.2g}{over})"


def _write_reasons(answer: CureAnswer) -> None:
    if not answer.reasons:
        return
    write_heading("why: each change of the first set by itself")
    for reason in answer.reasons:
        write_text(reason.sentence)


def _write_drive(answer: CureAnswer) -> None:
    if not answer.drive:
        return
    rows = []
    for one in answer.drive:
        verdict = {True: "as asked", False: "AGAINST", None: ""}[one.agrees]
        rows.append((one.name, *(_driven(v, one.unit) for v in (one.before, one.after)), verdict))
    write_table(
        [
            Head(text="by the drive, all degrees of freedom free", right=False),
            Head(text="before"),
            Head(text="after"),
            Head(text="", right=False),
        ],
        rows,
        title="the first set, driven",
    )
    if any(one.agrees is False for one in answer.drive):
        write_text(
            "The drive contradicts the rig: do not make this change before a recording has said which holds."
        )


def _driven(value: float | None, unit: str) -> str:
    if value is None:
        return "never"
    if unit == "points":
        return f"{value:+.2f} points"
    measure = measure_of(unit)
    decimals = {"rad": 3, "s": 1, "1": 1, "1/s": 3}[unit]
    return f"{value / measure.scale:.{decimals}f} {pretty(measure.shown)}"


def _write_limits(found: Cure) -> None:
    said = [
        f"{found.table.adjusters[one.adjuster].name} is at its stop; further "
        f"{'up' if one.direction > 0 else 'down'} "
        f"would help (its last step back loses {100.0 * one.back:.0f} % of what is wanted)."
        for one in found.at_stop
    ]
    for place, target in enumerate(found.targets):
        said += _powerless_words(found, place, target)
    if said:
        write_heading("what adjusters cannot do")
        for sentence in said:
            write_text(sentence)


def _powerless_words(found: Cure, place: int, target: Target) -> Iterator[str]:
    for one in powerless(found, place):
        if one.system == "dampers":
            against = (
                f", where one step of {one.strongest} is {_value(one.strongest_step, target).lstrip('+')}"
                if one.strongest
                else ""
            )
            reason = (
                " Dampers move load only while the car rolls, pitches or heaves, and hold none once it has "
                "taken its set."
                if target.complaint.phase == "mid"
                else ""
            )
            yield (
                f"Dampers do not cure {target.complaint.text()}: their largest step moves it by "
                f"{_value(one.step, target).lstrip('+')} {_unit(target)}{against}, and none reaches more "
                "than "
                f"{_value(one.reach, target).lstrip('+')} of the "
                f"{_value(found.wanted[place], target).lstrip('+')} wanted at its stop.{reason}"
            )
    others = [one for one in powerless(found, place) if one.system != "dampers"]
    if others:
        named = ", ".join(
            f"{one.system} (at most {_value(one.reach, target).lstrip('+')} {_unit(target)} at a stop)"
            for one in others
        )
        yield f"Nor do, each alone, for {target.complaint.text()}: {named}."


def _write_sureness(answer: CureAnswer) -> None:
    if not answer.drawn:
        return
    write_heading("how sure")
    sure = answer.sureness
    if sure is None:
        write_text(
            "The car's file states no spread for any of its numbers, so they were taken as they are. Write "
            "provenance with a spread for what was not measured, and this answer will say in how many "
            "plausible "
            "cars it holds."
        )
        return
    lost = f" {sure.lost} more could not be run." if sure.lost else ""
    lost += " Stopped before all were asked." if sure.stopped else ""
    write_text(
        f"{sure.asked} plausible cars, drawn from the spreads of {sure.uncertain} numbers (seed "
        f"{sure.seed}).{lost}"
    )
    for k, (holds, cures) in enumerate(zip(sure.set_holds, sure.set_cures, strict=True), start=1):
        write_text(
            f"Set {k} moves the complaint the right way in {holds} of {sure.asked}, and as far as wanted "
            f"in {cures}."
        )
    for one in sure.unknowns:
        write_text(
            f"{one.name} makes {100.0 * one.share:.0f} % of the difference: if it is one standard "
            "deviation larger, the set "
            f"brings {100.0 * one.change:+.0f} % of what is wanted. To find it out: {one.remedy}."
        )


# JSON


def cure_content(answer: CureAnswer) -> dict[str, Any]:
    """Return the whole answer for JSON."""
    found = answer.cure
    return {
        "read": {
            "typed": answer.reading.typed,
            "unread": list(answer.reading.unread),
            "denied": list(answer.reading.denied),
        },
        "complaints": [_complaint_content(found, k) for k in range(len(found.targets))],
        "levers": [_lever_content(answer, k) for k in range(len(found.levers))],
        "at_stop": [
            {
                "adjuster": found.table.adjusters[one.adjuster].name,
                "direction": "up" if one.direction > 0 else "down",
                "last_step_back": number(one.back, "1"),
            }
            for one in found.at_stop
        ],
        "sets": [_set_content(answer, one) for one in found.sets],
        "reasons": [
            {
                "complaint": one.complaint,
                "adjuster": found.table.adjusters[one.adjuster].name,
                "steps": one.steps,
                "kind": one.kind,
                "parts": {name: number(size, "points") for name, size in one.parts.items()},
                "sentence": one.sentence,
            }
            for one in answer.reasons
        ],
        "drive": [
            {
                "name": one.name,
                "before": number(_or_nan(one.before), one.unit),
                "after": number(_or_nan(one.after), one.unit),
                "agrees": one.agrees,
            }
            for one in answer.drive
        ],
        "sureness": _sureness_content(answer),
        "course": {"name": found.course.name, "notes": list(found.course.notes)},
        "stopped": found.stopped or (answer.sureness is not None and answer.sureness.stopped),
    }


def _or_nan(value: float | None) -> float:
    return math.nan if value is None else value


def complaint_words(one: Complaint) -> dict[str, Any]:
    """Return the parts of a complaint for JSON."""
    return {
        "text": one.text(),
        "behaviour": one.behaviour,
        "phase": one.phase,
        "window": one.window,
        "place": one.place,
        "corners": list(one.corners),
        "end": one.end,
        "size": one.size,
    }


def _complaint_content(found: Cure, place: int) -> dict[str, Any]:
    target = found.targets[place]
    shows = found.shows(target)
    return {
        **complaint_words(target.complaint),
        "measured_by": target.meaning,
        "measures": [name for name, _ in target.terms],
        "present": number(found.present(target), target.unit),
        "wanted": number(-target.sign * found.wanted[place], target.unit),
        "hardly_measurable": number(target.hardly, target.unit),
        "model_shows_it": shows,
        "doubt": doubt(found, place) if shows is False else "",
        "notes": list(target.notes),
        "powerless": [
            {
                "system": one.system,
                "step": number(one.step, target.unit),
                "reach": number(one.reach, target.unit),
            }
            for one in powerless(found, place)
        ],
    }


def _lever_content(answer: CureAnswer, place: int) -> dict[str, Any]:
    found, lever = answer.cure, answer.cure.levers[place]
    effect = found.table.effects[lever.adjuster, int(lever.direction > 0)]
    sure = answer.sureness
    return {
        "adjuster": found.table.adjusters[lever.adjuster].name,
        "direction": "up" if lever.direction > 0 else "down",
        "cures": [
            number(size, target.unit) for size, target in zip(lever.per_step, found.targets, strict=True)
        ],
        "share_of_wanted": number(lever.share, "1"),
        "steps_left": lever.left,
        "drive_against": lever.against,
        "side_cost": number(lever.side_cost, "1"),
        "side_effects": {
            measure.name: finite(value)
            for measure, value in zip(found.table.measures, effect, strict=True)
            if measure.quantity in ("balance", "grip_lost", "time_off_ground", "body_throw", "longest_flight")
        },
        "holds": sure.holds[place] if sure else None,
        "share_low": finite(sure.low[place]) if sure and sure.low else None,
        "share_high": finite(sure.high[place]) if sure and sure.high else None,
    }


def _set_content(answer: CureAnswer, one: ChangeSet) -> dict[str, Any]:
    found = answer.cure
    return {
        "changes": [
            {
                "adjuster": found.table.adjusters[place].name,
                "steps": steps,
                "from": answer.setup.position(found.table.adjusters[place]),
                "to": one.setup.position(found.table.adjusters[place]),
            }
            for place, steps in one.changes
        ],
        "predicted": [number(v, t.unit) for v, t in zip(one.predicted, found.targets, strict=True)],
        "confirmed": [number(v, t.unit) for v, t in zip(one.confirmed, found.targets, strict=True)],
        "share_of_wanted": [finite(share) for share in one.progress],
        "cured": one.cured,
        "worse": [
            {
                "what": guard.label,
                "by": number(worse, guard.unit),
                "tolerated": number(guard.tolerance, guard.unit),
            }
            for guard, worse in one.worse
        ],
        "breaks": [guard.label for guard, _ in one.broken],
        "lap": None if one.lap is None else {**number(one.lap, "s"), "computed": "quasi-steady"},
    }


def _sureness_content(answer: CureAnswer) -> dict[str, Any] | None:
    sure = answer.sureness
    if sure is None:
        return None
    return {
        "cars": sure.asked,
        "lost": sure.lost,
        "seed": sure.seed,
        "uncertain": sure.uncertain,
        "stopped": sure.stopped,
        "set_holds": list(sure.set_holds),
        "set_cures": list(sure.set_cures),
        "unknowns": [
            {
                "name": u.name,
                "share": number(u.share, "1"),
                "change": number(u.change, "1"),
                "remedy": u.remedy,
            }
            for u in sure.unknowns
        ],
    }
