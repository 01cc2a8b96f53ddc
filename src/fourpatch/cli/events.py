"""Events on the command line: one option per setting, made from the event's own fields."""

import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar, cast

import click

from fourpatch.errors import EventError

if TYPE_CHECKING:
    from pydantic.fields import FieldInfo

    from fourpatch.document.part import Part
    from fourpatch.events.files import Event

EventT = TypeVar("EventT", bound="Event")
PartT = TypeVar("PartT", bound="Part")


def setting_options(model: "type[Part]") -> list[click.Option]:
    """Return an option for each setting of a kind of event, or of a question."""
    from fourpatch.document.fields import several, taken

    return [
        click.Option(
            [option_name(name)],
            metavar="FILE" if name in getattr(model, "files", ()) else _metavar(field),
            help=taken(model, name),
            multiple=several(field),
            is_flag=field.annotation is bool,
        )
        for name, field in model.model_fields.items()
        if name != "kind"
    ]


def option_name(setting: str) -> str:
    """Return how a setting is written on the command line."""
    return f"--{setting.replace('_', '-')}"


def part_from_options(model: "type[PartT]", given: "Mapping[str, str | tuple[str, ...] | None]") -> "PartT":
    """Return an event or a question with the settings given, the others as they are if left out.

    Raises
    ------
    EventError
        With everything that is wrong with the settings at once.
    """
    from fourpatch.document.fields import choices_of
    from fourpatch.document.refusals import read_part

    part, faults = read_part(model, {name: text for name, text in given.items() if text not in (None, ())})
    if faults:
        kind = choices_of(model.model_fields["kind"])[0] if "kind" in model.model_fields else model.__name__
        said = (
            f"{option_name(str(key[0]))} {text}" if key else f"{kind} {_by_options(model, text)}"
            for key, text in faults
        )
        raise EventError("\n\n".join(said))
    return part


def _by_options(model: "type[Part]", text: str) -> str:
    """Return a text about several settings with the names of their options."""
    for name in model.model_fields:
        if "_" in name:
            text = re.sub(rf"\b{name}\b", option_name(name), text)
    return text


def events_from_files(
    files: Sequence[str], kinds: "tuple[type[EventT], ...]", *, purpose: str
) -> "dict[str, EventT]":
    """Return the events of some files by the files' names.

    Parameters
    ----------
    kinds : those that are of use.
    purpose : what they are for, as the beginning of a sentence.

    Raises
    ------
    EventError
        If one is of another kind.
    """
    from fourpatch.events.files import EVENTS, load_event

    found: dict[str, EventT] = {}
    for file in files:
        event = load_event(file)
        if not isinstance(event, kinds):
            names = ", ".join(kind for kind, model in EVENTS.items() if issubclass(model, kinds))
            raise EventError(
                f"{file}: {purpose} in events of the kinds {names}, and this one is {event.kind}. "
                "Leave it out; fourpatch run event shows what it does to one set-up."
            )
        found[Path(file).stem] = cast("EventT", event)
    return found


def settings_text(part: "Part") -> dict[str, str]:
    """Return the settings of an event or a style by name, as text in the usual unit."""
    from fourpatch.document.fields import settings, unit_of

    units = {name: unit_of(field) for name, field in type(part).model_fields.items()}
    return {
        name.replace("_", " "): unit.brief(value) if (unit := units[name]) else str(value)
        for name, value in settings(part).items()
    }


def _metavar(field: "FieldInfo") -> str | None:
    from fourpatch.document.fields import choices_of, several, unit_of

    if field.annotation is bool:
        return None
    if choices_of(field) or several(field):
        return "WORD"
    if field.annotation is str:
        return "FILE"
    if field.annotation == str | None:
        return "NAME"
    return "QUANTITY" if unit_of(field) else "NUMBER"
