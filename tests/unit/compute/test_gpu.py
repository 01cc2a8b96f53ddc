"""A GPU found, used, missing, full, gone, or wrong: laps come all the same, and it is said who drove them."""

import hashlib
import sys
import threading

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.compute import gpu as gpu_file
from fourpatch.compute.gpu import CHOSEN, Gpu, GpuFault, LapDriver, compiled, find_gpu
from fourpatch.errors import Stopped
from fourpatch.events import many_laps
from fourpatch.events.lap_sums import lane_sums
from fourpatch.physics.layout import R

CARD = Gpu(number=0, name="a card", architecture=90, multiprocessors=1, memory=1)


@pytest.fixture(autouse=True)
def every_batch_pays(monkeypatch):
    monkeypatch.setattr(many_laps, "GPU_PAYS", 2)
    monkeypatch.setattr(many_laps, "_given_up", {})


@pytest.fixture(scope="module")
def task(task_of):
    return task_of(np.linspace(0.68, 0.7, 5), vary=True)


@pytest.fixture(scope="module")
def lanes(task):
    return lane_sums(task, single=True)


def fake(monkeypatch, drive, begin=lambda: None):
    """Let there be a card whose driver does as told."""

    class Driver:
        def __init__(self, gpu, task):
            begin()

        def drive(self, task, **_):
            return drive(task)

    monkeypatch.setattr(many_laps, "find_gpu", lambda: CARD)
    monkeypatch.setattr(many_laps, "LapDriver", Driver)


def fails(why, **more):
    def drive(task):
        raise GpuFault(why, **more)

    return drive


def test_none_is_a_choice(monkeypatch):
    monkeypatch.setenv(CHOSEN, "none")
    assert find_gpu() == "FOURPATCH_GPU is none"


def test_a_card_that_is_not_there_is_named(monkeypatch):
    monkeypatch.setenv(CHOSEN, "7")
    monkeypatch.setattr(gpu_file, "_cards", lambda: (CARD,))
    assert find_gpu() == "FOURPATCH_GPU is 7, but the cards here have the numbers 0 to 0"


def test_of_two_cards_the_larger_is_used(monkeypatch):
    larger = Gpu(number=1, name="larger", architecture=90, multiprocessors=2, memory=1)
    monkeypatch.delenv(CHOSEN, raising=False)
    monkeypatch.setattr(gpu_file, "_cards", lambda: (CARD, larger))
    assert find_gpu() == larger
    monkeypatch.setenv(CHOSEN, "0")
    assert find_gpu() == CARD


def test_missing_libraries_are_named_with_the_remedy(monkeypatch):
    monkeypatch.delenv(CHOSEN, raising=False)
    monkeypatch.setitem(sys.modules, "cuda.bindings", None)
    gpu_file._cards.cache_clear()
    assert find_gpu() == "its libraries are not installed: pip install 'fourpatch[gpu]'"


def test_without_a_card_the_processor_drives_and_says_why(monkeypatch, task, lanes):
    monkeypatch.setattr(many_laps, "find_gpu", lambda: "there is no NVIDIA card")
    found = many_laps.drive_many(task)
    assert (found.sums.gates == lanes.gates).all()
    assert found.where.endswith("in single precision. No GPU is used: there is no NVIDIA card.")


def test_a_card_that_fails_is_given_up_one_that_is_full_only_this_time(monkeypatch, task, lanes):
    fake(monkeypatch, fails("its memory is full", passing=True))
    assert "was given up: its memory is full" in many_laps.drive_many(task).where
    assert many_laps.usable_gpu() == CARD
    fake(monkeypatch, fails("the card was taken away"))
    found = many_laps.drive_many(task)
    assert (found.sums.lap == lanes.lap).all()
    assert "a card was given up: the card was taken away." in found.where
    assert many_laps.usable_gpu() == "the card was taken away"


def test_a_card_that_computes_wrongly_is_not_believed(monkeypatch, task, lanes):
    fake(monkeypatch, lambda task: lanes._replace(gates=lanes.gates * 1.01))
    found = many_laps.drive_many(task)
    assert (found.sums.gates == lanes.gates).all()
    assert "its lap times are not those of the processor" in found.where


def test_the_processor_begins_while_the_kernel_is_compiled(monkeypatch, task, lanes):
    begun, parts = threading.Event(), []

    def on_cores(part, **given):
        begun.set()
        return lane_sums(part, **given)

    def on_card(part):
        parts.append(part.cars)
        return lane_sums(part, single=True)

    fake(monkeypatch, on_card, begin=lambda: begun.wait(60.0))
    monkeypatch.setattr(many_laps, "_PATIENCE", 0.0)
    monkeypatch.setattr(many_laps, "_part", lambda threads: 2)
    monkeypatch.setattr(many_laps, "lane_sums", on_cores)
    found = many_laps.drive_many(task)
    assert (found.sums.gates == lanes.gates).all()
    assert sum(parts) < task.cars


def test_it_can_be_stopped(monkeypatch, task):
    monkeypatch.setattr(many_laps, "find_gpu", lambda: "there is no card")
    with pytest.raises(Stopped):
        many_laps.drive_many(task, cancelled=lambda: True)


def test_a_kernel_compiles_without_a_card_and_is_kept(monkeypatch, tmp_path, task):
    pytest.importorskip("cuda.bindings")
    pytest.importorskip("nvidia.cu13")
    monkeypatch.setattr(gpu_file, "cache_folder", lambda: tmp_path)
    made = LapDriver(CARD, task).code
    (kept,) = tmp_path.glob("*.cubin")
    assert made[:4] == b"\x7fELF"
    kept.write_bytes(hashlib.sha256(b"from the cache").digest() + b"from the cache")
    assert LapDriver(CARD, task).code == b"from the cache"
    kept.write_bytes(kept.read_bytes()[:-1])
    assert LapDriver(CARD, task).code == made, "a damaged file is made again"
    with pytest.raises(GpuFault, match=r"knows no card of generation 1\.0"):
        compiled("", 10)


@pytest.mark.skipif(isinstance(find_gpu(), str), reason="no GPU is found")
def test_on_a_card_double_precision_is_the_lanes(task):
    gpu = find_gpu()
    assert isinstance(gpu, Gpu)
    double = lane_sums(task, single=False)
    for folded in (True, False):
        found = LapDriver(gpu, task, precision="double", folded=folded).drive(task)
        # Rounding in another order; 6e-12 was measured over a lap of 4.4 km.
        assert_allclose(found.gates, double.gates, rtol=1e-9)
    found = many_laps.drive_many(task)
    assert gpu.name in found.where
    # As in test_single.
    assert_allclose(found.sums.gates[:, :, R.time], double.gates[:, :, R.time], atol=1e-3)
