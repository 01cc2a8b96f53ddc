"""The lanes of single precision: nothing wider in them, and the same order of set-ups."""

import ast

import numba
import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.compute.single import narrowed, single_module, single_source
from fourpatch.events.lap_sums import lane_sums
from fourpatch.physics.lap import run_lap_lanes
from fourpatch.physics.layout import A, R


def _bare_numbers(tree: ast.AST) -> list[float]:
    calls = [
        node for node in ast.walk(tree) if isinstance(node, ast.Call) and ast.unparse(node.func) == "single"
    ]
    wrapped = {id(inside) for call in calls for inside in ast.walk(call.args[0])}
    numbers = [
        node for node in ast.walk(tree) if isinstance(node, ast.Constant) and isinstance(node.value, float)
    ]
    return [node.value for node in numbers if id(node) not in wrapped]


def test_every_literal_is_wrapped():
    assert _bare_numbers(ast.parse(single_source(run_lap_lanes))) == []


def test_rank_of_set_ups_is_that_of_double_precision(task_of):
    task = task_of(np.linspace(0.7, 0.76, 48), vary=True)
    double, single = (lane_sums(task, single=narrow) for narrow in (False, True))
    times = [one.gates[:, -1, R.time] - one.gates[:, 0, R.time] for one in (double, single)]
    assert np.isfinite(times[0]).all()
    ranks = [np.argsort(np.argsort(one)) for one in times]
    # What the design asks for.
    assert np.corrcoef(*ranks)[0, 1] > 0.9999
    # Rounding of 1e-7 in each of 30,000 steps, partly alike: measured 0.1 ms.
    assert_allclose(times[1], times[0], atol=1e-3)
    assert_allclose(single.lap[:, A.tyre_work], double.lap[:, A.tyre_work], rtol=1e-3)


@pytest.mark.skipif(numba.config.DISABLE_JIT, reason="looks at what the compiler infers")
def test_no_number_is_wider_than_single(task_of):
    """One literal left bare, and all that follows from it would be."""
    module = single_module(run_lap_lanes)
    _, _, plan, engines, road, _, record = (
        numba.typeof(one) for one in narrowed(task_of(np.full(3, 0.7)).kernel_arguments())
    )
    S, whole, single = numba.float32[::1], numba.intp, numba.float32
    module.full_car__drive_motion.compile((S, whole, whole))
    module.full_car__rolling_tyre.compile((S, whole, whole))
    module.full_car__drive_balance.compile((S, whole, whole))
    module.integrate__road_input.compile((S, whole, whole, whole, road))
    module.driver__lay_way.compile((S, whole, whole, plan))
    module.driver__act.compile((S, whole, whole, whole, single, plan, engines))
    marks = record.types[record.fields.index("marks")]
    gates = numba.float32[:, ::1]
    module.lap_tally__note.compile((S, whole, whole, single, single, plan, marks, gates))
    kernels = [one for one in vars(module).values() if hasattr(one, "overloads")]
    inferred = {
        (one.__name__, name, kind)
        for one in kernels
        for compiled in one.overloads.values()
        for name, kind in getattr(compiled.type_annotation, "typemap", {}).items()
    }
    assert len({name for name, _, _ in inferred}) > 50
    # A literal is wide until it is wrapped, in the next instruction.
    wide = {(name, at) for name, at, kind in inferred if kind == numba.float64 and "const" not in at}
    assert wide == set()
