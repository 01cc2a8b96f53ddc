"""Many laps, driven by what is quickest here: a GPU if there is one, else the processor's lanes."""

import os
import time
from concurrent.futures import Future, ThreadPoolExecutor, wait
from dataclasses import dataclass

import numpy as np

from fourpatch.compute.gpu import Gpu, GpuFault, LapDriver, find_gpu
from fourpatch.compute.lap_task import LapSums, LapTask
from fourpatch.events.lap_sums import lane_sums
from fourpatch.long_work import Cancelled, Progress, go_on, never, unwatched
from fourpatch.physics.integrate import LANES
from fourpatch.physics.layout import R

GPU_PAYS = 64
"""Laps from which a GPU is quicker: a batch takes it half a second, whatever its size."""

_PATIENCE = 5.0  # for a kernel to be compiled, before the processor begins [s]
_SAMPLES = 4  # laps of a GPU's that are driven again
_WRONG = 0.01  # difference of all their times from which a card counts as wrong [s]

_given_up: dict[Gpu, str] = {}


@dataclass(frozen=True, slots=True, kw_only=True)
class ManyLaps:
    """What came of laps, and who drove them."""

    sums: LapSums
    """In single precision: for screening."""
    device: str
    """A card's name, or how many cores."""
    why: str
    """Why it was no GPU: a sentence; empty if it was one, or too few laps for one."""

    @property
    def where(self) -> str:
        """Say it."""
        return said_where(self.sums.ended.size, self.device, self.why)


def said_where(laps: int, device: str, why: str) -> str:
    """Say who drove laps."""
    return f"{laps} laps were driven on {device}, in single precision.{why and ' '}{why}"


def usable_gpu() -> Gpu | str:
    """Return the GPU that laps are driven on, or why there is none."""
    found = find_gpu()
    return _given_up.get(found, found) if isinstance(found, Gpu) else found


def drive_many(
    task: LapTask,
    *,
    threads: int | None = None,
    stands_in: bool = True,
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> ManyLaps:
    """Drive laps in single precision, on a GPU if one is found and the laps are many enough.

    Parameters
    ----------
    task : from `lay_summed_laps`.
    threads : cores to use where it is the processor; all by default.
    stands_in : whether the processor does what a GPU that is given up was to do.
    progress, cancelled : as `long_work`.

    Raises
    ------
    Stopped
        If it is cancelled.
    GpuFault
        If a GPU is given up and the processor shall not stand in: for who then asks for less.

    Notes
    -----
    Whatever a GPU cannot do the processor does, and `where` says why. While a kernel is compiled for longer
    than some seconds, the processor begins. A few of a GPU's laps are driven again in double precision: a
    card that computes wrongly is not believed. What is shown in the end is to be confirmed likewise.
    """
    gpu = usable_gpu() if task.cars >= GPU_PAYS else ""
    if isinstance(gpu, Gpu):
        try:
            sums = _on_gpu(gpu, task, threads, progress, cancelled)
            return ManyLaps(sums=sums, device=gpu.name, why="")
        except GpuFault as fault:
            if not fault.passing:
                _given_up[gpu] = str(fault)
            if not stands_in:
                raise
            why = f"{gpu.name} was given up: {fault}."
    else:
        why = gpu and f"No GPU is used: {gpu}."
    return ManyLaps(sums=_on_cores(task, threads, progress, cancelled), device=_cores(threads), why=why)


def confirmed(task: LapTask, cars: np.ndarray, *, threads: int | None = None) -> LapSums:
    """Drive some of a task's laps again in double precision, on the processor.

    Parameters
    ----------
    cars : which.
    """
    return lane_sums(task.chosen(cars), single=False, threads=threads)


def _cores(threads: int | None) -> str:
    cores = threads or os.cpu_count() or 1
    return f"{cores} core{'s' if cores > 1 else ''}"


def _on_cores(task: LapTask, threads: int | None, progress: Progress, cancelled: Cancelled) -> LapSums:
    """Drive laps in parts small enough to be told of and stopped between."""
    size, parts = _part(threads), list[LapSums]()
    for first in range(0, task.cars, size):
        progress(first / task.cars, f"{first} of {task.cars} laps")
        go_on(cancelled, f"{first} of {task.cars} laps were driven")
        parts.append(lane_sums(task.part(slice(first, first + size)), single=True, threads=threads))
    return joined(parts)


def _part(threads: int | None) -> int:
    return 2 * LANES * (threads or os.cpu_count() or 1)


def _on_gpu(
    gpu: Gpu, task: LapTask, threads: int | None, progress: Progress, cancelled: Cancelled
) -> LapSums:
    with ThreadPoolExecutor(1) as pool:
        driver = pool.submit(LapDriver, gpu, task)
        before = _meanwhile(driver, task, threads, progress, cancelled)
        begun = sum(one.ended.size for one in before)
        if begun == task.cars:
            return joined(before)
        rest, ready = task.part(slice(begun, task.cars)), driver.result()
        samples = np.unique(np.linspace(0, rest.cars - 1, _SAMPLES).astype(int))
        sure = pool.submit(confirmed, rest, samples)  # by cores that are idle meanwhile
        sums = ready.drive(rest, progress=progress, cancelled=cancelled)
        _check(rest, sure.result(), LapSums(*(one[samples] for one in sums)))
    return joined([*before, sums])


def _meanwhile(
    driver: "Future[LapDriver]", task: LapTask, threads: int | None, progress: Progress, cancelled: Cancelled
) -> list[LapSums]:
    """Wait for a kernel; if it takes long, let the processor drive the first laps."""
    patience = time.monotonic() + _PATIENCE
    while not driver.done() and time.monotonic() < patience:
        progress(0.0, "the GPU's kernel is compiled")
        go_on(cancelled, "no lap was driven yet")
        wait([driver], timeout=0.02)
    size, parts = _part(threads), list[LapSums]()
    while not driver.done() and len(parts) * size < task.cars:
        go_on(cancelled, f"{len(parts) * size} of {task.cars} laps were driven")
        parts.append(
            lane_sums(
                task.part(slice(len(parts) * size, (len(parts) + 1) * size)), single=True, threads=threads
            )
        )
    return parts


def _check(task: LapTask, sure: LapSums, said: LapSums) -> None:
    """Raise if what a GPU says of some laps is not what the processor says.

    Notes
    -----
    One that is lost goes its own way in any precision, and of laps at the limit most may be: times count as
    far as the first third of the gates, and one lap that agrees is enough. A wrong card has none.
    """
    early = slice(0, task.marks.gates.size // 3 + 1)
    again, known = sure.gates[:, early, R.time], said.gates[:, early, R.time]
    apart = np.where(np.isnan(again) & np.isnan(known), 0.0, np.abs(again - known))
    if np.nan_to_num(apart, nan=np.inf).max(axis=1).min() > _WRONG:
        raise GpuFault("its lap times are not those of the processor")


def joined(parts: list[LapSums]) -> LapSums:
    """Return the sums of parts in their order."""
    if len(parts) == 1:
        return parts[0]
    return LapSums(*(np.concatenate(one) for one in zip(*parts, strict=True)))
