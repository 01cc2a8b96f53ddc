import io
from collections.abc import Callable
from pathlib import Path

import pypdfium2
import pytest
from click.testing import Result

Command = Callable[..., Result]


def text_of(name: str) -> str:
    document = pypdfium2.PdfDocument(io.BytesIO(Path(name).read_bytes()))
    return " ".join(" ".join(page.get_textpage().get_text_range() for page in document).split())


def test_a_set_up_against_another(fourpatch: Command) -> None:
    assert fourpatch("export", "setup", "gt", "mine.toml").exit_code == 0
    text = Path("mine.toml").read_text(encoding="utf-8")
    Path("mine.toml").write_text(text.replace('"rear bar" = 4', '"rear bar" = 2'), encoding="utf-8")
    assert fourpatch("sheet", "setup", "gt", "a.pdf", "--setup", "mine.toml").exit_code == 0
    assert "position 2 (was 4)" in text_of("a.pdf")
    assert fourpatch("sheet", "setup", "gt", "b.pdf").exit_code == 0
    assert "(was" not in text_of("b.pdf")
    assert "--force" in fourpatch("sheet", "setup", "gt", "b.pdf").stderr


def test_the_answer_to_a_complaint(fourpatch: Command) -> None:
    result = fourpatch("sheet", "cure", "gt", "pushes on entry in slow corners", "cure.pdf", "--draws", "0")
    assert result.exit_code == 0, result.stderr
    text = text_of("cure.pdf")
    for part in (
        "pushes on entry in slow corners",
        "What to turn, and its price",
        "Why",
        "How to try it",
        "A-B-A",
    ):
        assert part in text
    assert len(pypdfium2.PdfDocument(io.BytesIO(Path("cure.pdf").read_bytes()))) <= 2


def test_a_day(fourpatch: Command, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("FOURPATCH_NOTEBOOK", str(tmp_path / "n.sqlite"))
    fourpatch("log", "example", "day.toml")
    fourpatch("log", "add", "day.toml")
    assert fourpatch("sheet", "day", "Spring test (invented)", "day.html").exit_code == 0
    assert "B is probably" in Path("day.html").read_text(encoding="utf-8")


def test_a_name_that_is_no_sheet_is_refused_before_anything_is_computed(refused: Callable[..., str]) -> None:
    assert ".pdf or .html" in refused("sheet", "cure", "gt", "pushes", "x.docx")


def test_a_share_file_is_given_and_taken(
    fourpatch: Command, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("FOURPATCH_NOTEBOOK", str(tmp_path / "n.sqlite"))
    asked = ("export", "share", "gt", "mine.share.toml", "--question", "pushes on entry")
    assert fourpatch(*asked).exit_code == 0
    assert "--force" in fourpatch(*asked).stderr
    taken = fourpatch("notebook", "take", "mine.share.toml")
    assert taken.stdout == "Demo GT, set-up baseline.\nAsked: pushes on entry\n"
    assert fourpatch("notebook", "take", "mine.share.toml").stdout == taken.stdout
    assert "no such file" in fourpatch("notebook", "take", "none.toml").stderr
