#!/usr/bin/env python3
"""Write the pages of this folder that are made from the code: ``python docs/generate.py``.

tests/docs/test_generated_pages.py fails when one of them is stale.
"""

import json
import re
import subprocess
import sys
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Literal, TypeGuard, get_args, get_origin

import click
from pydantic import BaseModel
from pydantic.fields import FieldInfo

from fourpatch.advice.change_effect import ChangeEffect, MoreLaps, PartEffect, RunDriven, Spoiled, TrendFound
from fourpatch.advice.complaint import Behaviour, Complaint
from fourpatch.advice.complaint_text import Reading
from fourpatch.advice.course import standard_course
from fourpatch.advice.guard import guards
from fourpatch.advice.lexicon import lexicon
from fourpatch.advice.phrasings import judged, own_list
from fourpatch.advice.rules.catalogue import RULES
from fourpatch.advice.rules.check import check_rules
from fourpatch.advice.rules.quantities import QUANTITIES
from fourpatch.advice.target import target_of
from fourpatch.analysis import (
    contact_patch_load,
    damper_speed,
    phase_balance,
    ride_spectrum,
    steady_cornering,
    track_corners,
)
from fourpatch.analysis.braking_in_a_turn import TurnBrakedValues
from fourpatch.analysis.event_measures import (
    AXLE_QUANTITIES,
    BUMP_AXLE_QUANTITIES,
    BUMP_CAR_QUANTITIES,
    CAR_QUANTITIES,
    CORNER_PHASES,
)
from fourpatch.analysis.lap_drive import (
    CornerDriven,
    DrivenSector,
    KerbDriven,
    LapDriveSummary,
    TriedPace,
    WheelFlight,
)
from fourpatch.analysis.lap_heat import LapHeat
from fourpatch.analysis.lap_scatter import LapScatter
from fourpatch.analysis.lap_summary import PROFILE_UNITS, LapCorner, LapSector, LapSummary
from fourpatch.analysis.linear_model import FOUR_OUTPUTS
from fourpatch.analysis.modes import NAMES, Mode
from fourpatch.analysis.quantity import (
    OWN,
    Axles,
    Corners,
    Findings,
    Measure,
    Number,
    measure_of_field,
)
from fourpatch.analysis.recorded_laps import CornerRecorded, LapRecorded
from fourpatch.analysis.speed_sweep import AtSpeed
from fourpatch.analysis.statics import Statics
from fourpatch.analysis.track_summary import TrackCorner, TrackSummary
from fourpatch.answers.damper_map import MAP
from fourpatch.answers.frequency_response import AMPLITUDES
from fourpatch.answers.lap_scatter import EACH
from fourpatch.answers.listing import QUESTIONS, question
from fourpatch.answers.question import Found
from fourpatch.answers.run import BY_DRIVE
from fourpatch.app.answers.definitions import TERMS
from fourpatch.app.answers.ready import KEPT as READY
from fourpatch.app.answers.ready import kept_answer
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car, demo_names
from fourpatch.car.estimation.brief import CarBrief
from fourpatch.car.sections import NOT_NUMBERS, part_types, sections
from fourpatch.car.setup import baseline_setup
from fourpatch.cli.asking import KEPT, taken
from fourpatch.cli.root import root
from fourpatch.document.content import json_unit
from fourpatch.document.fields import choices_of, unit_of
from fourpatch.document.meaning import meaning
from fourpatch.events.driver_style import DriverStyle
from fourpatch.events.files import EVENTS
from fourpatch.picture.rules_words import on_what, rule_row
from fourpatch.runs.channels import COMPUTED, RECORDED
from fourpatch.units import Unit

HERE = Path(__file__).parent
NOTE = "<!-- Made by docs/generate.py from docs/templates and the code: change those, not this page. -->\n\n"

Row = Sequence[str]


def main() -> None:
    """Write all pages."""
    if kept_commands() != KEPT.read_text(encoding="utf-8"):
        KEPT.write_text(kept_commands(), encoding="utf-8", newline="\n")
        # The commands are made of it when they are loaded: once more, from the beginning.
        subprocess.run([sys.executable, __file__], check=True)
        return
    READY.write_text(kept_answer(), encoding="utf-8", newline="\n")
    for name, text in pages().items():
        (HERE / name).write_text(text, encoding="utf-8", newline="\n")
        print(name)


def kept_commands() -> str:
    """Return what the command of each question takes, as it is kept beside the command line."""
    commands = {name: taken(question(name)) for name in QUESTIONS}
    return json.dumps(commands, indent=1, ensure_ascii=False) + "\n"


def pages() -> dict[str, str]:
    """Return the text of every page by its file name: the template with its {{places}} filled."""
    parts = {
        "commands": commands(),
        "car": car(),
        "brief": table(_HEADS, field_rows(CarBrief)),
        "events": events(),
        "driver_style": table(_HEADS, field_rows(DriverStyle)),
        "statics": statics(),
        "mode_names": ", ".join(NAMES),
        "modes": table(_MEASURED, measured_rows(Mode, "")),
        "frequency_response": table(("key", "unit of magnitude", "per", "of"), response_rows()),
        "speed_sweep": table(_MEASURED, measured_rows(AtSpeed, "")),
        "lap": table(
            _MEASURED,
            [
                *measured_rows(LapSummary, ""),
                *measured_rows(LapSector, "sectors."),
                *measured_rows(LapCorner, "corners."),
            ],
        ),
        "did_it_help": table(
            _MEASURED,
            [
                *measured_rows(PartEffect, "effect.lap."),
                *measured_rows(PartEffect, "effect.parts."),
                *measured_rows(ChangeEffect, "effect."),
                *measured_rows(RunDriven, "effect.runs."),
                *measured_rows(Spoiled, "effect.spoiled."),
                *measured_rows(TrendFound, "effect.trends."),
                *measured_rows(MoreLaps, "effect.more."),
                *measured_rows(RunDriven, "effect.more.runs."),
            ],
        ),
        "lap_scatter": table(_MEASURED, [*found_rows(LapScatter, "laps."), *found_rows(EACH, "each.")]),
        "lap_drive": table(
            _MEASURED,
            [
                *measured_rows(LapDriveSummary, "lap."),
                *measured_rows(DrivenSector, "lap.sectors."),
                *measured_rows(CornerDriven, "lap.corners."),
                *measured_rows(KerbDriven, "lap.kerbs."),
                *measured_rows(WheelFlight, "lap.flights."),
                *measured_rows(TriedPace, "lap.tried."),
                *measured_rows(LapHeat, "heat."),
            ],
        ),
        "lap_profile": table(_LABELLED, unit_rows(PROFILE_UNITS)),
        "track_corners": table(
            _LABELLED, unit_rows({**track_corners.UNITS, **without_swings(phase_balance.UNITS)})
        ),
        "track_summary": table(_MEASURED, measured_rows(TrackSummary, "")),
        "track_corner": table(_MEASURED, measured_rows(TrackCorner, "corners.")),
        "phase_balance": table(_LABELLED, unit_rows(phase_balance.UNITS)),
        "contact_patch_load": table(_LABELLED, unit_rows(contact_patch_load.UNITS)),
        "linear_model": table(
            _LABELLED, unit_rows({name: contact_patch_load.UNITS[name] for name in ride_spectrum.NUMBERS})
        ),
        "damper_speed_rows": rows_only(unit_rows(damper_speed.UNITS)),
        "steady_values": table(_MEASURED, measured_rows(steady_cornering.SteadyCorneringValues, "values.")),
        "steady_turns": table(
            _LABELLED,
            unit_rows({f"turns.{name}": said for name, said in steady_cornering.UNITS.items()}),
        ),
        **{kind.replace("-", "_"): table(_MEASURED, found_rows(found)) for kind, found in BY_DRIVE.items()},
        "braking_in_a_turn": table(_MEASURED, found_rows(TurnBrakedValues, "runs.")),
        "damper_map": table(_MEASURED, found_rows(MAP)),
        "base": question_rows("advise base"),
        "cure": question_rows("advise cure"),
        "trade_off": question_rows("advise trade-off"),
        "trial_plan": question_rows("advise test-plan"),
        "rules": question_rows("advise rules"),
        "other_answers": other_answers((HERE / "templates" / "json.md").read_text(encoding="utf-8")),
        "corner_phases": ", ".join(CORNER_PHASES),
        "car_quantities": ", ".join(f"`{name}`" for name in CAR_QUANTITIES),
        "axle_quantities": ", ".join(f"`{name}`" for name in AXLE_QUANTITIES),
        "complaints": complaint_rows(),
        "guards": guard_table(),
        "words_scores": table(("list", "phrasings", "read right", "to the opposite"), words_scores()),
        "words_failures": table(("typed", "means", "read as"), words_failures()),
        "words_elsewhere": table(("subject", "answer"), words_elsewhere()),
        "words_own": table(("typed", "read as"), words_own()),
        "bump_axle_quantities": ", ".join(f"`{name}`" for name in BUMP_AXLE_QUANTITIES),
        "bump_car_quantities": ", ".join(f"`{name}`" for name in BUMP_CAR_QUANTITIES),
        "terms": table(_LABELLED, [(name, *said) for name, said in TERMS.items()]),
        "rule_limits": limit_rows(),
        "rule_catalogue": rule_catalogue(),
        "rules_checked": rules_checked(),
        "history": table(("variable", "unit", "meaning"), unit_rows(COMPUTED)),
        "recorded": table(("variable", "unit", "meaning"), unit_rows(RECORDED)),
        "recording": table(
            _MEASURED, [*measured_rows(LapRecorded, "laps."), *measured_rows(CornerRecorded, "corners.")]
        ),
    }
    templates = sorted((HERE / "templates").glob("*.md"))
    return {
        file.name: NOTE
        + re.sub(r"\{\{(\w+)\}\}", lambda found: parts[found[1]], file.read_text(encoding="utf-8"))
        for file in templates
    }


def table(heads: Row, rows: Sequence[Row]) -> str:
    """Return a table in Markdown."""
    lines = [heads, ["---"] * len(heads), *rows]
    return (
        "\n".join(f"| {' | '.join(cell.replace('|', '&#124;') for cell in line)} |" for line in lines) + "\n"
    )


def rows_only(rows: Sequence[Row]) -> str:
    """Return rows to go below a table's own in Markdown."""
    return "\n".join(table(row, []).splitlines()[0] for row in rows) + "\n"


def one_line(text: str | None) -> str:
    """Return a text without its line ends."""
    return " ".join((text or "").split())


# Commands


def commands() -> str:
    """Return the help of every command."""
    parts = []
    for name, command in all_commands("fourpatch", root):
        context = click.Context(
            command, info_name=name, terminal_width=96, help_option_names=["-h", "--help"]
        )
        parts.append(f"## {name}\n```text\n{command.get_help(context)}\n```\n")
    return "\n".join(parts)


def all_commands(name: str, command: click.Command) -> Iterator[tuple[str, click.Command]]:
    """Yield a command and all below it, with their full names."""
    yield name, command
    if isinstance(command, click.Group):
        context = click.Context(command, info_name=name)
        for below in command.list_commands(context):
            found = command.get_command(context, below)
            assert found is not None
            yield from all_commands(f"{name} {below}", found)


# Parameters


_HEADS = ("name", "unit", "range", "if left out", "meaning")


def car() -> str:
    """Return the sections of a car file, those of the rear axle left out: they are the front's."""
    parts = []
    for heading, said, rows in car_sections():
        if heading.startswith("rear"):
            continue
        if rows:
            parts.append(f"### {heading or 'car'}\n{said}\n\n{table(_HEADS, rows)}")
        elif " (kind = " in heading:  # a choice, though it has no numbers
            parts.append(f"### {heading}\n{said} It has no numbers.\n")
    return "\n".join(parts)


def events() -> str:
    """Return the settings of every kind of event."""
    return "\n".join(
        f"## {kind}\n{one_line(first_paragraph(model))}\n\n{table(_HEADS, field_rows(model))}"
        for kind, model in EVENTS.items()
    )


def car_sections() -> Iterator[tuple[str, str, list[Row]]]:
    """Yield the sections of a car file: dotted name, meaning, a row per number."""
    for section in sections(Car):
        suffix = f' (kind = "{section.kind}")' if section.kind else ""
        meaning = one_line(first_paragraph(section.part))
        yield section.path + suffix, meaning, field_rows(section.part)


def first_paragraph(model: type[BaseModel]) -> str:
    """Return the summary of a class."""
    return (model.__doc__ or "").split("\n\n")[0]


def field_rows(model: type[BaseModel]) -> list[Row]:
    """Return a row for each field of a part that is not a part itself."""
    return [
        (f"`{name}`", *described(field), one_line(meaning(model, name)))
        for name, field in model.model_fields.items()
        if not part_types(field.annotation) and name not in ("kind", *NOT_NUMBERS)
    ]


def described(field: FieldInfo) -> tuple[str, str, str]:
    """Return unit, range and default of a field."""
    unit, is_list = unit_in(field)
    default = "" if field.is_required() else shown_default(field, unit)
    choices = choices_of(field) or tuple(
        c for m in get_args(field.annotation) if get_origin(m) is Literal for c in get_args(m)
    )
    if choices:
        return "", " · ".join(choices), default
    if unit is None:
        return "", "text" if field.annotation in (str, str | None) else "whole number", default
    shown = "1" if unit.shown == "1" else unit.shown
    return f"list of {shown}" if is_list else shown, unit.range(), default


def unit_in(field: FieldInfo) -> tuple[Unit | None, bool]:
    """Return the unit of a field or of its elements, and whether it is a list or table of such numbers."""
    return unit_of(field), get_origin(field.annotation) in (list, dict)


def shown_default(field: FieldInfo, unit: Unit | None) -> str:
    """Return a default as it is written."""
    if field.default in (None, ""):
        return "none"
    return unit.brief(field.default) if unit else str(field.default)


# Results


_LABELLED = ("key", "unit", "meaning")
_MEASURED = ("key", "unit", "per", "meaning")


def statics() -> str:
    """Return every number of a car at rest."""
    rows = [row for name, part in findings_of(Statics) for row in measured_rows(part, f"{name}.")]
    return table(_MEASURED, rows)


def findings_of(model: type[Findings]) -> Iterator[tuple[str, type[Findings]]]:
    """Yield the parts of a result by name."""
    for name, field in model.model_fields.items():
        if isinstance(field.annotation, type) and issubclass(field.annotation, Findings):
            yield name, field.annotation


def measured_rows(model: type[Findings], above: str) -> list[Row]:
    """Return a row for each number of a result."""
    rows = []
    for name, field in model.model_fields.items():
        measure = next((m for m in field.metadata if isinstance(m, Measure)), None)
        if measure:
            per = {Axles: "axle", Corners: "corner"}.get(field.annotation, "")
            rows.append((f"`{above}{name}`", json_unit(measure.si), per, one_line(meaning(model, name))))
    return rows


def found_rows(found: Found, above: str = "") -> list[Row]:
    """Return a row for each number of what is found, those of its parts below it."""
    if isinstance(found, Mapping):
        rows: list[Row] = []
        for name, one in found.items():
            rows += (
                found_rows(one, f"{above}{name}.")
                if isinstance(one, Mapping)
                else [(f"`{above}{name}`", json_unit(one[0]), "", one[1])]
            )
        return rows
    rows = measured_rows(found, above)
    for name, field in found.model_fields.items():
        parts = (field.annotation, *get_args(field.annotation))
        inner = next((one for one in parts if isinstance(one, type) and issubclass(one, Findings)), None)
        place = "CORNER." if get_origin(field.annotation) is dict else ""
        rows += found_rows(inner, f"{above}{name}.{place}") if inner else []
    return rows


def question_rows(command: str) -> str:
    """Return a row for everything that stands in the answer to a question, its texts too."""
    return table(_LABELLED, [row for above, found in parts_of(command) for row in all_rows(found, above)])


def parts_of(command: str) -> list[tuple[str, Found]]:
    """Return what is found by a question, and what stands before its keys."""
    finds = question(command).finds
    return [(f"{key}.", one) for key, one in finds.items()] if isinstance(finds, Mapping) else [("", finds)]


def all_rows(found: Found, above: str) -> Iterator[Row]:
    """Yield a row for each number, text and list of what is found, those of its parts below it."""
    assert not isinstance(found, Mapping)
    for name, field in found.model_fields.items():
        measure = measure_of_field(found, name)
        own = measure is OWN or Number in (field.annotation, *get_args(field.annotation))
        unit = "its own" if own else json_unit(measure.si) if measure else ""
        yield f"`{above}{name}`", unit, one_line(meaning(found, name))
        inner = next(
            (one for one in (field.annotation, *get_args(field.annotation)) if is_findings(one)), None
        )
        if inner:
            several = {tuple: "[]", dict: ".*"}.get(get_origin(field.annotation), "")
            yield from all_rows(inner, f"{above}{name}{several}.")


def is_findings(one: object) -> TypeGuard[type[Findings]]:
    """Say whether something is a kind of findings."""
    return isinstance(one, type) and issubclass(one, Findings)


def other_answers(template: str) -> str:
    """Return a section for each question that the page does not speak of by itself."""
    parts = []
    for command in QUESTIONS:
        if not re.search(rf"^## .*{re.escape(command.split(' ', 1)[1])}\b", template, re.MULTILINE):
            rows = [row for above, found in parts_of(command) for row in found_rows(found, above)]
            said = one_line(question(command).__doc__ or "")
            parts.append(f"## {command}\n{said}\n\n{table(_MEASURED, rows)}")
    return "\n".join(parts)


def unit_rows(units: Mapping[str, tuple[str, str]]) -> list[Row]:
    """Return a row for each variable of a labelled array."""
    return [(f"`{name}`", json_unit(unit), meaning) for name, (unit, meaning) in units.items()]


SHOWN_WHERE = {
    "locks fronts": "the front uses more of its grip in braking",
    "locks rears": "the rear does",
    "understeer": "the front uses more of its grip",
    "oversteer": "the rear does",
    "spins the inside wheel": "the driven axle runs out first on exit",
    "thrown off kerbs": "the body rises more than the kerb itself lifts it",
    "bottoms": "a bump stop is touched; in a phase of a corner no line to tell by",
}


def complaint_rows() -> str:
    """Return a row for each behaviour: the number behind it, as of the demo GT."""
    car = demo_car("gt")
    course = standard_course(car)
    lines = []
    for behaviour in get_args(Behaviour):
        phase = {"understeer": "entry", "oversteer": "entry", "spins the inside wheel": "exit"}.get(behaviour)
        target = target_of(Complaint(behaviour=behaviour, phase=phase or ""), car, course)
        meaning = re.sub(r", of which.*| to 4 m/s² at .*", "", target.meaning)
        meaning = re.sub(r"a \d+ mm kerb", "a kerb", meaning).replace("entry", "the phase")
        where = SHOWN_WHERE.get(behaviour, "no line to tell by: the driver is believed")
        cells = [behaviour, meaning, json_unit(target.unit), f"{target.hardly:g}", where]
        lines.append(f"| {' | '.join(cells)} |")
    return "\n".join(lines) + "\n"


# Words of drivers

HELD_OUT = HERE.parent / "tests" / "data" / "words"


def words_scores() -> list[Row]:
    """Return a row for each list of phrasings: how many, how many read right, how many to the opposite."""
    lists = [("our own", judged(own_list()))]
    lists += [(f"`{path.name}`", judged(path)) for path in sorted(HELD_OUT.glob("*.tsv"))]
    return [
        (name, str(len(found)), str(sum(one.right for one in found)), str(sum(one.opposite for one in found)))
        for name, found in lists
    ]


def words_failures() -> list[Row]:
    """Return a row for each phrasing of the lists held out that is not read as it is meant."""
    found = [one for path in sorted(HELD_OUT.glob("*.tsv")) for one in judged(path) if not one.right]
    return [(one.text, f"`{one.meaning.replace('|', 'or')}`", read_in_short(one.reading)) for one in found]


def words_own() -> list[Row]:
    """Return a row for each phrasing of our own list with what it is read as."""
    return [(one.text, read_in_short(one.reading)) for one in judged(own_list())]


def words_elsewhere() -> list[Row]:
    """Return a row for each thing that is answered without a change of set-up."""
    return [
        (f"{one.subject}{' (no number here)' if one.numberless else ''}", one.said)
        for one in lexicon().remarks.values()
    ]


def read_in_short(reading: Reading) -> str:
    """Return what was understood of a text in a line."""
    parts = [one.text() for one in reading.complaints]
    parts += [f"*{subject}*" for subject in dict.fromkeys(one.about.subject for one in reading.remarks)]
    parts += [f"asked: {reading.question.said}"] if reading.question else []
    return "; ".join(parts) or "nothing to complain of"


def guard_table() -> str:
    """Return a table of what a cure must not break, each kind once."""
    car = demo_car("gt")
    course = standard_course(car)
    target = target_of(Complaint(behaviour="understeer", phase="mid", place="slow corner"), car, course)
    present = {f"{corner}.{phase}.balance": 0.0 for corner in course.corners for phase in CORNER_PHASES}
    rows: dict[str, Row] = {}
    for guard in guards(course.events, [target], [0.5], present):
        name = re.sub(r", (braking|entry|mid|exit)\b", "", guard.label.removesuffix(f", {guard.event}"))
        rows[name] = (name, guard.harm, f"{guard.tolerance:g}", guard.unit)
    return table(("number", "worse if", "tolerance", "unit"), list(rows.values()))


def without_swings(units: dict[str, tuple[str, str]]) -> dict[str, tuple[str, str]]:
    """Return what is said of one set-up alone."""
    return {name: meaning for name, meaning in units.items() if not name.endswith("_swing")}


def limit_rows() -> str:
    """Return a row for each number that rules are measured by."""
    rows = [
        f"| {name.replace('_', ' ')} | {json_unit(kind.unit)} | {kind.hardly:g} | {kind.meaning} |"
        for name, kind in QUANTITIES.items()
    ]
    return "\n".join(rows) + "\n"


def rule_catalogue() -> str:
    """Return a table of the rules: what each says, the change that stands for it, what is looked at."""
    rows = []
    for rule in RULES:
        before = f", from {rule.before.name}" if rule.before else ""
        claims = "; ".join(f"{claim.says} ({claim.about})" for claim in rule.claims)
        rows.append((f"`{rule.name}`", rule.subject, rule.saying, f"{rule.change.name}{before}", claims))
    return table(("rule", "about", "what is said", "change", "claims"), rows)


@cache
def rules_checked() -> str:
    """Return a table of verdicts for each demo car."""
    parts = []
    for name in demo_names():
        car = demo_car(name)
        rows = [
            (*rule_row(one), on_what(one) if one.verdict == "depends" else "")
            for one in check_rules(car, baseline_setup(car))
        ]
        heads = ("rule", "verdict", "size", "where", "why", "depends on")
        parts.append(f"## {car.name}\n{table(heads, rows)}")
    return "\n".join(parts)


def response_rows() -> list[Row]:
    """Return a row for each output of the linear car."""
    return [
        (f"`{name}`", json_unit(unit), "corner" if name in FOUR_OUTPUTS else "", meaning_)
        for name, (unit, meaning_) in AMPLITUDES.items()
    ]


if __name__ == "__main__":
    sys.exit(main())
