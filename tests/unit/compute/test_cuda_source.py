"""The kernel for the GPU, compiled for the processor by the C++ compiler at hand, against the lanes."""

import ctypes
import os
import shutil
import subprocess
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.compute.cuda_source import lap_kernel
from fourpatch.compute.gpu_task import GpuArrays, shape_of
from fourpatch.events.lap_sums import lane_sums
from fourpatch.physics.layout import A, R

COMPILER = next(filter(None, map(shutil.which, ("c++", "g++", "clang++"))), None)

pytestmark = pytest.mark.skipif(COMPILER is None or os.name == "nt", reason="no C++ compiler is installed")

AS_CPP = """#include <cmath>
#include <cstddef>
using std::copysign; using std::fabs; using std::floor; using std::fmax; using std::fmin; using std::sqrt;
#define __device__
#define __forceinline__ inline
#define __global__
#define __launch_bounds__(threads)
#define __shared__ static
#define __builtin_assume_aligned(pointer, bytes) (pointer)
struct Place { int x; };
static Place blockIdx, threadIdx, blockDim = {1};
extern "C" void at_car(int car) { blockIdx.x = car; }
"""


def _as_c(value, place):
    if isinstance(value, np.generic):
        return np.ctypeslib.as_ctypes_type(value.dtype)(value)
    return ctypes.c_void_p(value.ctypes.data)


def run_on_processor(task, folder, *, precision, folded):
    """Do what a card does: every launch, car after car."""
    shape = shape_of(task, precision=precision, folded=folded)
    kernel = lap_kernel(shape)
    name = f"{precision}-{folded}-{shape.rough}"
    (folder / f"{name}.cpp").write_text(AS_CPP + kernel.source, encoding="utf-8")
    library = folder / f"{name}.so"
    subprocess.run(
        [COMPILER, "-O1", "-shared", "-fPIC", "-o", str(library), str(folder / f"{name}.cpp")], check=True
    )
    laps, arrays = ctypes.CDLL(str(library)), GpuArrays(task, shape, kernel)
    shared = type(
        "Shared",
        (ctypes.Structure,),
        {"_fields_": [("at", _as_c(arrays.shared[0], 0).__class__ * arrays.shared.size)]},
    )
    steps = task.clock.steps + 1
    for first in range(0, steps, 4000):
        values = arrays.values(first, min(first + 4000, steps), arrays.arrays)
        given = [shared.from_buffer_copy(arrays.shared.tobytes()), *(_as_c(one, 0) for one in values)]
        for car in range(task.cars):
            laps.at_car(car)
            laps.drive_laps(*given)
    return arrays.sums()


@pytest.mark.parametrize(("folded", "rough"), [(True, True), (False, True), (True, False)])
def test_double_precision_is_the_lanes(task_of, tmp_path, folded, rough):
    task = task_of(np.linspace(0.66, 0.72, 4), vary=True, rough=rough)
    lanes = lane_sums(task, single=False)
    found = run_on_processor(task, tmp_path, precision="double", folded=folded)
    assert (found.ended == lanes.ended).all()
    # Rounding, in another order, of 60,000 stages: 4e-13 was measured.
    assert_allclose(found.gates, lanes.gates, rtol=1e-9)
    assert_allclose(found.lap, lanes.lap, rtol=1e-9, atol=1e-9)


def test_single_precision_is_near(task_of, tmp_path):
    task = task_of(np.linspace(0.66, 0.72, 4), vary=True)
    lanes = lane_sums(task, single=False)
    found = run_on_processor(task, tmp_path, precision="float", folded=True)
    # As in test_single.
    assert_allclose(found.gates[:, :, R.time], lanes.gates[:, :, R.time], atol=1e-3)
    assert_allclose(found.lap[:, A.tyre_work], lanes.lap[:, A.tyre_work], rtol=1e-3)


def test_two_cars_with_one_row_of_a_table_drive_as_with_their_own(task_of, tmp_path):
    task = task_of(np.array([0.7, 0.7]), vary=True)
    shared = replace(
        task,
        rows=np.zeros_like(task.rows),
        plan=task.plan._replace(pace=task.plan.pace[:1]),
        engines=task.engines._replace(torque=task.engines.torque[:1]),
    )
    own, one = (
        run_on_processor(given, tmp_path, precision="double", folded=True) for given in (task, shared)
    )
    assert (own.lap == one.lap).all()
