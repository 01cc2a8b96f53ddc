"""A GPU, found and used through its maker's driver: NVIDIA's, by the optional libraries of `fourpatch[gpu]`.

Only this file knows those libraries; without them, or without a card, `find_gpu` says why in a sentence.
"""

import hashlib
import os
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from importlib.metadata import version
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fourpatch.compute.cuda_source import BLOCK, LapKernel, lap_kernel
from fourpatch.compute.gpu_task import GpuArrays, shape_of
from fourpatch.compute.lap_task import LapSums, LapTask
from fourpatch.long_work import Cancelled, Progress, go_on, never, unwatched
from fourpatch.physics._compile import cache_folder

CHOSEN = "FOURPATCH_GPU"
"""Environment variable: number of the card to use, or `none`."""

_LAUNCH = 0.2  # time a launch shall take: a card that also draws the screen answers it in between [s]
_HUNG = 60.0  # time after which a launch is given up [s]
_SPARE = 0.8  # share of the free memory that is used
_FIRST_STEPS = 200


class GpuFault(Exception):
    """Why a GPU does not do what it is asked: the rest of a sentence."""

    def __init__(self, why: str, *, passing: bool = False) -> None:
        super().__init__(why)
        self.passing = passing
        """Whether it may do so another time."""


@dataclass(frozen=True)
class Gpu:
    """A card that is there and answers."""

    number: int
    name: str
    architecture: int
    """Ten times its generation: 90 for 9.0."""
    multiprocessors: int
    memory: int
    """[B]"""


def find_gpu() -> Gpu | str:
    """Return the card to use, or why there is none.

    Notes
    -----
    Of several cards the one with most multiprocessors, unless `CHOSEN` names another by its number.
    """
    wish = os.environ.get(CHOSEN, "").strip().lower()
    if wish == "none":
        return f"{CHOSEN} is none"
    try:
        cards = _cards()
    except GpuFault as fault:
        return str(fault)
    if wish and not (wish.isdigit() and int(wish) < len(cards)):
        return f"{CHOSEN} is {wish}, but the cards here have the numbers 0 to {len(cards) - 1}"
    return cards[int(wish)] if wish else max(cards, key=lambda card: card.multiprocessors)


@cache
def _cards() -> tuple[Gpu, ...]:
    cuda = _driver()
    _ask(cuda.cuInit(0))
    count = _ask(cuda.cuDeviceGetCount())
    if not count:
        raise GpuFault("the driver knows no card")
    return tuple(_card(cuda, number) for number in range(count))


def _card(cuda: Any, number: int) -> Gpu:
    card, wanted = _ask(cuda.cuDeviceGet(number)), cuda.CUdevice_attribute
    major, minor, multiprocessors = (
        _ask(cuda.cuDeviceGetAttribute(one, card))
        for one in (
            wanted.CU_DEVICE_ATTRIBUTE_COMPUTE_CAPABILITY_MAJOR,
            wanted.CU_DEVICE_ATTRIBUTE_COMPUTE_CAPABILITY_MINOR,
            wanted.CU_DEVICE_ATTRIBUTE_MULTIPROCESSOR_COUNT,
        )
    )
    return Gpu(
        number=number,
        name=_ask(cuda.cuDeviceGetName(96, card)).split(b"\0")[0].decode(),
        architecture=10 * major + minor,
        multiprocessors=multiprocessors,
        memory=_ask(cuda.cuDeviceTotalMem(card)),
    )


def _driver() -> Any:
    try:
        from cuda.bindings import driver
    except ImportError:
        raise GpuFault("its libraries are not installed: pip install 'fourpatch[gpu]'") from None
    try:
        driver.cuDriverGetVersion()
    except (RuntimeError, OSError):
        raise GpuFault("no NVIDIA driver is installed here") from None
    return driver


def _ask(answer: tuple[Any, ...]) -> Any:
    """Return what a call of the driver gave, or raise what it says is wrong."""
    code, *rest = answer
    if int(code):
        raise GpuFault(_WORDS.get(code.name, f"its driver says {code.name}"), passing=code.name in _PASSING)
    return rest[0] if len(rest) == 1 else rest or None


_WORDS = {
    "CUDA_ERROR_NO_DEVICE": "there is no NVIDIA card",
    "CUDA_ERROR_OUT_OF_MEMORY": "its memory is full: another program uses it",
    "CUDA_ERROR_DEVICE_UNAVAILABLE": "another program has the card to itself",
    "CUDA_ERROR_SYSTEM_DRIVER_MISMATCH": "its driver was updated: start the machine again",
    "CUDA_ERROR_SYSTEM_NOT_READY": "its driver is not ready yet",
    "CUDA_ERROR_INSUFFICIENT_DRIVER": "its driver is older than the libraries: update the driver",
    "CUDA_ERROR_NO_BINARY_FOR_GPU": "its driver is older than the libraries: update the driver",
    "CUDA_ERROR_UNSUPPORTED_PTX_VERSION": "its driver is older than the libraries: update the driver",
    "CUDA_ERROR_DEVICE_LOST": "the card was taken away",
    "CUDA_ERROR_LAUNCH_TIMEOUT": "the screen's watchdog broke its work off",
}

_PASSING = {"CUDA_ERROR_OUT_OF_MEMORY", "CUDA_ERROR_DEVICE_UNAVAILABLE"}


def compiled(source: str, architecture: int) -> bytes:
    """Return machine code of a kernel for a card, from the cache or made now; no card need be there.

    Raises
    ------
    GpuFault
        If the compiler is not installed or does not know the card.
    """
    try:
        from cuda.bindings import nvrtc

        digest = hashlib.sha256(f"{version('cuda-bindings')} {architecture} {source}".encode()).hexdigest()
        file = cache_folder() / f"gpu_{digest[:24]}.cubin"
        if file.exists() and (whole := _checked(file.read_bytes())):
            return whole
        known = _ask(nvrtc.nvrtcGetSupportedArchs())
    except (ImportError, RuntimeError, OSError):
        raise GpuFault("its compiler is not installed: pip install 'fourpatch[gpu]'") from None
    if architecture not in known:
        raise GpuFault(f"its compiler knows no card of generation {architecture / 10:.1f}")
    made = _compile(nvrtc, source, architecture)
    file.parent.mkdir(parents=True, exist_ok=True)
    part = file.with_suffix(f".{os.getpid()}")
    part.write_bytes(hashlib.sha256(made).digest() + made)
    part.replace(file)
    return made


def _checked(kept: bytes) -> bytes:
    """Return the machine code of a kept file, or nothing if the file is damaged."""
    digest, code = kept[:32], kept[32:]
    return code if hashlib.sha256(code).digest() == digest else b""


def _compile(nvrtc: Any, source: str, architecture: int) -> bytes:
    program = _ask(nvrtc.nvrtcCreateProgram(source.encode(), b"laps.cu", 0, [], []))
    options = [f"--gpu-architecture=sm_{architecture}".encode(), b"--use_fast_math"]
    (code,) = nvrtc.nvrtcCompileProgram(program, len(options), options)
    if int(code):
        log = bytes(_ask(nvrtc.nvrtcGetProgramLogSize(program)))
        _ask(nvrtc.nvrtcGetProgramLog(program, log))
        raise GpuFault(f"its compiler refuses the kernel: {log.decode(errors='replace').strip()[:400]}")
    made = bytes(_ask(nvrtc.nvrtcGetCUBINSize(program)))
    _ask(nvrtc.nvrtcGetCUBIN(program, made))
    nvrtc.nvrtcDestroyProgram(program)
    return made


@cache
def _context(number: int) -> Any:
    """Return the process's context on a card; to make one takes 0.15 s, so it is kept."""
    cuda = _driver()
    return _ask(cuda.cuDevicePrimaryCtxRetain(_ask(cuda.cuDeviceGet(number))))


class LapDriver:
    """A kernel for one task's shape, ready on a card."""

    def __init__(self, gpu: Gpu, task: LapTask, *, precision: str = "float", folded: bool = True) -> None:
        self.gpu, self.shape = gpu, shape_of(task, precision=precision, folded=folded)
        self.kernel: LapKernel = lap_kernel(self.shape)
        self.code = compiled(self.kernel.source, gpu.architecture)

    def drive(
        self, task: LapTask, *, progress: Progress = unwatched, cancelled: Cancelled = never
    ) -> LapSums:
        """Drive all cars of a task, as many at once as the memory holds.

        Raises
        ------
        GpuFault
            If the card fails, hangs or has no memory left.
        Stopped
            If it is cancelled.
        """
        cuda = _driver()
        _ask(cuda.cuCtxSetCurrent(_context(self.gpu.number)))
        return self._drive(cuda, task, progress, cancelled)

    def _drive(self, cuda: Any, task: LapTask, progress: Progress, cancelled: Cancelled) -> LapSums:
        module = _ask(cuda.cuModuleLoadData(self.code))
        function = _ask(cuda.cuModuleGetFunction(module, b"drive_laps"))
        found = list[LapSums]()
        size = self._at_once(cuda, task)
        for first in range(0, task.cars, size):
            part = slice(first, min(first + size, task.cars))
            arrays = GpuArrays(task.part(part), self.shape, self.kernel)

            def told(share: float, part: slice = part) -> None:
                done = (part.start + share * (part.stop - part.start)) / task.cars
                progress(done, f"{done:.0%} of {task.cars} laps on the GPU")
                go_on(cancelled, "the laps on the GPU were not at their end")

            _Run(cuda, function, arrays).all_steps(task.clock.steps + 1, told)
            found.append(arrays.sums())
        _ask(cuda.cuModuleUnload(module))
        return LapSums(*(np.concatenate(one) for one in zip(*found, strict=True)))

    def _at_once(self, cuda: Any, task: LapTask) -> int:
        free, _ = _ask(cuda.cuMemGetInfo())
        one = GpuArrays(task.part(slice(0, 1)), self.shape, self.kernel)
        shared = sum(one.arrays[name].nbytes for name in one.SHARED)
        each = sum(array.nbytes for array in one.arrays.values()) - shared
        size = int((_SPARE * free - shared) / each)
        if size < min(task.cars, BLOCK):
            raise GpuFault(f"its free memory, {free / 1e9:.1f} GB, is too small", passing=True)
        return min(size, task.cars)


class _Run:
    """One part's arrays on the card."""

    def __init__(self, cuda: Any, function: Any, arrays: GpuArrays) -> None:
        self.cuda, self.function, self.arrays = cuda, function, arrays

    def all_steps(self, steps: int, told: Callable[[float], None]) -> None:
        """Launch stretch after stretch until all cars are at their end; the arrays are filled."""
        arrays, place = self.arrays.arrays, dict[str, Any]()
        try:
            for name, array in arrays.items():
                place[name] = _ask(self.cuda.cuMemAlloc(max(array.nbytes, 1)))
                if array.nbytes:
                    _ask(self.cuda.cuMemcpyHtoD(place[name], array.ctypes.data, array.nbytes))
            first, stretch = 0, _FIRST_STEPS
            while first < steps:
                end = min(first + stretch, steps)
                took = self._launch(self.arrays.values(first, end, place))
                told(end / steps)
                first = end
                stretch = max(_FIRST_STEPS, int(stretch * min(4.0, _LAUNCH / max(took, 1e-4))))
                self._back(place, "ended")
                if (arrays["ended"] >= 0).all():
                    break
            for name in ("saved", "gates"):
                self._back(place, name)
        finally:
            for one in place.values():
                self.cuda.cuMemFree(one)

    def _back(self, place: dict[str, Any], name: str) -> None:
        array = self.arrays.arrays[name]
        _ask(self.cuda.cuMemcpyDtoH(array.ctypes.data, place[name], array.nbytes))

    def _launch(self, values: list[Any]) -> float:
        """Run the kernel once and return how long it took. [s]"""
        given: list[NDArray[Any]] = [self.arrays.shared]
        given += [
            np.array([one if isinstance(one, np.generic) else int(one)], getattr(one, "dtype", np.uint64))
            for one in values
        ]
        pointers = np.array([one.ctypes.data for one in given], np.uint64)
        blocks = -(-self.arrays.cars // BLOCK)
        began = time.perf_counter()
        _ask(
            self.cuda.cuLaunchKernel(self.function, blocks, 1, 1, BLOCK, 1, 1, 0, 0, pointers.ctypes.data, 0)
        )
        while (state := self.cuda.cuStreamQuery(0)[0]).name == "CUDA_ERROR_NOT_READY":
            if time.perf_counter() - began > _HUNG:
                raise GpuFault(f"it gave no answer for {_HUNG:.0f} s")
            time.sleep(5e-4)
        _ask((state,))
        return time.perf_counter() - began
