"""What the page on Python tells a reader to type works, and the refusal it shows is the one that comes."""

import re
from pathlib import Path

import pytest

import fourpatch as fp

PAGE = (Path(__file__).parents[2] / "docs" / "python.md").read_text(encoding="utf-8")
EXAMPLES = sorted((Path(__file__).parents[2] / "docs" / "examples").glob("*.py"))


def test_every_line_works_as_written() -> None:
    typed: dict[str, object] = {}
    for block in re.findall(r"```python\n(.*?)```", PAGE, re.DOTALL):
        exec(block, typed)


def test_the_refusal_is_the_one_that_comes() -> None:
    ((line, said),) = re.findall(r"```text\n>>> (.*?)\n(.*?)\n```", PAGE, re.DOTALL)
    with pytest.raises(fp.FourpatchError) as refused:
        eval(line, {"fp": fp})
    assert str(refused.value) == said


def test_a_dozen_examples_have_ten_lines_at_most() -> None:
    short = 0
    for example in EXAMPLES:
        code = re.sub(r'\A""".*?"""', "", example.read_text(encoding="utf-8"), flags=re.DOTALL)
        lines = [line for line in code.splitlines() if line.strip() and not line.startswith("#")]
        if "import fourpatch as fp" in code:
            assert len(lines) <= 10, example.name
            short += 1
    assert short >= 12
