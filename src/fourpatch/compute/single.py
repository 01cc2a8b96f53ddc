"""The physics in single precision, for lanes twice as wide: the same functions with every literal rounded.

Single precision lasts only as long as nothing wider comes near it: one literal, or one whole number beside a
number of single precision, and a compiler computes in double from there on. So the functions' syntax trees
are read from `physics`, what is a whole number is followed, each literal and each whole number that meets a
fractional one is wrapped, and the result is written as a module beside the compiled kernels.
"""

import ast
import hashlib
import importlib.util
import os
import sys
from functools import cache
from types import ModuleType
from typing import Any

import numpy as np

from fourpatch.compute.sources import (
    Function,
    global_value,
    in_single,
    is_physics,
    known_tree,
    local_names,
    plain,
    tree_of,
)
from fourpatch.physics import integrate
from fourpatch.physics._compile import cache_folder
from fourpatch.physics.lap import run_lap_lanes

SINGLE_LANES = 2 * integrate.LANES
"""Set-ups that run side by side: one vector of float32."""

_WHOLE = {"int", "bool", "np.uintp", "np.int64"}
_HEAD = '''"""Written by fourpatch from its physics: single precision. Not to be edited."""
import math

import numpy as np

from fourpatch.physics._compile import driver, inline, kernel
'''


def _name_of(function: Function) -> str:
    function = plain(function)
    return f"{function.__module__.rpartition('.')[2]}__{function.__name__}"


class _Narrow(ast.NodeTransformer):
    """Rewrites one function; `used` are the functions it calls, `classes` the tuples it makes."""

    def __init__(self, function: Function) -> None:
        self.function, self.used, self.classes = plain(function), list[Function](), set[type]()
        tree = tree_of(function)
        self.decorators = tree.decorator_list
        self.local = local_names(tree)
        self.whole = {a.arg for a in tree.args.args if a.annotation and ast.unparse(a.annotation) in _WHOLE}
        self.types = {
            a.arg: self.function.__annotations__[a.arg]
            for a in tree.args.args
            if isinstance(self.function.__annotations__[a.arg], type)
        }
        self.tree = self.visit(known_tree(function))

    def is_whole(self, node: ast.expr) -> bool:
        """Say whether an expression, already rewritten, is a whole number."""
        match node:
            case ast.Constant(value=value):
                return isinstance(value, int)
            case ast.Name(id=name):
                return name in self.whole
            case ast.BinOp(left=left, op=op, right=right):
                return not isinstance(op, ast.Div) and self.is_whole(left) and self.is_whole(right)
            case ast.UnaryOp(operand=operand):
                return self.is_whole(operand)
            case ast.Compare() | ast.BoolOp():
                return True
            case ast.IfExp(body=body, orelse=other):
                return self.is_whole(body) and self.is_whole(other)
            case ast.Subscript(value=ast.Attribute(attr="shape")):
                return True
            case ast.Attribute():
                return self._type_of(node) in (int, bool)
            case ast.Call():
                return self._whole_call(node)
        return False

    def _type_of(self, node: ast.expr) -> Any:
        """Return the declared type of an argument or of a field of one."""
        if isinstance(node, ast.Name):
            return self.types.get(node.id)
        if isinstance(node, ast.Attribute):
            return getattr(self._type_of(node.value), "__annotations__", {}).get(node.attr)
        return None

    def _whole_call(self, node: ast.Call) -> bool:
        name = ast.unparse(node.func)
        if name in ("min", "max", "abs"):
            return all(self.is_whole(one) for one in node.args)
        called = next((one for one in self.used if _name_of(one) == name), None)
        return name in _WHOLE or (called is not None and _returns(called) == [True])

    def _fractional(self, *nodes: ast.expr) -> list[ast.expr]:
        """Wrap the whole numbers among expressions of which at least one is fractional."""
        if all(self.is_whole(node) for node in nodes):
            return list(nodes)
        return [_single(node) if self.is_whole(node) else node for node in nodes]

    def visit_Name(self, node: ast.Name) -> ast.expr:
        return self._resolved(node)

    def visit_Attribute(self, node: ast.Attribute) -> ast.expr:
        found = self._resolved(node)
        return self.generic_visit(node) if found is node else found  # type: ignore[return-value]

    def _resolved(self, node: ast.expr) -> ast.expr:
        value = global_value(node, self.function, self.local)
        if isinstance(node, ast.Name) and node.id == "LANES":
            return ast.Constant(SINGLE_LANES)
        if isinstance(value, bool | int | float):
            return ast.Constant(value)
        if is_physics(value):
            value = in_single(value)
            self.used.append(value)
            return ast.Name(_name_of(value), ast.Load())
        if isinstance(value, type) and issubclass(value, tuple):
            self.classes.add(value)
        elif getattr(value, "__module__", None) == "math":
            return ast.Attribute(ast.Name("math", ast.Load()), value.__name__, ast.Load())
        return node

    def visit_BinOp(self, node: ast.BinOp) -> ast.expr:
        self.generic_visit(node)
        if isinstance(node.left, ast.Constant) and isinstance(node.right, ast.Constant):
            return ast.Constant(eval(ast.unparse(node)))
        if isinstance(node.op, ast.Div) and self.is_whole(node.left) and self.is_whole(node.right):
            node.left, node.right = _single(node.left), _single(node.right)
        else:
            node.left, node.right = self._fractional(node.left, node.right)
        return node

    def visit_Compare(self, node: ast.Compare) -> ast.expr:
        self.generic_visit(node)
        node.left, *node.comparators = self._fractional(node.left, *node.comparators)
        return node

    def visit_IfExp(self, node: ast.IfExp) -> ast.expr:
        self.generic_visit(node)
        node.body, node.orelse = self._fractional(node.body, node.orelse)
        return node

    def visit_Call(self, node: ast.Call) -> ast.expr:
        self.generic_visit(node)
        name = ast.unparse(node.func)
        if name in ("min", "max"):
            node.args = self._fractional(*node.args)
        elif name == "float":
            return _single(node.args[0])
        elif name == "np.zeros":
            node.args.append(ast.Name("single", ast.Load()))
        return node

    def visit_AugAssign(self, node: ast.AugAssign) -> ast.stmt:
        self.generic_visit(node)
        if not (isinstance(node.target, ast.Name) and node.target.id in self.whole):
            _, node.value = self._fractional(ast.Name("fractional", ast.Load()), node.value)
        return node

    def visit_Assign(self, node: ast.Assign) -> ast.stmt:
        self.generic_visit(node)
        for target in node.targets:
            if isinstance(target, ast.Name) and self.is_whole(node.value):
                self.whole.add(target.id)
            elif isinstance(target, ast.Tuple):
                self._unpacked(target, node.value)
        return node

    def _unpacked(self, target: ast.Tuple, value: ast.expr) -> None:
        called = [
            one
            for one in self.used
            if isinstance(value, ast.Call) and _name_of(one) == ast.unparse(value.func)
        ]
        if isinstance(value, ast.Tuple):
            whole = [self.is_whole(one) for one in value.elts]
        else:
            whole = _returns(called[0]) if called else [False] * len(target.elts)
        self.whole |= {ast.unparse(one) for one, is_so in zip(target.elts, whole, strict=True) if is_so}

    def visit_For(self, node: ast.For) -> ast.stmt:
        self.whole.add(ast.unparse(node.target))
        return self.generic_visit(node)  # type: ignore[return-value]


class _Wrap(ast.NodeTransformer):
    def visit_Constant(self, node: ast.Constant) -> ast.expr:
        return _single(node) if isinstance(node.value, float) else node


def _single(node: ast.expr) -> ast.expr:
    return ast.Call(ast.Name("single", ast.Load()), [node], [])


def _returns(function: Function) -> list[bool]:
    """Say of each number that a function returns whether it is whole."""
    told = tree_of(function).returns
    if isinstance(told, ast.Subscript) and isinstance(told.slice, ast.Tuple):
        return [ast.unparse(one) in _WHOLE for one in told.slice.elts]
    return [told is not None and ast.unparse(told) in _WHOLE]


def single_source(entry: Function) -> str:
    """Return a module's text in which ``entry`` and all it uses compute in single precision."""
    waiting, written, classes = [entry], dict[str, str](), set[type]()
    while waiting:
        name = _name_of(waiting[-1])
        narrow = _Narrow(waiting.pop())
        narrow.tree.name, narrow.tree.decorator_list = name, narrow.decorators
        written[name] = ast.unparse(ast.fix_missing_locations(_Wrap().visit(narrow.tree)))
        classes |= narrow.classes
        waiting += [one for one in narrow.used if _name_of(one) not in written]
    imports = sorted(f"from {one.__module__} import {one.__name__}" for one in classes)
    return "\n".join(
        [_HEAD, *imports, "\nsingle = np.float32", *(f"\n\n{text}" for text in written.values()), ""]
    )


@cache
def single_module(entry: Function) -> ModuleType:
    """Return the module of `single_source`, written beside the compiled kernels so that it too is kept."""
    text = single_source(entry)
    file = cache_folder() / f"single_{hashlib.sha256(text.encode()).hexdigest()[:16]}.py"
    if not file.exists():
        file.parent.mkdir(parents=True, exist_ok=True)
        part = file.with_suffix(f".{os.getpid()}")
        part.write_text(text, encoding="utf-8")
        part.replace(file)
    spec = importlib.util.spec_from_file_location(file.stem, file)
    assert spec is not None
    assert spec.loader is not None
    module = sys.modules[file.stem] = importlib.util.module_from_spec(
        spec
    )  # kernels from the cache ask for it
    spec.loader.exec_module(module)
    return module


def single_laps() -> Function:
    """Return `run_lap_lanes` in single precision."""
    found: Function = getattr(single_module(run_lap_lanes), _name_of(run_lap_lanes))
    return found


def narrowed(value: Any) -> Any:
    """Return arguments of a kernel in single precision: arrays, numbers and tuples of them.

    Whole numbers stay, and an array of single precision is no copy.
    """
    if isinstance(value, tuple):
        make = getattr(value, "_make", tuple)
        return make(map(narrowed, value))
    if isinstance(value, np.ndarray):
        return value.astype(np.float32, copy=False) if value.dtype.kind == "f" else value
    return np.float32(value) if isinstance(value, float) else value
