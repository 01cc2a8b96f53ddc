"""What is compiled is kept, and what is kept and damaged is compiled again."""

from collections.abc import Callable
from pathlib import Path

import numba
import pytest

from fourpatch.physics._compile import kernel

pytestmark = pytest.mark.skipif(bool(numba.config.DISABLE_JIT), reason="nothing is compiled")  # type: ignore[attr-defined]

DAMAGES: dict[str, Callable[[bytes], bytes]] = {
    "empty": lambda whole: b"",
    "cut off": lambda whole: whole[: len(whole) // 2],
    "one byte changed": lambda whole: whole[:-40] + bytes([whole[-40] ^ 0x10]) + whole[-39:],
    "first byte changed": lambda whole: bytes([whole[0] ^ 0x10]) + whole[1:],
    "zeros": lambda whole: bytes(len(whole)),
    "something else": lambda whole: b"a letter",
}


def twice(x: float) -> float:
    return 2.0 * x


def hits(compiled: Callable[[float], float]) -> int:
    """Call a kernel, and return how many of what it needs were found."""
    assert compiled(1.5) == 3.0
    return sum(compiled.stats.cache_hits.values())  # type: ignore[attr-defined]


@pytest.mark.parametrize("damage", DAMAGES)
@pytest.mark.parametrize("kind", ["nbi", "nbc"])
def test_a_damaged_file_is_compiled_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kind: str, damage: str
) -> None:
    monkeypatch.setattr(numba.config, "CACHE_DIR", str(tmp_path))
    assert hits(kernel(twice)) == 0
    assert hits(kernel(twice)) == 1
    (file,) = tmp_path.rglob(f"*.{kind}")
    file.write_bytes(DAMAGES[damage](file.read_bytes()))
    assert hits(kernel(twice)) == 0
    assert hits(kernel(twice)) == 1
