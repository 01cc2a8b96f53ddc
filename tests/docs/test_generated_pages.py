"""The pages made from the code say what the code says."""

import importlib.util
import re
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.cli.asking import KEPT

COMPUTED = ("rules-checked",)
"""Pages of numbers that are computed, not copied."""

NUMBER = re.compile(r"[-+]?\d+(?:\.\d+)?")

DOCS = Path(__file__).parents[2] / "docs"


@pytest.fixture(scope="module")
def generator() -> ModuleType:
    spec = importlib.util.spec_from_file_location("generate", DOCS / "generate.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize("template", sorted((DOCS / "templates").glob("*.md")), ids=lambda path: path.stem)
def test_a_page_is_not_stale(template: Path, generator: ModuleType) -> None:
    written = (DOCS / template.name).read_text(encoding="utf-8")
    made = generator.pages()[template.name]
    if template.stem in COMPUTED:
        # Runs side by side are summed in another order than alone: a last digit may round the other way.
        numbers, new = (np.array(NUMBER.findall(text), dtype=float) for text in (written, made))
        written, made = NUMBER.sub("#", written), NUMBER.sub("#", made)
        assert_allclose(new, numbers, rtol=2e-3, atol=0.011)
    assert written == made, "run: python docs/generate.py"


def test_help_says_what_the_questions_say(generator: ModuleType) -> None:
    assert KEPT.read_text(encoding="utf-8") == generator.kept_commands(), "run: python docs/generate.py"


def test_no_place_is_left_empty(generator: ModuleType) -> None:
    assert not any("{{" in text for text in generator.pages().values())


def test_every_parameter_has_a_meaning(generator: ModuleType) -> None:
    # A table's last cell is the meaning; a row without one ends in two bars.
    for name in ("words.md", "event-file.md", "json.md"):
        rows = [line for line in generator.pages()[name].splitlines() if line.startswith("| `")]
        assert rows
        assert not [row for row in rows if row.rstrip().endswith("|  |")]
