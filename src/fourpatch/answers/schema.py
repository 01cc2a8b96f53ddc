"""What an answer holds, as JSON Schema: for who reads it by program."""

from collections.abc import Mapping
from typing import Any, get_args, get_origin

from fourpatch.analysis.quantity import Axles, Corners, Findings, Number, measure_of_field
from fourpatch.answers.question import Found, Question
from fourpatch.document.content import json_unit
from fourpatch.document.meaning import meaning


def answer_schema(question: type[Question]) -> dict[str, Any]:
    """Return the schema of the answer to a question."""
    finds = question.finds
    found = (
        {key: _found(one) for key, one in finds.items()}
        if isinstance(finds, Mapping)
        else findings_schema(finds)["properties"]
    )
    if question.by_event:
        found = {key: {"type": "object", "additionalProperties": one} for key, one in found.items()}
    said = {"type": "array", "items": {"type": "string"}, "description": "What it means, in sentences."}
    properties = {**found, "said": said}
    return {"type": "object", "properties": properties, "required": list(properties)}


def _found(found: Found) -> dict[str, Any]:
    if isinstance(found, Mapping):
        rows = {
            name: _found(one) if isinstance(one, Mapping) else _number(*one) for name, one in found.items()
        }
        return {"type": "object", "properties": rows}
    one = findings_schema(found)
    return {"anyOf": [one, {"type": "array", "items": one}]}


def findings_schema(model: type[Findings]) -> dict[str, Any]:
    """Return the schema of findings."""
    rows = {}
    for name, field in model.model_fields.items():
        measure = measure_of_field(model, name)
        if measure is None:
            rows[name] = _part(field.annotation) | {"description": meaning(model, name)}
        else:
            places = next((one._fields for one in (Axles, Corners) if one is field.annotation), ())
            by_name = get_origin(field.annotation) is dict
            rows[name] = _number(measure.si, meaning(model, name), places, by_name=by_name)
    return {"type": "object", "properties": rows, "required": list(rows)}


def _part(annotation: Any) -> dict[str, Any]:
    """Return the schema of findings within findings, of several of them, or of what is no number."""
    if annotation is Number:
        return _number("", "")
    if isinstance(annotation, type) and issubclass(annotation, Findings):
        return findings_schema(annotation)
    inner = [
        one for one in get_args(annotation) if isinstance(one, type) and issubclass(one, Findings | Number)
    ]
    if not inner:
        return {"type": _PLAIN[annotation]} if annotation in _PLAIN else {}
    one = _part(inner[0])
    if get_origin(annotation) in (tuple, list):
        return {"type": "array", "items": one}
    if get_origin(annotation) is dict:
        return {"type": "object", "additionalProperties": one}
    return {"anyOf": [one, {"type": "null"}]}


_PLAIN = {str: "string", bool: "boolean", int: "integer", float: "number"}


def _number(unit: str, text: str, places: tuple[str, ...] = (), *, by_name: bool = False) -> dict[str, Any]:
    """Return the schema of a number; without a unit here it says its own."""
    one: dict[str, Any] = {"type": ["number", "null"]}
    value = {"type": "object", "properties": dict.fromkeys(places, one)} if places else {}
    value = {"type": "object", "additionalProperties": one} if by_name else value
    properties = {"value": value, "unit": {"const": json_unit(unit)} if unit else {"type": "string"}}
    return {"type": "object", "properties": properties, "required": ["value", "unit"], "description": text}
