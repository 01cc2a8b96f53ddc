"""On which line a key stands: each value of this text is the number of its own line."""

import tomllib
from collections.abc import Iterator
from typing import Any

import pytest

from fourpatch.document.fault import Key
from fourpatch.document.lines import Lines

TEXT = '''first = 1
"quoted key" = 2 # comment with [brackets] and "quotes"
'literal = key' = 3
dotted . key = 4

[table]
a = 7   # below a heading
dotted.key = 8
inline = { b = 9, c = { d = 9 }, "e.f" = 9, g.h = 9 }
array = [
  11,
  12, # comment, with comma
  # 13
  14,
  [15, 15,
   16],
  { i = 17, j = 17 },
]

[table.below."dotted.name"]
k = 21
text = """22
= 5
[not.a.heading]
x = 1
\\""" and more"""
after = 27
literal = \'\'\'28
'x' = ]
\'\'\'
after_literal = 31

[[many]]
n = 34
[many.part]
o = 36
[[many.more]]
p = 38
[[many.more]]
p = 40
[[many]]
n = 42
[[many.more]]
p = 44
[many.part]
o = 46
'''


def leaves(value: Any, key: Key = ()) -> Iterator[tuple[Key, Any]]:
    """Yield each value that is no table or list, with its key."""
    if isinstance(value, dict | list):
        pairs = value.items() if isinstance(value, dict) else enumerate(value)
        for name, below in pairs:
            yield from leaves(below, (*key, name))
    else:
        yield key, value


@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_each_value_is_found_on_its_line(ending: str) -> None:
    lines = Lines(TEXT.replace("\n", ending))
    found = list(leaves(tomllib.loads(TEXT)))
    assert len(found) == 30
    for key, value in found:
        assert lines.of(key) == int(str(value).split("\n")[0]), key


def test_what_is_not_written_is_placed_at_its_closest_table() -> None:
    lines = Lines(TEXT)
    assert lines.of(("table", "missing")) == 6
    assert lines.of(("table", "inline", "c", "missing")) == 9
    assert lines.of(("many", 1, "part", "missing")) == 45
    assert lines.of(("many", 0, "more", 1)) == 39
    assert lines.of(("many", 1)) == 41
    assert lines.of(("nowhere", "at", "all")) is None


def test_empty_text_has_no_lines() -> None:
    assert Lines("").of(("a",)) is None
    assert Lines("# only a comment").of(("a",)) is None
