"""The physics followed once with symbols for numbers: what it computes, as plain arithmetic.

A function of `physics` is read as a syntax tree, its choices (`a if c else b`, `min`, `if`) are made to take
symbols, and it is run as the Python it is. Loops over corners unroll, slots of the workspace become names,
what is known (a parameter that all cars share, one that is zero) is computed away, and what nobody asks for
is dropped. What remains is a list of assignments that any compiler of C takes.
"""

import ast
import math
import sys
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import reduce
from pathlib import Path
from types import FrameType, SimpleNamespace
from typing import Any, TypeAlias

import numpy as np

from fourpatch.compute.sources import Function, in_single, is_physics, known_tree, plain

FRACTION, WHOLE, TRUTH = "F", "int", "bool"
"""Types in C; F is the kernel's own precision."""


@dataclass(frozen=True, eq=False, slots=True)
class Symbol:
    """A number that is not known until the kernel runs: a form in C over other numbers."""

    trace: "Trace"
    kind: str
    form: str
    parts: "tuple[Number, ...]" = ()

    def __add__(self, other: "Number") -> "Number":
        return _sum(self, other)

    def __radd__(self, other: "Number") -> "Number":
        return _sum(other, self)

    def __sub__(self, other: "Number") -> "Number":
        return _difference(self, other)

    def __rsub__(self, other: "Number") -> "Number":
        return _difference(other, self)

    def __mul__(self, other: "Number") -> "Number":
        return _product(self, other)

    def __rmul__(self, other: "Number") -> "Number":
        return _product(other, self)

    def __truediv__(self, other: "Number") -> "Number":
        return _quotient(self, other)

    def __rtruediv__(self, other: "Number") -> "Number":
        return _quotient(other, self)

    def __neg__(self) -> "Number":
        return _negative(self)

    def __lt__(self, other: "Number") -> "Symbol":
        return _made(TRUTH, "{} < {}", self, other)

    def __gt__(self, other: "Number") -> "Symbol":
        return _made(TRUTH, "{} > {}", self, other)

    def __le__(self, other: "Number") -> "Symbol":
        return _made(TRUTH, "{} <= {}", self, other)

    def __ge__(self, other: "Number") -> "Symbol":
        return _made(TRUTH, "{} >= {}", self, other)

    def __and__(self, other: "Symbol") -> "Symbol":
        return _made(TRUTH, "{} && {}", self, other)

    def __bool__(self) -> bool:
        raise _unknown(f"{self.form} is not known while the physics is followed")


Number: TypeAlias = Symbol | float | int


def _unknown(why: str) -> TypeError:
    """Return the refusal of what the function that is followed just now asks for, by file, line and name."""
    frame: FrameType | None = sys._getframe(1)
    while frame is not None and frame.f_code.co_filename == __file__:
        frame = frame.f_back
    if frame is None:
        return TypeError(why)
    code = frame.f_code
    return TypeError(f"{Path(code.co_filename).name}, line {frame.f_lineno}, {code.co_name}: {why}")


class Trace:
    """Symbols in the order in which they were made, each once."""

    def __init__(self) -> None:
        self.symbols: list[Symbol] = []
        self.conditions: list[Symbol] = []
        self._known: dict[tuple[Any, ...], Symbol] = {}

    def make(self, kind: str, form: str, *parts: Number) -> Symbol:
        """Return the symbol of a form over parts."""
        key = (kind, form, *(id(one) if isinstance(one, Symbol) else (type(one), one) for one in parts))
        if key not in self._known:
            self._known[key] = Symbol(self, kind, form, parts)
            self.symbols.append(self._known[key])
        return self._known[key]


def _made(kind: str, form: str, *parts: Number) -> Symbol:
    trace = next(one.trace for one in parts if isinstance(one, Symbol))
    kinds = {FRACTION if isinstance(one, float) else getattr(one, "kind", WHOLE) for one in parts}
    if FRACTION in kinds:
        parts = tuple(_fraction(one) if getattr(one, "kind", WHOLE) == WHOLE else one for one in parts)
    return trace.make(kind, form, *parts)


def _kind(*parts: Number) -> str:
    whole = all(isinstance(one, int) or getattr(one, "kind", "") == WHOLE for one in parts)
    return WHOLE if whole else FRACTION


def _fraction(number: Number) -> Number:
    if isinstance(number, Symbol):
        return number.trace.make(FRACTION, "F({})", number) if number.kind == WHOLE else number
    return float(number)


def _is(number: Number, value: float) -> bool:
    return not isinstance(number, Symbol) and number == value


def _sum(a: Number, b: Number) -> Number:
    if _is(a, 0.0):
        return b
    return a if _is(b, 0.0) else _made(_kind(a, b), "{} + {}", a, b)


def _difference(a: Number, b: Number) -> Number:
    if _is(b, 0.0):
        return a
    if a is b:
        return 0.0
    return _negative(b) if _is(a, 0.0) else _made(_kind(a, b), "{} - {}", a, b)


def _negative(a: Number) -> Number:
    if not isinstance(a, Symbol):
        return -a
    return a.parts[0] if a.form == "-{}" else _made(a.kind, "-{}", a)


def _product(a: Number, b: Number) -> Number:
    if _is(a, 0.0) or _is(b, 0.0):
        return 0.0
    if _is(a, 1.0) or _is(b, 1.0):
        return b if _is(a, 1.0) else a
    if _is(a, -1.0) or _is(b, -1.0):
        return _negative(b if _is(a, -1.0) else a)
    if not isinstance(b, Symbol):
        a, b = b, a
    if not isinstance(a, Symbol) and isinstance(b, Symbol) and b.form == "{} * {}":
        inner, rest = b.parts
        if not isinstance(inner, Symbol):
            return _product(a * inner, rest)
    return _made(_kind(a, b), "{} * {}", a, b)


def _quotient(a: Number, b: Number) -> Number:
    if _is(a, 0.0):
        return 0.0
    if not isinstance(b, Symbol):
        return a if b == 1.0 else _product(_fraction(a), 1.0 / b)
    return _made(FRACTION, "{} / {}", _fraction(a), _fraction(b))


def select(condition: Any, if_true: Number, if_false: Number) -> Number:
    """Return one of two numbers."""
    if not isinstance(condition, Symbol):
        return if_true if condition else if_false
    if if_true is if_false or (not isinstance(if_true, Symbol) and _is(if_false, if_true)):
        return if_true
    kind = _kind(if_true, if_false)
    if kind == FRACTION:
        if_true, if_false = _fraction(if_true), _fraction(if_false)
    return condition.trace.make(kind, "{} ? {} : {}", condition, if_true, if_false)


def _pairwise(form: str, known: Function) -> Function:
    def pair(a: Number, b: Number) -> Number:
        if not isinstance(a, Symbol) and not isinstance(b, Symbol):
            return known(a, b)  # type: ignore[no-any-return]
        return a if a is b else _made(_kind(a, b), form, a, b)

    return lambda *numbers: reduce(pair, numbers)


def _of_one(kind: str, form: str, known: Function) -> Function:
    def apply(a: Number) -> Number:
        if not isinstance(a, Symbol):
            return known(a)  # type: ignore[no-any-return]
        return (
            a
            if a.kind == kind == WHOLE
            else a.trace.make(kind, form, _fraction(a) if kind == FRACTION else a)
        )

    return apply


_STANDS_FOR: dict[Any, Function] = {
    min: _pairwise("least({}, {})", min),
    max: _pairwise("most({}, {})", max),
    abs: _of_one(FRACTION, "fabs({})", abs),
    float: _fraction,
    math.sqrt: _of_one(FRACTION, "sqrt({})", math.sqrt),
    math.copysign: _pairwise("copysign({}, {})", math.copysign),
    np.floor: _of_one(FRACTION, "floor({})", math.floor),
    np.uintp: _of_one(WHOLE, "row({})", int),
    np.int64: _of_one(WHOLE, "int({})", int),
}


class Table:
    """An array the kernel reads or fills, row after row, or a part of one."""

    def __init__(self, trace: Trace, name: str, *shape: Number, begin: Number = 0) -> None:
        self.trace, self.name, self.shape, self.begin = trace, name, shape, begin
        self.stores: list[tuple[Number, Number, tuple[Symbol, ...]]] = []

    def _place(self, index: Any) -> "tuple[Number, tuple[Number, ...]]":
        indices = index if isinstance(index, tuple) else (index,)
        place, rest = self.begin, self.shape
        for one in indices:
            rest = rest[1:]
            place = place + reduce(lambda a, b: a * b, rest, one)
        return place, rest

    def __getitem__(self, index: Any) -> Any:
        place, rest = self._place(index)
        if rest:
            return Table(self.trace, self.name, *rest, begin=place)
        return self.trace.make(FRACTION, self.name + "[{}]", place)

    def __setitem__(self, index: Any, value: Number) -> None:
        self.stores.append((self._place(index)[0], value, tuple(self.trace.conditions)))


class Workspace:
    """One car's slots: what is written to them, or a symbol for what stood there before."""

    def __init__(self, trace: Trace, known: Mapping[int, Number]) -> None:
        self.trace, self.known, self.written = trace, dict(known), dict[int, Number]()
        self.read: set[int] = set()

    def __getitem__(self, slot: int) -> Number:
        if slot in self.written:
            return self.written[slot]
        if slot in self.known:
            return self.known[slot]
        self.read.add(slot)
        return self.trace.make(FRACTION, f"s{slot}")

    def __setitem__(self, slot: int, value: Number) -> None:
        for condition in self.trace.conditions:
            value = select(condition, value, self[slot])
        self.written[slot] = value


class _Choices(ast.NodeTransformer):
    """Makes choices take symbols: both sides of an expression, stores of a statement under a condition."""

    def visit_IfExp(self, node: ast.IfExp) -> ast.expr:
        self.generic_visit(node)
        choice = ast.Call(ast.Name("_select", ast.Load()), [node.test, node.body, node.orelse], [])
        return ast.copy_location(choice, node)

    def visit_If(self, node: ast.If) -> list[ast.stmt]:
        self.generic_visit(node)
        only_stores = not node.orelse and all(
            isinstance(one, ast.Assign) and isinstance(one.targets[0], ast.Subscript) for one in node.body
        )
        begin = ast.Call(ast.Name("_begin", ast.Load()), [node.test, ast.Constant(only_stores)], [])
        end = ast.Expr(ast.Call(ast.Name("_end", ast.Load()), [], []))
        return [ast.copy_location(ast.If(begin, [*node.body, end], node.orelse), node)]


class Follower:
    """Runs functions of the physics on the symbols of one trace."""

    def __init__(self, trace: Trace, *, single: bool) -> None:
        self.trace, self.single, self._twins = trace, single, dict[Function, Function]()
        self._entered: list[bool] = []

    def __call__(self, function: Function, *arguments: Any) -> Any:
        """Follow a function."""
        return self._twin(plain(function))(*arguments)

    def _begin(self, condition: Any, only_stores: bool) -> bool:
        symbolic = isinstance(condition, Symbol)
        if symbolic and not only_stores:
            raise _unknown(f"a choice between statements hangs on {condition.form}, unknown while followed")
        if symbolic:
            self.trace.conditions.append(condition)
        if symbolic or condition:
            self._entered.append(symbolic)
        return bool(symbolic or condition)

    def _end(self) -> None:
        if self._entered.pop():
            self.trace.conditions.pop()

    def _twin(self, function: Function) -> Function:
        if function not in self._twins:
            tree = _Choices().visit(known_tree(function))
            module = ast.fix_missing_locations(ast.Module([tree], []))
            names = self._names_of(function)
            exec(compile(module, function.__code__.co_filename, "exec"), names)
            self._twins[function] = names[function.__name__]
        return self._twins[function]

    def _names_of(self, function: Function) -> dict[str, Any]:
        """Return the names a followed function sees: its own, what takes symbols in the place of others."""
        names = {one.__name__: _STANDS_FOR[one] for one in (min, max, abs, float)}
        names |= {name: self._stand_in(value) for name, value in function.__globals__.items()}
        return names | {
            "np": _known_of(np),
            "math": _known_of(math),
            "_select": select,
            "_begin": self._begin,
            "_end": self._end,
        }

    def _stand_in(self, value: Any) -> Any:
        if is_physics(value):
            value = in_single(value) if self.single else value
            return lambda *given, **named: self._twin(plain(value))(*given, **named)
        try:
            return _STANDS_FOR.get(value, value)
        except TypeError:  # not hashable, so none of them
            return value


def _known_of(module: Any) -> SimpleNamespace:
    """Return what takes symbols in the place of a module, and its constants."""
    names: dict[str, Any] = {name: one for name, one in vars(module).items() if isinstance(one, float)}
    for name, value in vars(module).items():
        if callable(value) and value in _STANDS_FOR:
            names[name] = _STANDS_FOR[value]
    return SimpleNamespace(**names)


@dataclass
class Block:
    """Assignments that compute some numbers, and what they read."""

    lines: list[str] = field(default_factory=list)
    operations: int = 0


def written(
    trace: Trace, results: Mapping[str, Number], tables: Iterable[Table], kept: Callable[[Symbol], str | None]
) -> Block:
    """Write the assignments in C that fill ``results`` and tables; nothing that serves neither.

    Parameters
    ----------
    kept : name under which a symbol stands outside the block already, if it does.
    """
    block = Block()
    stores = [(table, *store) for table in tables for store in table.stores]
    wanted = [*results.values(), *(one for _, place, value, when in stores for one in (place, value, *when))]
    needed, waiting = set[Symbol](), [one for one in wanted if isinstance(one, Symbol)]
    while waiting:
        symbol = waiting.pop()
        if symbol not in needed:
            needed.add(symbol)
            if kept(symbol) is None:
                waiting += [one for one in symbol.parts if isinstance(one, Symbol)]
    names: dict[Symbol, str] = {}

    def said(number: Number) -> str:
        if isinstance(number, Symbol):
            return names[number]
        return f"F({number!r})" if isinstance(number, float) else repr(int(number))

    for symbol in trace.symbols:
        if symbol not in needed:
            continue
        known = kept(symbol)
        names[symbol] = known or f"t{len(names)}"
        if not known:
            text = symbol.form.format(*map(said, symbol.parts))
            block.lines.append(f"const {symbol.kind} {names[symbol]} = {text};")
            block.operations += bool(symbol.parts)
    for table, place, value, when in stores:
        guard = f"if ({' && '.join(map(said, when))}) " if when else ""
        block.lines.append(f"{guard}{table.name}[{said(place)}] = {said(value)};")
    block.lines += [f"{name} = {said(_fraction(value))};" for name, value in results.items()]
    return block
