"""Blocks as sheets of paper: PDF, A4 or Letter, typeset by typst, or one HTML file; legible in grey."""

import json
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final, Literal

from fourpatch.document.saving import whole_file
from fourpatch.errors import FileError
from fourpatch.picture.blocks import Block, Changes, Heading, Picture, Sentence, Table
from fourpatch.picture.caution import COMPUTED
from fourpatch.picture.chosen_units import blocks_shown, said
from fourpatch.picture.page import page, svg

Paper = Literal["a4", "letter"]

_CALLED: Final[dict[Paper, str]] = {"a4": "a4", "letter": "us-letter"}
_TEMPLATE: Final = Path(__file__).with_name("paper.typ")
ENDINGS: Final = (".pdf", ".html")


def pdf(title: str, blocks: Sequence[Block], *, paper: Paper = "a4") -> bytes:
    """Return a sheet as PDF in the reader's units, the caution below every page.

    Notes
    -----
    The typesetter reads the blocks as data beside a fixed template, so that no text can be taken for markup.
    Its letters are those that matplotlib brings along: the same on every machine.
    """
    import matplotlib
    import typst

    with tempfile.TemporaryDirectory(prefix="fourpatch-") as folder:
        place = Path(folder)
        told = [_data(block, place) for block in blocks_shown(blocks)]
        sheet = {"title": said(title), "paper": _CALLED[paper], "caution": COMPUTED, "blocks": told}
        (place / "sheet.json").write_text(json.dumps(sheet), encoding="utf-8")
        (place / "sheet.typ").write_bytes(_TEMPLATE.read_bytes())
        made = typst.compile(
            place / "sheet.typ",
            root=place,
            font_paths=[Path(matplotlib.get_data_path()) / "fonts" / "ttf"],
            ignore_system_fonts=True,
            format="pdf",
        )
    assert isinstance(made, bytes)
    return made


def _data(block: Block, place: Path) -> dict[str, Any]:
    """Return a block as the template reads it; a picture is written beside."""
    match block:
        case Sentence():
            return {"kind": "sentence", "text": block.text, "lead": block.lead}
        case Heading():
            return {"kind": "heading", "text": block.text}
        case Table():
            return {
                "kind": "table",
                "title": block.title,
                "heads": [head.in_a_line() for head in block.heads],
                "right": [head.right for head in block.heads],
                "rows": [list(row) for row in block.rows],
            }
        case Changes():
            return _data(block.as_table(), place)
        case Picture():
            name = f"picture-{len(list(place.iterdir()))}.svg"
            (place / name).write_text(svg(block), encoding="utf-8")
            return {"kind": "picture", "file": name, "says": block.says}


def refuse_other_endings(path: Path) -> None:
    """Refuse a file of another kind, before anything is computed for it.

    Raises
    ------
    FileError
    """
    if path.suffix.lower() not in ENDINGS:
        raise FileError(f'{path}: "{path.suffix}" is no kind of sheet. Let the name end in .pdf or .html.')


def save_sheet(title: str, blocks: Sequence[Block], path: Path, *, paper: Paper = "a4") -> None:
    """Write a sheet as PDF or as one HTML file, by the ending of the name; whole or not at all.

    Raises
    ------
    FileError
        If the ending is another, or the file cannot be written.
    """
    refuse_other_endings(path)
    made = (
        pdf(title, blocks, paper=paper)
        if path.suffix.lower() == ".pdf"
        else page(title, blocks).encode("utf-8")
    )
    try:
        with whole_file(path) as unfinished:
            unfinished.write_bytes(made)
    except OSError as error:
        raise FileError(f"{path}: cannot be written ({error.strerror}); choose another place.") from None
