"""The demo: the main job from end to end."""

from collections.abc import Callable
from pathlib import Path

from click.testing import Result


def test_it_shows_the_job_and_leaves_its_pictures(fourpatch: Callable[..., Result]) -> None:
    result = fourpatch("demo", "--output", "pictures")
    assert result.exit_code == 0, result.stderr
    text = result.stdout
    for part in ("at rest", "one step of each adjuster", "medium corner", "rough road", "kerb", "Next"):
        assert part in text
    assert "the maker's limits" in " ".join(text.split())
    assert max(map(len, text.splitlines())) <= 100
    for name in ("one-step.svg", "corner.svg", "kerb.svg"):
        assert name in text
        assert Path("pictures", name).stat().st_size > 10_000


def test_a_place_that_is_no_folder_is_refused(fourpatch: Callable[..., Result]) -> None:
    Path("taken").write_text("a file", encoding="utf-8")
    result = fourpatch("demo", "--output", "taken")
    assert result.exit_code == 2
    assert "choose another folder" in result.stderr
