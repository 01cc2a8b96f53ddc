"""Every example answers its question, from a fresh start."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

EXAMPLES = sorted((Path(__file__).parents[2] / "docs" / "examples").glob("*.py"))


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_an_example_ends_in_a_number_or_a_figure(example: Path, tmp_path: Path) -> None:
    done = subprocess.run([sys.executable, str(example)], cwd=tmp_path, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert re.search(r"\d", done.stdout.splitlines()[-1]) or list(tmp_path.iterdir())


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_an_example_is_short_and_asks_a_question(example: Path) -> None:
    lines = example.read_text(encoding="utf-8").splitlines()
    assert len(lines) <= 45  # under a screen
    assert "?" in lines[0]


def test_examples_are_numbered() -> None:
    assert [int(example.name[:2]) for example in EXAMPLES] == list(range(1, len(EXAMPLES) + 1))
