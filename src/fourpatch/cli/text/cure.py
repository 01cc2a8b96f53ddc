"""What cures a complaint, in tables, in words and for JSON."""

import math
from collections.abc import Iterable, Sequence
from typing import Any

from fourpatch.advice.change_set import ChangeSet
from fourpatch.advice.complaint import Complaint
from fourpatch.advice.complaint_text import Reading
from fourpatch.advice.cure import Cure
from fourpatch.advice.drive_check import DriveNumber
from fourpatch.advice.powerless import doubt, powerless
from fourpatch.cli.output import write_heading, write_table, write_text
from fourpatch.document.content import finite, number
from fourpatch.face.cured import Cured, helping_table
from fourpatch.picture.cure_words import (
    MOST_LEVERS,
    NO_LEVER,
    changes_text,
    columns_elsewhere,
    course_text,
    drive_cells,
    drive_heads,
    drive_notes,
    drive_where,
    lever_name,
    lever_notes,
    limits_text,
    measured_text,
    outcome,
    read_as,
    sets_note,
    sureness_text,
    title_elsewhere,
)
from fourpatch.picture.first_change_words import (
    first_change,
    question_choices,
    question_text,
    sized_text,
    what_then,
)
from fourpatch.picture.head import Head


def write_cure(answer: Cured, named: str) -> None:
    """Write the whole answer."""
    found = answer.cure
    on = f" on {found.course.name}" if found.course.lap else ""
    write_text(f'{named}{on}: what cures "{answer.reading.typed}"? Computed on the rig.')
    write_text(read_as(answer.reading))
    for place in range(len(found.targets)):
        write_text(measured_text(found, place))
        if sized_text(found, place):
            write_text(sized_text(found, place))
    if question_text(found):
        write_text(question_text(found))
    if found.course.notes:
        write_text(course_text(found))
    _write_section("what to do first, and then", first_change(found))
    _write_levers(answer)
    _write_sets(found)
    _write_section("why: each change of the first set by itself", (one.sentence for one in answer.reasons))
    _write_drive(found, answer.drive)
    _write_section("what adjusters cannot do", limits_text(found))
    if answer.drawn:
        _write_section("how sure", sureness_text(answer.sureness))
    if found.stopped:
        write_text("Stopped: sets of changes were not computed.")


def _write_levers(answer: Cured) -> None:
    found = answer.cure
    if not found.levers:
        write_text(NO_LEVER)
        return
    _write_helping(answer)
    columns = columns_elsewhere(found)
    write_table(
        [
            Head(text="one step of", right=False),
            *(Head(text=one.text, unit=one.shown_in) for one in columns),
        ],
        [
            [lever_name(found, lever), *(one.change(found, lever) for one in columns)]
            for lever in found.levers[:MOST_LEVERS]
        ],
        title=title_elsewhere(found),
    )
    for sentence in lever_notes(found):
        write_text(sentence)


def _write_helping(answer: Cured) -> None:
    """Write what one step of each adjuster does for the complaints."""
    table = helping_table(answer)
    heads = [Head(text=head.text, unit=head.unit, right=place > 0) for place, head in enumerate(table.heads)]
    write_table(heads, table.rows, title="adjusters that help, turned the way that helps")


def _write_sets(found: Cure) -> None:
    note = sets_note(found)
    if not found.sets and not note:
        return
    write_heading("what to change: the smallest sets, each run again as changed")
    if note:
        write_text(note)
    for k, one in enumerate(found.sets, start=1):
        write_text(f"{k}. {changes_text(found, one)}.")
        write_text(f"   {' '.join(outcome(found, one))}")
    for sentence in what_then(found):
        write_text(sentence)


def _write_drive(found: Cure, drive: Sequence[DriveNumber]) -> None:
    if not drive:
        return
    sets = len(found.sets)
    write_table(
        [Head(text="", right=False), *(Head(text=one) for one in drive_heads(sets))],
        [(one.name, *drive_cells(one)) for one in drive],
        title="the sets by the drive, all degrees of freedom free; (!) moves the wrong way",
    )
    for sentence in (*drive_where(found), *drive_notes(drive, [f"Set {k}" for k in range(1, sets + 1)])):
        write_text(sentence)


def _write_section(heading: str, sentences: Iterable[str]) -> None:
    """Write sentences under a heading, and nothing if there are none."""
    said = list(sentences)
    if said:
        write_heading(heading)
        for sentence in said:
            write_text(sentence)


# JSON


def cure_content(answer: Cured) -> dict[str, Any]:
    """Return the whole answer for JSON."""
    found = answer.cure
    return {
        "read": {
            "typed": answer.reading.typed,
            "unread": list(answer.reading.unread),
            "denied": list(answer.reading.denied),
            "wished": list(answer.reading.wished),
            "elsewhere": [
                {"subject": one.about.subject, "words": one.words, "said": one.about.said}
                for one in answer.reading.remarks
            ],
            "question": _question_content(answer.reading),
            "slips": dict(answer.reading.slips),
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
        "next": [
            {"when": when, **_short_content(answer, one)}
            for when, one in (("more", found.next.more), ("less", found.next.less))
            if one is not None
        ]
        if found.next
        else [],
        "trade_offs": [
            {"complaint": place, **_short_content(answer, one)} for place, one in found.trade_offs
        ],
        "good": _good_content(answer),
        "said": {
            "first": list(first_change(found)),
            "then": what_then(found),
            "question": question_text(found),
            "choices": question_choices(found),
        },
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
                "after": [number(_or_nan(value), one.unit) for value in one.after],
                "agrees": list(one.agrees),
            }
            for one in answer.drive
        ],
        "sureness": _sureness_content(answer),
        "course": {"name": found.course.name, "notes": list(found.course.notes)},
        "stopped": found.stopped or (answer.sureness is not None and answer.sureness.stopped),
    }


def _short_content(answer: Cured, one: ChangeSet) -> dict[str, Any]:
    whole = _set_content(answer, one)
    return {key: whole[key] for key in ("changes", "share_of_wanted", "breaks")}


def _good_content(answer: Cured) -> dict[str, Any] | None:
    found = answer.cure
    if found.good is None:
        return None
    return {
        "setup": found.good.setup.name,
        "gains": [number(v, t.unit) for v, t in zip(found.good.gains, found.targets, strict=True)],
        "is_the_way": found.good.helps,
    }


def _question_content(reading: Reading) -> dict[str, Any] | None:
    asked = reading.question
    return (
        None if asked is None else {"said": asked.said, "words": asked.words, "choices": list(asked.choices)}
    )


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
        "sized_by": found.sized_by[place],
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


def _lever_content(answer: Cured, place: int) -> dict[str, Any]:
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


def _set_content(answer: Cured, one: ChangeSet) -> dict[str, Any]:
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


def _sureness_content(answer: Cured) -> dict[str, Any] | None:
    sure = answer.sureness
    if sure is None:
        return None
    return {
        "cars": sure.asked,
        "lost": sure.lost,
        "seed": sure.seed,
        "uncertain": sure.uncertain,
        "asked_in": list(sure.asked_in),
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
