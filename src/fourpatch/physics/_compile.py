"""The one way a function becomes a compiled kernel.

Numba notices an edit only in a kernel's own file: a cached caller goes on using a callee of
another file as it was (numba issue 1833). So the cache lives in a folder named by a hash of every
file in ``physics/``; any edit anywhere in it starts a fresh cache.
"""

import hashlib
import os
import pickle
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar, cast

import numba
import numpy as np
from numba.core.caching import IndexDataCacheFile

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
    compiled = numba.njit(error_model="numpy", cache=True, nogil=True, fastmath=_FUSED)(function)
    kept = getattr(getattr(compiled, "_cache", None), "_cache_file", None)
    if kept is not None:  # there is none where nothing is compiled or can be kept
        kept.__class__ = _SoundCacheFile
    return cast(F, compiled)


class _SoundCacheFile(IndexDataCacheFile):
    """Kernels on disk, each with its digest: what is damaged counts as not there, and is compiled again.

    Without it a file cut off stopped every start, and a changed byte of machine code would have been run.
    """

    def _dump(self, obj: object) -> bytes:
        kept = bytes(super()._dump(obj))  # type: ignore[no-untyped-call]
        return hashlib.sha256(kept).digest() + kept

    def _load_index(self) -> dict[Any, str]:
        try:
            content = Path(self._index_path).read_bytes()
        except OSError:
            return {}
        version = pickle.dumps(self._version, protocol=-1)
        if not content.startswith(version):
            return {}
        told = _whole(content[len(version) :])
        stamp, overloads = told if told is not None else (None, {})
        return overloads if stamp == self._source_stamp else {}

    def _load_data(self, name: str) -> Any:
        return _whole((Path(self._cache_path) / name).read_bytes())


def _whole(content: bytes) -> Any:
    """Return what was kept; None if it is not as it was written."""
    digest, kept = content[:32], content[32:]
    return pickle.loads(kept) if hashlib.sha256(kept).digest() == digest else None


@inline
def place(slot: int, lane: int, stride: int) -> int:
    """Index of ``slot`` for the car in ``lane``; unsigned, or numba would test each for a negative index."""
    return np.uintp(slot * stride + lane)  # type: ignore[return-value]
