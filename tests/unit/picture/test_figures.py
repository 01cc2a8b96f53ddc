"""Every figure: nothing overlaps or is cut, everything has a unit, nothing rests on colour alone."""

import re
from itertools import combinations
from pathlib import Path

import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text
from matplotlib.transforms import Bbox
from numpy.testing import assert_allclose

from fourpatch.car.demo import demo_car
from fourpatch.errors import FileError
from fourpatch.events.kerb_strike import KerbStrike
from fourpatch.events.phase import Phase
from fourpatch.face.rig_run import run_on_rig
from fourpatch.picture.kerb_strike import kerb_figure
from fourpatch.picture.sheet import new_sheet, save, shade_phases, styled


def texts(figure: Figure) -> list[tuple[str, Bbox]]:
    """All texts a figure shows, with the space they take. [px]"""
    with styled():
        figure.draw_without_rendering()
    beyond = {
        label
        for axes in figure.axes
        for axis in (axes.xaxis, axes.yaxis)
        for place, label in zip(axis.get_majorticklocs(), axis.get_majorticklabels(), strict=False)
        if not min(axis.get_view_interval()) <= place <= max(axis.get_view_interval())
    }
    found = []
    for text in figure.findobj(lambda artist: isinstance(artist, Text) and artist.get_visible()):
        if text.get_text().strip() and text not in beyond:
            found.append((text.get_text(), text.get_window_extent()))
    return found


def test_no_two_texts_overlap(figure: Figure) -> None:
    # A hair of two pixels may touch: extents count the ascent of letters that are not there.
    for (one, box), (other, second) in combinations(texts(figure), 2):
        common = Bbox.intersection(box, second)
        assert common is None or min(common.width, common.height) <= 2.0, f"{one!r} lies on {other!r}"


def test_no_text_is_cut_at_the_edge(figure: Figure) -> None:
    for text, box in texts(figure):
        assert box.x0 >= -1.0, text
        assert box.y0 >= -1.0, text
        assert box.x1 <= figure.bbox.width + 1.0, text
        assert box.y1 <= figure.bbox.height + 1.0, text


def test_it_asks_a_question_and_says_what_computed_it(figure: Figure) -> None:
    written = [text.get_text() for text in figure.texts]
    assert any(text.endswith("?") for text in written)
    assert any("rig" in text or "linear model" in text for text in written)


def test_every_panel_has_a_unit(figure: Figure) -> None:
    words = " ".join(text for text, _ in texts(figure))
    assert "[" in words
    for axes in figure.axes:
        label = axes.get_ylabel() + axes.get_title(loc="left") + axes.get_xlabel() + figure.get_supxlabel()
        shared = [other for other in figure.axes if axes.get_shared_y_axes().joined(axes, other)]
        assert "[" in label + "".join(other.get_ylabel() for other in shared) or "shape" in label


def test_lines_that_meet_differ_in_more_than_colour(figure: Figure) -> None:
    for axes in figure.axes:
        lines = [
            line for line in axes.get_lines() if line.get_label()[0] != "_" and len(line.get_xdata()) > 2
        ]
        for one, other in combinations(lines, 2):
            if one.get_color() != other.get_color():
                signs = [
                    (line.get_linestyle(), line.get_linewidth(), line.get_marker()) for line in (one, other)
                ]
                assert signs[0] != signs[1]


def test_narrow_phases_go_without_their_names() -> None:
    phases = [Phase(f"a narrow phase {n}", 0.01 * n, 0.01 * (n + 1)) for n in range(20)]
    with styled():
        sheet = new_sheet(4.0, 3.0, question="Do names collide?", source="Nothing computed on a rig")
        axes = sheet.subplots()
        axes.set_xlim(0.0, 1.0)
        shade_phases(axes, [*phases, Phase("wide", 0.2, 1.0)], named=True)
    test_no_two_texts_overlap(sheet)
    assert "wide" in [text for text, _ in texts(sheet)]


def test_the_kerb_says_how_long_a_tyre_is_off_the_road() -> None:
    car = demo_car("coupe")
    done = run_on_rig(car, KerbStrike(height=0.05, speed=30.0), setup="baseline")
    drawn = kerb_figure(done.dataset, done.motion.phases, question="How long?", source="On the rig")
    flights = done.bumps().longest_flight
    shown = [int(found) for text, _ in texts(drawn) for found in re.findall(r"for (\d+) ms", text)]
    # One flight each, counted in stored instants of 1 ms.
    assert_allclose(shown, 1e3 * flights.sel(corner=["FL", "RL"]).values, atol=1.0)
    marks = [path.get_datalim(drawn.axes[2].transData).width for path in drawn.axes[2].collections]
    assert_allclose(max(marks) * 1e3, shown[0], atol=1.0 + 1e-6)  # n instants span n - 1 intervals


@pytest.mark.parametrize("ending", ["svg", "png", "pdf"])
def test_it_is_written_and_written_alike(ending: str, tmp_path: Path) -> None:
    with styled():
        sheet = new_sheet(4.0, 3.0, question="Is it the same?", source="Nothing computed")
        sheet.subplots().plot([0.0, 1.0], [0.0, 1.0])
    for name in ("one", "two"):
        save(sheet, tmp_path / f"{name}.{ending}")
    written = [(tmp_path / f"{name}.{ending}").read_bytes() for name in ("one", "two")]
    assert written[0] == written[1]


def test_the_users_own_style_does_not_reach_our_figures(tmp_path: Path) -> None:
    import matplotlib

    with styled():
        plain = new_sheet(4.0, 3.0, question="Whose style?", source="Ours")
        plain.subplots().plot([0.0, 1.0])
    save(plain, tmp_path / "plain.svg")
    with matplotlib.rc_context({"font.size": 30.0, "axes.facecolor": "black", "lines.linewidth": 9.0}):
        with styled():
            other = new_sheet(4.0, 3.0, question="Whose style?", source="Ours")
            other.subplots().plot([0.0, 1.0])
        save(other, tmp_path / "other.svg")
    assert (tmp_path / "plain.svg").read_bytes() == (tmp_path / "other.svg").read_bytes()


def test_another_kind_of_file_is_refused(tmp_path: Path) -> None:
    sheet = new_sheet(4.0, 3.0, question="Which kinds?", source="Ours")
    with pytest.raises(FileError, match=r"written as \.svg, \.png or \.pdf"):
        save(sheet, tmp_path / "sheet.jpg")
    with pytest.raises(FileError, match="there is no folder"):
        save(sheet, tmp_path / "none" / "sheet.svg")
