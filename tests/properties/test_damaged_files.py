"""No damage to a car file leads to anything but a car or a refusal in plain words."""

import re
import tempfile
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from fourpatch.car.files import load_car
from fourpatch.errors import FileError

PAGE = Path(__file__).parents[2] / "docs" / "car-file.md"
TEXT = PAGE.read_text(encoding="utf-8").split("```toml\n")[-1].split("```")[0]
ROWS = TEXT.split("\n")

VALUES = [
    *(
        '"-1 kg"',
        '"0 mm"',
        '"1e308 m"',
        '""',
        '"x"',
        '"5 %"',
        '"1e-300 N/m"',
        '"90 deg"',
        '"1,5 mm"',
        '"5 m**9**9"',
    ),
    *("0", "-5", "1e308", "nan", "inf", "true", "1979-05-27", "[]", "[[]]", "{}", "[1, 2]", '["a"]'),
    *("{ kind = 5 }", "{ value = 0 }", '{ kind = "unknown" }', "bare", "1.5 mm"),
]


@st.composite
def damaged(draw: st.DrawFn) -> str:
    """Draw the text with a few values, lines or characters replaced."""
    rows = list(ROWS)
    for _ in range(draw(st.integers(1, 6))):
        place = draw(st.integers(0, len(rows) - 1))
        row = rows[place]
        values = list(re.finditer(r'"[^"]*"|-?\d+(?:\.\d+)?|\{.*\}|\[.*\]', row))
        match draw(st.sampled_from(["value", "value", "all", "cut", "twice", "sign"])):
            case "value" if values:
                hit = draw(st.sampled_from(values))
                rows[place] = row[: hit.start()] + draw(st.sampled_from(VALUES)) + row[hit.end() :]
            case "all" if "=" in row:
                rows[place] = row.partition("=")[0] + "= " + draw(st.sampled_from(VALUES))
            case "cut":
                rows[place] = ""
            case "twice":
                rows.insert(draw(st.integers(0, len(rows))), row)
            case "sign" if row:
                at = draw(st.integers(0, len(row) - 1))
                rows[place] = row[:at] + draw(st.sampled_from("\"'[]{}=,.#x1 -%\t°")) + row[at + 1 :]
    return "\n".join(rows)


@settings(deadline=None, max_examples=200)
@given(damaged())
def test_damaged_file_is_read_or_refused_in_plain_words(text: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "car.toml"
        path.write_text(text, encoding="utf-8")
        try:
            load_car(path)
        except FileError as error:
            for paragraph in str(error).split("\n\n"):
                assert re.match(r"car\.toml(, line \d+)?: \S", paragraph)
                assert "object at 0x" not in paragraph
                assert "pydantic" not in paragraph
