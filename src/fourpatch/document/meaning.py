"""What the docstring below a field says of it, read from the source when somebody asks.

Pydantic can read them when a class is made (``use_attribute_docstrings``): for the parts of a car, a track
and the events that was a third of a second of every start, for sentences that most runs never show.
"""

import ast
import inspect
import sys
from collections.abc import Mapping
from functools import cache
from itertools import pairwise
from types import ModuleType
from typing import Any

from pydantic import BaseModel, GetJsonSchemaHandler
from pydantic_core import CoreSchema


class Described(BaseModel):
    """Base of models whose attribute docstrings say what their fields mean, in their JSON schema too."""

    @classmethod
    def __get_pydantic_json_schema__(
        cls, core_schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """Return the schema with the meanings as descriptions."""
        schema = handler(core_schema)
        for name, field in handler.resolve_ref_schema(schema).get("properties", {}).items():
            if meaning(cls, name):
                field.setdefault("description", meaning(cls, name))
        return schema


def meaning(model: type[BaseModel], name: str) -> str:
    """Return what is written below a field of a model or of the model it is derived from, or nothing."""
    return next((said for base in model.__mro__ if (said := _written(base).get(name))), "")


@cache
def _written(model: type) -> Mapping[str, str]:
    """Return the docstrings below the annotations in the body of a class."""
    if not issubclass(model, Described):
        return {}
    found: ast.AST = _tree(sys.modules[model.__module__])
    for name in model.__qualname__.split("."):
        if name != "<locals>":
            found = _named(found, name)[-1]
    assert isinstance(found, ast.ClassDef)
    return {
        field.target.id: inspect.cleandoc(text.value.value)
        for field, text in pairwise(found.body)
        if isinstance(field, ast.AnnAssign)
        and isinstance(field.target, ast.Name)
        and isinstance(text, ast.Expr)
        and isinstance(text.value, ast.Constant)
        and isinstance(text.value.value, str)
    }


def _named(inside: ast.AST, name: str) -> list[ast.AST]:
    """Return the classes and functions of a name in a body, in their order: the last one holds."""
    body = getattr(inside, "body", ())
    return [one for one in body if isinstance(one, ast.ClassDef | ast.FunctionDef) and one.name == name]


@cache
def _tree(module: ModuleType) -> ast.Module:
    return ast.parse(inspect.getsource(module))
