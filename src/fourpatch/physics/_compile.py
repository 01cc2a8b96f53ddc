"""The one way a function becomes a compiled kernel.

Numba notices an edit only in a kernel's own file: a cached caller goes on using a callee of
another file as it was (numba issue 1833). So the cache lives in a folder named by a hash of every
file in ``physics/``; any edit anywhere in it starts a fresh cache.
"""

import hashlib
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar, cast

import numba
import numpy as np

_FUSED = {"contract"}
"""A product and the sum it goes into may be rounded once: a third fewer instructions. NaN stays NaN."""

F = TypeVar("F", bound=Callable[..., Any])


def cache_folder() -> Path:
    """Folder of the compiled kernels: the user's cache folder, then a hash of the sources."""
    digest = hashlib.sha256(numba.__version__.encode())
    for file in sorted(Path(__file__).parent.glob("*.py")):
        digest.update(file.name.encode())
        digest.update(file.read_bytes())
    return _user_cache_folder() / "fourpatch" / f"kernels-{digest.hexdigest()[:16]}"


def _user_cache_folder() -> Path:
    chosen = os.environ.get("FOURPATCH_CACHE")
    if chosen:
        return Path(chosen)
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA", Path.home() / "AppData" / "Local"))
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Caches"
    return Path(os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache"))


numba.config.CACHE_DIR = str(cache_folder())  # type: ignore[attr-defined]


def inline(function: F) -> F:
    """Compile a small physics function so that its caller always takes it in.

    Plain calls stop the vectoriser of the lane driver; ``forceinline`` does not.
    """
    return cast(F, numba.njit(error_model="numpy", forceinline=True, fastmath=_FUSED)(function))


def driver(function: F) -> F:
    """Compile the loops around the physics: taken into the kernel before the compiler optimises.

    Each level of `inline` is optimised by itself; for the large outermost ones that only costs time
    (a quarter of the whole compilation).
    """
    return cast(F, numba.njit(error_model="numpy", inline="always", fastmath=_FUSED)(function))


def kernel(function: F) -> F:
    """Compile an entry point: cached on disk, and run without the interpreter's lock."""
    return cast(F, numba.njit(error_model="numpy", cache=True, nogil=True, fastmath=_FUSED)(function))


@inline
def place(slot: int, lane: int, stride: int) -> int:
    """Index of ``slot`` for the car in ``lane``; unsigned, or numba would test each for a negative index."""
    return np.uintp(slot * stride + lane)  # type: ignore[return-value]
