"""Following functions of the physics with symbols."""

import math

import numpy as np
import pytest

from fourpatch.compute.single import single_source
from fourpatch.compute.trace import Follower, Symbol, Trace, Workspace, written
from fourpatch.physics import aero, integrate, lap_tally, suspension, trig
from fourpatch.physics.layout import STATE_BASE, C, Q, X


@pytest.fixture
def trace():
    return Trace()


def _value(trace: Trace, result, **known: float) -> float:
    """Compute what the assignments say, as Python: they are spelt so that both languages take them."""
    block = written(trace, {"result": result}, [], {}.get)
    lines = [line.removeprefix("const F ").removeprefix("const bool ").rstrip(";") for line in block.lines]
    names = {"F": float, "least": min, "most": max, "fabs": abs, **known}
    for line in lines:
        name, _, value = line.partition(" = ")
        if "?" in value:
            test, _, rest = value.partition(" ? ")
            value = f"({rest.partition(' : ')[0]}) if ({test}) else ({rest.partition(' : ')[2]})"
        names[name] = eval(value.replace("&&", "and"), {}, names)
    return names["result"]


@pytest.mark.parametrize("x", [0.0, 0.3, 1.0, 4.0, 1e3])
def test_a_followed_function_computes_what_it_computes(trace, x):
    follow = Follower(trace, single=False)
    result = follow(trig.arctangent_positive, trace.make("F", "x"))
    # The same operations in the same order, but for a constant moved through a product.
    assert _value(trace, result, x=x) == pytest.approx(trig.arctangent_positive(x), rel=1e-15)


def test_single_precision_takes_the_shorter_polynomial(trace):
    result = Follower(trace, single=True)(trig.arctangent_positive, trace.make("F", "x"))
    assert _value(trace, result, x=0.4) == pytest.approx(trig.arctangent_unit_single(0.4), rel=1e-15)


def test_what_is_zero_is_computed_away(trace):
    workspace = Workspace(trace, {slot: 0.0 for slot in range(60)} | {C.tyre_rate: 0.0})
    follow, height = Follower(trace, single=False), trace.make("F", "height")
    assert follow(aero.aero_forces, workspace, 0, 1, 50.0, height, height) == (0.0, 0.0, 0.0)


def test_known_numbers_stay_numbers(trace):
    follow, workspace = Follower(trace, single=False), Workspace(trace, {0: 2.0, 1: 3.0, 2: 4.0})
    assert follow(suspension.curve, workspace, 0, 0, 1, 0.5) == 2.0 + 0.5 * (3.0 + 0.5 * 4.0)


def test_a_choice_between_statements_must_be_known(trace):
    def choose(x: float) -> float:
        if x > 0.0:
            x = 1.0
        return x

    line = choose.__code__.co_firstlineno + 1
    with pytest.raises(TypeError, match=rf"test_trace\.py, line {line}, choose: .* unknown while followed"):
        Follower(trace, single=False)(choose, trace.make("F", "x"))


def test_what_no_translator_knows_is_refused_by_line_and_name(trace):
    def powers(x: float) -> float:
        y = x
        return y**2.0

    def logarithm(x: float) -> float:
        return math.log(x)

    def listed(x: float) -> float:
        return x + [x][0]

    for function, line, word in ((powers, 2, "Pow"), (logarithm, 1, "math.log"), (listed, 1, "List")):
        line += function.__code__.co_firstlineno
        words = rf"test_trace\.py, line {line}, {function.__name__}: .*{word} is nothing"
        for translate in (lambda one: Follower(trace, single=False)(one, 1.0), single_source):
            with pytest.raises(TypeError, match=words):
                translate(function)


def test_a_table_is_held_at_its_last_row_in_any_precision(trace):
    """The whole number is held: just below the last row, single precision is the last row itself."""
    assert integrate.place_in_table(7.0, 7) == (6, 1.0)
    row, _ = Follower(trace, single=True)(integrate.place_in_table, trace.make("F", "x"), 7)
    assert isinstance(row, Symbol)
    assert row.form == "least({}, {})"
    assert row.parts[1] == 6


def test_a_distance_in_single_precision_carries_its_rounding_on(trace):
    """30,000 steps of 3 cm from 4 km on: each alone is rounded to a quarter of a millimetre."""
    single, slot = np.float32, STATE_BASE + X.distance
    workspace = Workspace(trace, {slot: single(4000.0), Q.carry: single(0.0)})
    follow, advance, naive = Follower(trace, single=True), single(0.03), single(4000.0)
    for _ in range(30_000):
        follow(lap_tally.carry_rounding, workspace, 0, 1, workspace[slot], advance)
        naive = naive + advance
    exact = 4000.0 + 30_000 * float(advance)
    # Half a step of single precision between 4 and 8 km.
    assert abs(float(workspace[slot]) - exact) <= 2.5e-4
    assert abs(float(naive) - exact) > 0.1
