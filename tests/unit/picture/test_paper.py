"""Sheets decoded again: pages, sizes, texts, and whether grey tells what colour told."""

import io
import re
from pathlib import Path

import numpy as np
import pypdfium2
import pytest

from fourpatch.car.demo import demo_car
from fourpatch.car.setup import baseline_setup
from fourpatch.errors import FileError
from fourpatch.picture.blocks import Heading, Picture, Sentence, Table
from fourpatch.picture.caution import COMPUTED
from fourpatch.picture.head import Head
from fourpatch.picture.meeting_sheet import meeting_sheet
from fourpatch.picture.paper import pdf, save_sheet
from fourpatch.picture.setup_sheet import MARK, setup_sheet
from fourpatch.recording.demo_meeting import demo_meeting

HOSTILE = '#panic("x") *bold* $x$ <script>alert(1)</script> \\ @ref _ü_ “#{1+1}”'


def texts(made: bytes) -> list[str]:
    """Return the text of each page, blanks as one."""
    document = pypdfium2.PdfDocument(io.BytesIO(made))
    return [" ".join(page.get_textpage().get_text_range().split()) for page in document]


@pytest.mark.parametrize(("paper", "size"), [("a4", (210.0, 297.0)), ("letter", (215.9, 279.4))])
def test_size_and_caution_of_every_page(paper: str, size: tuple[float, float]) -> None:
    blocks = [Sentence(f"line {number}") for number in range(120)]
    made = pdf("Long", blocks, paper=paper)  # type: ignore[arg-type]
    document = pypdfium2.PdfDocument(io.BytesIO(made))
    assert len(document) == 3
    for page, text in zip(document, texts(made), strict=True):
        # Sizes of ISO 216 and ANSI, in points of 1/72 in; a PDF rounds them to a hundredth.
        np.testing.assert_allclose(page.get_size(), np.array(size) / 25.4 * 72.0, atol=0.02)
        assert COMPUTED in text


def test_nothing_in_a_text_is_markup() -> None:
    rows = [(HOSTILE, "1")]
    heads = [Head(text=HOSTILE, right=False), Head(text="n")]
    made = pdf(
        HOSTILE,
        [Sentence(HOSTILE, lead=HOSTILE), Heading(HOSTILE), Table(heads=heads, rows=rows, title=HOSTILE)],
    )
    (text,) = texts(made)
    # The typesetter may break a line anywhere in it.
    assert re.sub(r"\s", "", text).count(re.sub(r"\s", "", HOSTILE)) == 7


def test_every_adjuster_stands_on_the_set_ups_sheet_and_changes_are_marked() -> None:
    car = demo_car("gt")
    base = baseline_setup(car)
    changed = base.model_copy(update={"name": "stiff", "values": {**base.values, "front bar": 6.0}})
    (text,) = texts(pdf("Sheet", setup_sheet(car, changed, base)))
    for one in car.adjusters:
        assert one.name.removeprefix("front ").removeprefix("rear ") in text
    assert text.count(MARK) == 2  # the sentence that says what it is, and the bar
    assert f"{MARK} position 6 (was 4)" in text
    assert "pressures hot" in text
    (plain,) = texts(pdf("Sheet", setup_sheet(car, base)))
    assert MARK not in plain


def test_a_day_is_one_page_and_says_what_the_notebook_says() -> None:
    (text,) = texts(pdf("Day", meeting_sheet(demo_meeting())))
    for part in ("set 1, 18 laps before", "rear bar 4 → 6", "B is probably", "Begin with the rear bar at 6"):
        assert part in text


def test_pictures_are_drawn_and_said(tmp_path: Path) -> None:
    from matplotlib.figure import Figure

    def draw() -> Figure:
        figure = Figure(figsize=(4, 2))
        figure.subplots().plot([0, 1], [0, 1], color="black", linewidth=8)
        return figure

    blocks = [Picture(draw=draw, says="a line")]
    bare, drawn = (
        pypdfium2.PdfDocument(io.BytesIO(pdf("x", part)))[0].render(scale=1).to_numpy().mean()
        for part in ([], blocks)
    )
    assert drawn < bare - 1.0  # of 255: there is ink
    save_sheet("x", blocks, tmp_path / "x.html")
    page = (tmp_path / "x.html").read_text(encoding="utf-8")
    assert 'aria-label="a line"' in page
    assert COMPUTED.replace("'", "&#x27;") in page


def test_another_kind_of_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileError, match=r"Let the name end in \.pdf or \.html"):
        save_sheet("x", [], tmp_path / "x.docx")
    with pytest.raises(FileError, match="cannot be written"):
        save_sheet("x", [], tmp_path / "none" / "x.pdf")
