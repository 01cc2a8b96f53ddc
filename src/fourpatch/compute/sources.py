"""The syntax trees of physics functions, as the translators read them, and what of Python they know."""

import ast
import inspect
import math
import textwrap
from collections.abc import Callable
from pathlib import Path
from types import ModuleType
from typing import Any, TypeAlias

import numpy as np

from fourpatch.physics import trig

Function: TypeAlias = Callable[..., Any]

_KNOWN = (
    *(ast.FunctionDef, ast.arguments, ast.arg, ast.Return, ast.Expr, ast.Pass),
    *(ast.Assign, ast.AugAssign, ast.For, ast.While, ast.If, ast.IfExp),
    *(ast.Name, ast.Attribute, ast.Subscript, ast.Constant, ast.Tuple, ast.Call, ast.keyword),
    *(ast.BinOp, ast.Add, ast.Sub, ast.Mult, ast.Div, ast.FloorDiv, ast.Mod, ast.BitAnd),
    *(ast.UnaryOp, ast.USub, ast.Not, ast.Compare, ast.Lt, ast.LtE, ast.Gt, ast.GtE, ast.Eq),
    ast.expr_context,
)
"""Parts of Python that both translators follow; the physics uses no others in what a lap needs."""

_CALLED = {
    *(min, max, abs, float, range),
    *(math.sqrt, math.copysign, np.floor, np.isfinite, np.uintp, np.int64, np.zeros),
}
"""What is called beside the physics' own functions and tuples."""


def plain(function: Any) -> Any:
    """Return the Python function that a kernel was compiled from; anything else as it is."""
    return getattr(function, "py_func", function)


def is_physics(value: Any) -> bool:
    """Say whether a value is a function of the physics."""
    function = plain(value)
    return inspect.isfunction(function) and function.__module__.startswith("fourpatch.physics.")


def in_single(function: Any) -> Any:
    """Return what stands in for a function of the physics in single precision: mostly itself."""
    of_trig = plain(function).__module__ == trig.__name__
    return trig.IN_SINGLE.get(plain(function).__name__, function) if of_trig else function


def tree_of(function: Function) -> ast.FunctionDef:
    """Return a function's syntax tree; its lines are counted in its file."""
    lines, first = inspect.getsourcelines(plain(function))
    tree = ast.parse(textwrap.dedent("".join(lines))).body[0]
    assert isinstance(tree, ast.FunctionDef)
    ast.increment_lineno(tree, first - 1)
    return tree


def known_tree(function: Function) -> ast.FunctionDef:
    """Return the bare syntax tree of a function that the translators know whole.

    Raises
    ------
    TypeError
        If there is a part of Python in it, or a call, that they do not know: by file, line and name.
    """
    tree = bare(tree_of(function))
    local = local_names(tree)
    for node in ast.walk(tree):
        for part in ast.iter_child_nodes(node):
            if not isinstance(part, _KNOWN):
                line = getattr(part, "lineno", getattr(node, "lineno", tree.lineno))
                raise _untranslated(function, line, f"{type(part).__name__} is")
        if isinstance(node, ast.Call) and not _callable(global_value(node.func, function, local)):
            raise _untranslated(function, node.lineno, f"a call of {ast.unparse(node.func)} is")
    return tree


def _untranslated(function: Function, line: int, what: str) -> TypeError:
    """Return the refusal of what the translators do not know."""
    code = plain(function).__code__
    where = f"{Path(code.co_filename).name}, line {line}, {code.co_name}"
    return TypeError(f"{where}: {what} nothing that the translators know")


def _callable(value: Any) -> bool:
    if is_physics(value) or (isinstance(value, type) and issubclass(value, tuple)):
        return True
    return value.__hash__ is not None and value in _CALLED


def bare(tree: ast.FunctionDef) -> ast.FunctionDef:
    """Strip documentation, annotations and decorators from a tree, in place."""
    if isinstance(tree.body[0], ast.Expr) and isinstance(tree.body[0].value, ast.Constant):
        tree.body = tree.body[1:] or [ast.Pass()]
    for argument in tree.args.args:
        argument.annotation = None
    tree.returns, tree.decorator_list = None, []
    return tree


def local_names(tree: ast.FunctionDef) -> set[str]:
    """Names a function gives values to itself."""
    stored = {
        node.id for node in ast.walk(tree) if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store)
    }
    return stored | {argument.arg for argument in tree.args.args}


def global_value(node: ast.expr, function: Function, local: set[str]) -> Any:
    """Return what a name or a dotted name outside a function stands for, or None.

    Raises
    ------
    NameError
        If it stands for nothing.
    """
    if isinstance(node, ast.Name) and node.id not in local:
        names = plain(function).__globals__
        if node.id in names:
            return names[node.id]
        builtins = names["__builtins__"]
        known = vars(builtins) if isinstance(builtins, ModuleType) else builtins
        if node.id not in known:
            raise NameError(f"{plain(function).__name__}: {node.id} stands for nothing")
        return known[node.id]
    if isinstance(node, ast.Attribute):
        whole = global_value(node.value, function, local)
        return None if whole is None else getattr(whole, node.attr)
    return None
