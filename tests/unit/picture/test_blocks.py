"""Blocks as plain text and as a page: what is said stands there, whatever letters it has."""

from html.parser import HTMLParser

from matplotlib.figure import Figure

from fourpatch.picture.blocks import Change, Changes, Heading, Picture, Sentence, Table, means, plain
from fourpatch.picture.head import Head
from fourpatch.picture.page import page

TABLE = Table(
    heads=[Head(text="wheel", right=False), Head(text="mean\nload", unit="N", now="3000")],
    rows=[("FL", "3012"), ("<RR> & co", "2988")],
    title="Loads",
)
CHANGES = Changes(
    changes=[Change(adjuster="front bar", before=4.0, after=3.0, unit="position")], title="Turn"
)


def drawn() -> Figure:
    figure = Figure()
    figure.subplots().plot([0, 1])
    return figure


BLOCKS = [
    Heading("Medium corner"),
    TABLE,
    means("the front is the nearer."),
    CHANGES,
    Picture(draw=drawn, says="?"),
]


class Cells(HTMLParser):
    """Texts of the cells of a page, unescaped."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.cells: list[str] = []
        self.feed(text)

    def handle_data(self, data: str) -> None:
        self.cells.append(data)


def test_plain_text_has_every_cell_and_sentence() -> None:
    text = plain(BLOCKS)
    assert "Medium corner" in text
    assert "wheel      mean load [N] now 3000" in text
    assert "<RR> & co  2988" in text
    assert "What this means: the front is the nearer." in text
    assert "front bar  4          3        position" in text


def test_a_page_escapes_what_it_says_and_holds_its_pictures() -> None:
    text = page("A <title>", BLOCKS)
    cells = Cells(text).cells
    for said in ("A <title>", "Medium corner", "<RR> & co", "3012", "front bar"):
        assert said in cells
    assert "<svg" in text
    assert "<?xml" not in text


def test_a_sentence_stands_alone_or_after_its_lead() -> None:
    assert Sentence("so it is.").whole() == "so it is."
    assert Sentence("so it is.", lead="Why").whole() == "Why: so it is."
