"""What a field of a part takes: its unit, its words, and both in a sentence."""

from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from fourpatch.document.meaning import meaning
from fourpatch.units import Unit


def unit_of(field: FieldInfo) -> Unit | None:
    """Return the unit of a field that is a quantity."""
    of_option = (m for member in get_args(field.annotation) for m in getattr(member, "__metadata__", ()))
    return next((found for found in (*field.metadata, *of_option) if isinstance(found, Unit)), None)


def choices_of(field: FieldInfo) -> tuple[str, ...]:
    """Return what a field may be that is one of several words."""
    return get_args(field.annotation) if get_origin(field.annotation) is Literal else ()


def taken(model: type[BaseModel], name: str) -> str:
    """Return what a field means and takes: range or words, and what it is if left out."""
    field = model.model_fields[name]
    unit, choices = unit_of(field), choices_of(field)
    parts = [meaning(model, name).replace("\n", " ")]
    if field.is_required():
        parts.append(f"One of {', '.join(choices)}. Must be given." if choices else "Must be given.")
    elif choices:
        parts.append(f"One of {', '.join(choices)}; {field.default} if left out.")
    elif unit:
        default = "" if field.default is None else f"; {unit.brief(field.default)} if left out"
        parts.append(f"{unit.range()}{default}.")
    elif field.default not in ((), None, False, ""):
        parts.append(f"{field.default} if left out.")
    return " ".join(parts)


def several(field: FieldInfo) -> bool:
    """Say whether a field takes several values."""
    return get_origin(field.annotation) is tuple


def settings(part: BaseModel) -> dict[str, Any]:
    """Return what is set of a part by name, SI; neither its kind nor what is left out."""
    found = {name: getattr(part, name) for name in type(part).model_fields if name != "kind"}
    return {name: value for name, value in found.items() if value is not None}
