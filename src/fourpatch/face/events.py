"""Events as they are asked for in Python: quantities as text, or numbers in SI, refused in plain words."""

import inspect
import textwrap
from collections.abc import Callable
from math import isfinite
from numbers import Real
from typing import Any, TypeVar

from fourpatch.document.fault import Fault
from fourpatch.document.fields import taken, unit_of
from fourpatch.document.part import Part
from fourpatch.document.refusals import read_part
from fourpatch.errors import EventError
from fourpatch.events.files import EVENTS

EventT = TypeVar("EventT", bound=Part)


def asked_for(model: type[EventT]) -> Callable[..., EventT]:
    """Return the function that makes an event of a kind, with all that it takes in its documentation."""
    settings = [name for name in model.model_fields if name != "kind"]

    def event(**given: Any) -> EventT:
        doubted: list[Fault] = []
        read = {name: _with_unit(model, name, value, doubted) for name, value in given.items()}
        made, faults = read_part(model, read)
        texts = {key: text for key, text in [*faults, *doubted]}
        if texts:
            said = (f"{'.'.join(map(str, key)) or model.__name__} {text}" for key, text in texts.items())
            raise EventError("\n\n".join(said))
        return made

    event.__name__ = event.__qualname__ = model.__name__
    said = "\n".join(
        textwrap.fill(f"{name}: {taken(model, name)}", 100, subsequent_indent="    ") for name in settings
    )
    event.__doc__ = (
        f"{inspect.cleandoc(model.__doc__ or '')}\n\nA quantity is text with its unit, or a number in SI.\n\n"
        f"{said}\n\nRaises\n------\nEventError\n    With everything that is wrong with the settings at once."
    )
    takes = [
        inspect.Parameter(
            name,
            inspect.Parameter.KEYWORD_ONLY,
            default=inspect.Parameter.empty if field.is_required() else field.default,
        )
        for name, field in model.model_fields.items()
        if name != "kind"
    ]
    vars(event)["__signature__"] = inspect.Signature(takes)
    return event


def _with_unit(model: type[Part], name: str, value: object, doubted: list[Fault]) -> object:
    """Return a bare number of a quantity with the unit it is taken to have; doubt it if it cannot be that."""
    unit = unit_of(model.model_fields[name]) if name in model.model_fields else None
    if unit is None or not isinstance(value, Real) or isinstance(value, bool) or not isfinite(value):
        return value
    try:
        return unit.bare(float(value))
    except ValueError as error:
        doubted.append(Fault((name,), str(error)))
        return f"{float(value)!r} {unit.si}"  # which can be read: what else is wrong is said too


_BY_NAME = {model.__name__: model for model in EVENTS.values()}


def __getattr__(name: str) -> Callable[..., Any]:
    """Return the function of a kind of event by the name of its class."""
    if name not in _BY_NAME:
        raise AttributeError(f"module {__name__} has no {name}")
    made = asked_for(_BY_NAME[name])
    globals()[name] = made
    return made
