"""The line that says why the first run takes long."""

from pathlib import Path

import numba
import pytest

from fourpatch.cli import engine


def test_it_is_said_once_when_something_is_compiled(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(engine, "_said", [])
    engine.announce_compilation()
    assert capsys.readouterr().err == ""

    @numba.njit
    def twice(x):  # type: ignore[no-untyped-def]
        return 2.0 * x

    @numba.njit
    def thrice(x):  # type: ignore[no-untyped-def]
        return 3.0 * x

    twice(1.0)
    thrice(1.0)
    assert capsys.readouterr().err.splitlines() == [engine.LINE]


def test_a_cache_that_cannot_be_kept_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert engine.unkept() == ""
    taken = tmp_path / "taken"
    taken.write_text("a file, no folder", encoding="utf-8")
    monkeypatch.setenv("FOURPATCH_CACHE", str(taken))
    assert "every start will take as long" in engine.unkept()
    assert "FOURPATCH_CACHE" in engine.unkept()
