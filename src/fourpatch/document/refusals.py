"""From what a file says to a part of a car, and to all that is wrong with it in plain words.

What is right of a faulty file is kept, so that the checks between parameters can still run on it.
"""

import copy
import difflib
from types import UnionType
from typing import Annotated, Any, Literal, TypeVar, Union, cast, get_args, get_origin

from pydantic import TypeAdapter, ValidationError
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from fourpatch.document.fault import Fault, Key
from fourpatch.document.meaning import meaning
from fourpatch.document.part import Part
from fourpatch.units import FROM_FILE, Unit

PartT = TypeVar("PartT", bound=Part)
Table = dict[str, Any]


def read_part(model: type[PartT], data: Table) -> tuple[PartT, list[Fault]]:
    """Return a part and everything that is wrong with the data it is read from.

    Notes
    -----
    With faults the part is incomplete: attributes whose value is at fault are missing, and reading
    one raises AttributeError.
    """
    known, rest = copy.deepcopy(data), copy.deepcopy(data)
    faults: dict[Key, str] = {}
    while True:
        # A part with a faulty value is not looked at as a whole: take the value out and look again.
        errors = {_key(detail["loc"], rest): detail for detail in _errors(model, rest)}
        if not errors and not faults:
            return model.model_validate(data, context=FROM_FILE), []
        new = {
            key: detail
            for key, detail in errors.items()
            if key not in faults
            and not (detail["type"] == "missing" and any(said[: len(key)] == key for said in faults))
        }
        if not new:
            return cast(PartT, _salvaged(model, known)), [Fault(*item) for item in faults.items()]
        for key, detail in new.items():
            faults[key] = _sentence(model, key, detail, data)
            _take_out(rest, key)
            if detail["type"] == "extra_forbidden":
                _take_out(known, key)


# What is right of a faulty part


def _salvaged(model: type[Part], data: Table) -> Part:
    """Return a part with every attribute that can be read, and without those at fault."""
    made = model.model_construct()
    for name in data.keys() & model.model_fields.keys():
        field = model.model_fields[name]
        made.__dict__.pop(name, None)
        try:
            annotated: Any = Annotated[field.annotation, field]
            made.__dict__[name] = TypeAdapter(annotated).validate_python(data[name], context=FROM_FILE)
        except ValidationError:
            for value in _salvaged_values(field.annotation, data[name]):
                made.__dict__[name] = value
    return made


def _salvaged_values(annotation: Any, value: object) -> list[object]:
    """Return what can be kept of a faulty value: one thing, or nothing."""
    kind = _part_type(annotation, value)
    if kind and isinstance(value, dict):
        whole_at_fault = any(not detail["loc"] for detail in _errors(kind, value))
        return [] if whole_at_fault else [_salvaged(kind, value)]
    arguments = get_args(annotation)
    if isinstance(value, list) and get_origin(annotation) is list:
        # A stand-in for each that is at fault, so that the others keep their places.
        element = _part_type(arguments[0], None)
        if element:
            return [[next(iter(_salvaged_values(element, one)), element.model_construct()) for one in value]]
    if isinstance(value, dict) and get_origin(annotation) is dict:
        adapter = TypeAdapter(arguments[1])
        return [
            {name: adapter.validate_python(one) for name, one in value.items() if _is_valid(adapter, one)}
        ]
    return []


def _errors(kind: type[Part], value: Table) -> list[ErrorDetails]:
    try:
        kind.model_validate(value, context=FROM_FILE)
    except ValidationError as error:
        return error.errors()
    return []


def _is_valid(adapter: TypeAdapter[Any], value: object) -> bool:
    try:
        adapter.validate_python(value, context=FROM_FILE)
    except ValidationError:
        return False
    return True


def _take_out(data: object, key: Key) -> None:
    """Delete a value, unless it is in a list, where the others would lose their places."""
    owner = _at(data, key[:-1])
    if key and isinstance(owner, dict):
        owner.pop(key[-1], None)


# Where in the data, and what the model says of that place


def _key(location: tuple[str | int, ...], data: object) -> Key:
    """Return an error's location without the tags that name the kind of a part."""
    key: Key = ()
    entered = False  # a file as a whole is of no kind
    for name in location:
        if entered and isinstance(data, dict) and data.get("kind") == name:
            entered = False  # the tag stands once, before the names in the part
            continue
        key = (*key, name)
        data = _child(data, name)
        entered = True
    return key


def _child(data: object, name: str | int) -> object:
    if isinstance(data, dict):
        return data.get(name)
    return data[name] if isinstance(data, list) and isinstance(name, int) and name < len(data) else None


def _at(data: object, key: Key) -> Any:
    for name in key:
        data = _child(data, name)
    return data


def _part_type(annotation: Any, value: object) -> type[Part] | None:
    """Return the class of a part an annotation means, of several that of the value's kind."""
    if isinstance(annotation, type) and issubclass(annotation, Part):
        return annotation
    if get_origin(annotation) is Annotated:
        return _part_type(get_args(annotation)[0], value)
    if get_origin(annotation) not in (Union, UnionType):
        return None
    members = [m for m in get_args(annotation) if isinstance(m, type) and issubclass(m, Part)]
    if len(members) == 1:
        return members[0]
    kind = value.get("kind") if isinstance(value, dict) else None
    return next((m for m in members if kind in get_args(m.model_fields["kind"].annotation)), None)


def _schema(model: type[Part], key: Key, data: object) -> tuple[type[Part] | None, FieldInfo | None]:
    """Return the part that owns a key, and the field the key is, where the model knows them."""
    annotation: Any = model
    owner: type[Part] | None = None
    field: FieldInfo | None = None
    for name in key:
        owner = _part_type(annotation, data)
        if owner:
            field = owner.model_fields.get(str(name))
            annotation = field.annotation if field else None
        else:
            annotation = (get_args(annotation) or (None,))[-1]
        data = _child(data, name)
    return owner, field


# In words


def _sentence(model: type[Part], key: Key, detail: ErrorDetails, data: object) -> str:
    """Return the rest of the sentence whose subject is the key."""
    owner, field = _schema(model, key, data)
    found, context, kind = _shown(detail["input"]), detail.get("ctx", {}), detail["type"]
    match kind:
        case "missing":
            return _missing(owner, str(key[-1]), field)
        case "extra_forbidden":
            return _unknown_key(str(key[-1]), owner)
        case "quantity":
            return detail["msg"]
        case "value_error":
            return f"does not hold together: {context['error']}"
        case "union_tag_not_found" | "union_tag_invalid":
            return _unknown_kind(detail, field)
        case "literal_error":
            choices = _literals(field.annotation) if field else []
            near = _near(detail["input"], choices, cutoff=0.8) if isinstance(detail["input"], str) else ""
            return f"is {found}, not one of {_quoted(choices)}.{near}"
        case "string_type":
            plain = not isinstance(detail["input"], bool | list | dict)
            return f"is {found}, not text. " + (
                f'Put it in quotes: "{found}".' if plain else "Write text in quotes."
            )
        case "float_type" | "float_parsing":
            return f"is {found}, not a plain number. Write the number alone, without quotes and unit."
        case "model_type" | "model_attributes_type" | "dict_type":
            heading = ".".join(map(str, key))
            return f"is {found}, not a table. Write [{heading}] and below it a line for each of its keys."
        case "list_type":
            return f"is {found}, not a list. {_list_remedy(key, field)}"
        case "too_short":
            return f"has {context['actual_length']} entries; at least {context['min_length']} are needed."
        case "string_too_short":
            return "is empty. Write a few words."
    return f"is {found}: {detail['msg'][0].lower()}{detail['msg'][1:]}."


def _literals(annotation: object) -> list[str]:
    """Return the words a field takes, or those of its elements; empty if it takes others."""
    if get_origin(annotation) is Literal:
        return [str(choice) for choice in get_args(annotation)]
    return [choice for inner in get_args(annotation) for choice in _literals(inner)]


def _missing(owner: type[Part] | None, name: str, field: FieldInfo | None) -> str:
    if owner is None or field is None:
        return "is missing."
    unit = next((m for m in field.metadata if isinstance(m, Unit)), None)
    part = _part_type(field.annotation, None)
    said = (part.__doc__ or "").split("\n")[0] if part else meaning(owner, name)
    text = f"is missing. {said} " if said else "is missing. "
    if unit:
        example = unit.example()
        return f"{text}Write for example {name} = " + (example if unit.shown == "1" else f'"{example}"') + "."
    choices = _literals(field.annotation)
    return f"{text}Write one of {_quoted(choices)}." if choices else f"{text}Add it."


def _unknown_key(name: str, owner: type[Part] | None) -> str:
    known = list(owner.model_fields) if owner else []
    return "is not known here." + (_near(name, known) or f" Known here: {', '.join(known)}.")


def _unknown_kind(detail: ErrorDetails, field: FieldInfo | None) -> str:
    kinds = _kinds(field.annotation) if field else []
    kind = detail["input"].get("kind") if isinstance(detail["input"], dict) else None
    if kind is None:
        return f"does not say what kind it is. Add kind, one of {_quoted(kinds)}."
    return f"has kind = {_shown(kind)}, not one of {_quoted(kinds)}.{_near(str(kind), kinds)}"


def _kinds(annotation: Any) -> list[str]:
    """Return the kinds of a union of parts, or of the entries of a list of such."""
    if isinstance(annotation, type) and issubclass(annotation, Part):
        return list(get_args(annotation.model_fields["kind"].annotation))
    return [kind for argument in get_args(annotation) for kind in _kinds(argument)]


def _list_remedy(key: Key, field: FieldInfo | None) -> str:
    if field and _part_type((get_args(field.annotation) or (None,))[0], None):
        return f"Write its heading with two brackets, [[{key[-1]}]], once for each."
    return f"Write {key[-1]} = [ ... ], its values between brackets with commas."


def _near(name: str, known: list[str], *, cutoff: float = 0.6) -> str:
    """Propose near names; of few words to choose from, as ``right`` for ``straight``, only nearer ones."""
    near = difflib.get_close_matches(name.lower(), known, n=2, cutoff=cutoff)
    return f" Did you mean {' or '.join(near)}?" if near else ""


def _quoted(names: "tuple[str, ...] | list[str]") -> str:
    return ", ".join(f'"{name}"' for name in names)


def _shown(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict | list):
        return "a table" if isinstance(value, dict) else "a list"
    text = str(value)
    text = text if len(text) <= _MOST_SHOWN else f"{text[:_MOST_SHOWN]}..."
    return f'"{text}"' if isinstance(value, str) else text


_MOST_SHOWN = 200
"""Signs of a value that is shown."""
