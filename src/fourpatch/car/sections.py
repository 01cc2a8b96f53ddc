"""The sections of a car's file, by class: what a car may have, also where no car at hand has it."""

from collections.abc import Iterator
from dataclasses import dataclass
from types import UnionType
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic import BaseModel

NOT_NUMBERS = ("adjusters", "provenance", "evidence")
"""Parts of a car that are not numbers of it."""


@dataclass(frozen=True, slots=True)
class Section:
    """A part of a car and where it stands in the file."""

    path: str
    """Dotted name; empty for the car itself."""
    kind: str
    """Which of the alternatives at its place it is; empty where there is but one."""
    part: type[BaseModel]


def sections(model: type[BaseModel], path: str = "", kind: str = "") -> Iterator[Section]:
    """Yield a part and all below it, every alternative of a place one after the other."""
    yield Section(path, kind, model)
    for name, field in model.model_fields.items():
        if name in NOT_NUMBERS:
            continue
        parts = part_types(field.annotation)
        for part in parts:
            below = f"{path}.{name}" if path else name
            yield from sections(part, below, kind_of(part) if len(parts) > 1 else "")


def kind_of(part: type[BaseModel]) -> str:
    """Return the kind that an alternative goes by; empty if it has none."""
    field = part.model_fields.get("kind")
    return get_args(field.annotation)[0] if field else ""


def part_types(annotation: Any) -> list[type[BaseModel]]:
    """Return the classes of parts an annotation allows."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    if get_origin(annotation) is Annotated:
        return part_types(get_args(annotation)[0])
    if get_origin(annotation) in (Union, UnionType):
        return [part for member in get_args(annotation) for part in part_types(member)]
    return []
