from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

Command = Callable[..., Result]


@pytest.fixture
def log(fourpatch: Command, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Command:
    """Run a command of the logbook on a notebook of its own that holds the invented meeting."""
    monkeypatch.setenv("FOURPATCH_NOTEBOOK", str(tmp_path / "n.sqlite"))
    assert fourpatch("log", "example", "day.toml").exit_code == 0
    assert fourpatch("log", "add", "day.toml").exit_code == 0
    return lambda *arguments: fourpatch("log", *arguments)


def test_a_day_is_kept_found_and_shown(
    log: Command, answered: Callable[..., Any], refused: Callable[..., str]
) -> None:
    assert "Spring test (invented)" in log("list").stdout
    shown = log("show", "spring test (invented)").stdout
    assert "rear bar 4 → 6" in shown
    assert "B is probably" in shown
    assert "wind from west" in shown
    assert "Begin with the rear bar at 6" in log("next", "--track", "Demo chicanes").stdout
    assert "pushes, has to wait" in log("search", "nose", "wait").stdout
    assert log("search", "snow").stdout.startswith("Nothing holds snow")
    assert (
        answered("log", "show", "Spring test (invented)")["meeting"]["sessions"][0]["runs"][1]["setup"] == "B"
    )
    assert "Did you mean Spring test (invented)?" in refused("log", "show", "Spring test")
    assert "--track" in refused("log", "next")


def test_a_day_that_was_edited_takes_the_place_of_the_earlier(log: Command) -> None:
    assert "is as it was" in log("add", "day.toml").stderr
    text = Path("day.toml").read_text(encoding="utf-8")
    Path("day.toml").write_text(text.replace("dry, green", "wet"), encoding="utf-8")
    assert "revision 2" in log("add", "day.toml").stderr
    assert log("list").stdout.count("Spring test") == 1
    assert "wet" in log("show", "Spring test (invented)").stdout
