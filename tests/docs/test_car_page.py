"""car-file.md names every kind that a part of a car may be."""

from pathlib import Path
from typing import get_args

from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car
from fourpatch.document.part import Part


def kinds(model: type[Part]) -> set[str]:
    """All kinds of all parts below a part."""
    found: set[str] = set()
    for field in model.model_fields.values():
        for part in members(field.annotation):
            if "kind" in part.model_fields:
                found |= set(get_args(part.model_fields["kind"].annotation))
            found |= kinds(part)
    return found


def members(annotation: object) -> list[type[Part]]:
    """Part classes within an annotation."""
    if isinstance(annotation, type):
        return [annotation] if issubclass(annotation, Part) else []
    return [part for argument in get_args(annotation) for part in members(argument)]


def test_every_kind_is_on_the_page_and_in_words(repository: Path) -> None:
    page = (repository / "docs" / "car-file.md").read_text(encoding="utf-8")
    listed = page.split("\n## Kinds of parts\n")[1].split("\n## ")[0]
    words = (repository / "docs" / "words.md").read_text(encoding="utf-8")
    of_driveline = kinds(type(demo_car("gt").driveline))
    assert {"open", "locked"} <= of_driveline
    of_maps = {"direct", "rate", "table", "curve", "unknown"}
    observed = (repository / "docs" / "evidence.md").read_text(encoding="utf-8")
    of_evidence = {"reading", "words", "comparison"}  # no part of the car: written and taken back by commands
    for kind in kinds(Car) - of_maps:
        assert f"`{kind}`" in listed
        if kind in of_evidence:
            assert f"fourpatch evidence {kind} " in observed
        else:
            assert f'(kind = "{kind}")' in words
