"""The syntax trees of physics functions, as the translators read them."""

import ast
import inspect
import textwrap
from collections.abc import Callable
from types import ModuleType
from typing import Any, TypeAlias

from fourpatch.physics import trig

Function: TypeAlias = Callable[..., Any]


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
    """Return a function's syntax tree."""
    tree = ast.parse(textwrap.dedent(inspect.getsource(plain(function)))).body[0]
    assert isinstance(tree, ast.FunctionDef)
    return tree


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
