"""What tells one part from every other."""

import json
from dataclasses import asdict, is_dataclass
from hashlib import sha256
from typing import Any

import numpy as np
from pydantic import BaseModel


def digest(*content: Any) -> str:
    """Return what is the same for the same content alone, rows that were read from files counted in.

    Parameters
    ----------
    content : parts, dataclasses, rows of numbers, and whatever JSON knows.

    Notes
    -----
    For keys within one run of the program; nothing that is kept hangs on it.
    """
    return sha256(json.dumps(content, sort_keys=True, default=_plain).encode()).hexdigest()[:24]


def _plain(value: Any) -> Any:
    """Return what stands for a value; of a row, which may be long, that is a digest: hands move meanwhile."""
    if isinstance(value, BaseModel):
        return value.model_dump()
    if isinstance(value, np.ndarray):
        return [value.dtype.str, value.shape, sha256(np.ascontiguousarray(value).tobytes()).hexdigest()]
    if is_dataclass(value) and not isinstance(value, type):
        return asdict(value)
    raise TypeError(f"{type(value).__name__} has no digest")
