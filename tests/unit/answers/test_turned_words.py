"""Each word of direction turned round, one at a time: a test of `test_directions.py` must go red.

As a script it lists them: ``python tests/unit/answers/test_turned_words.py``.
"""

import ast
import importlib.util
import inspect
import re
from collections.abc import Iterator
from itertools import product
from pathlib import Path
from types import ModuleType
from typing import Any, NamedTuple

import pytest

SOURCE = Path(__file__).parents[3] / "src" / "fourpatch"

COVERED = (
    "advice/rules/claim_words.py",
    "answers/*.py",
    "app/answers/bumps.py",
    "app/lap_words.py",
    "app/number_words.py",
    "app/words.py",
    "picture/phase_meaning.py",
    "picture/rules_words.py",
    "picture/sensitivity_words.py",
    "picture/trade_off_words.py",
    "picture/trial_plan_words.py",
)
"""Files all of whose words of direction are tied to their numbers."""

DIRECTION = re.compile(
    r"\b(front|rear|better|worse|quicker|slower|faster|more|less|up|down|(under|over)(steers?)?|towards|cures|"
    r"costs|gives|sinks|rises|longer|shorter|higher|lower|sooner|later|left|right|characteristic|critical)\b"
)


class Turn(NamedTuple):
    """A choice between two words by the sign of a number."""

    file: Path
    line: int
    words: tuple[str, str]
    nth: int
    """Of such choices in the file."""

    def __str__(self) -> str:
        return f"{self.file.relative_to(SOURCE)}:{self.line} {' / '.join(self.words)}"


def choices(tree: ast.AST) -> Iterator[ast.IfExp]:
    """Choices between two texts of which one says a direction."""
    for node in ast.walk(tree):
        if isinstance(node, ast.IfExp):
            both = [one.value for one in (node.body, node.orelse) if isinstance(one, ast.Constant)]
            texts = [one for one in both if isinstance(one, str)]
            if len(texts) == 2 and any(map(DIRECTION.search, texts)):
                yield node


def turns() -> list[Turn]:
    """All of them in the files covered."""
    found = []
    for file in sorted(path for pattern in COVERED for path in SOURCE.glob(pattern)):
        for nth, node in enumerate(choices(ast.parse(file.read_text(encoding="utf-8")))):
            assert isinstance(node.body, ast.Constant)
            assert isinstance(node.orelse, ast.Constant)
            found.append(Turn(file, node.lineno, (str(node.body.value), str(node.orelse.value)), nth))
    return found


def directions() -> ModuleType:
    """The tests that hold the words, loaded anew."""
    spec = importlib.util.spec_from_file_location(
        "directions", Path(__file__).with_name("test_directions.py")
    )
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def passes(tests: ModuleType) -> bool:
    """Run the tests, each with both signs."""
    try:
        for name, test in vars(tests).items():
            if name.startswith("test_"):
                takes = inspect.signature(test).parameters
                for given in product(*(tests.SIGNS for _ in takes)):
                    test(*given)
    except AssertionError:
        return False
    return True


def is_noticed(turn: Turn, tests: ModuleType) -> bool:
    """Turn a choice round in the module as it is loaded, and see whether a test goes red."""
    name = ".".join(("fourpatch", *turn.file.relative_to(SOURCE).with_suffix("").parts))
    module: Any = importlib.import_module(name)
    source = turn.file.read_text(encoding="utf-8")
    tree = ast.parse(source)
    node = list(choices(tree))[turn.nth]
    node.body, node.orelse = node.orelse, node.body
    before = dict(vars(module))
    try:
        exec(compile(tree, str(turn.file), "exec"), vars(module))
        return not passes(tests)
    finally:
        vars(module).clear()
        vars(module).update(before)


@pytest.mark.parametrize("turn", turns(), ids=str)
def test_a_word_turned_round_is_noticed(turn: Turn) -> None:
    assert is_noticed(turn, directions())


def test_nothing_is_noticed_where_nothing_is_turned() -> None:
    assert passes(directions())


def test_the_count_on_the_page_is_the_one_here() -> None:
    page = (SOURCE.parents[1] / "docs" / "validation.md").read_text(encoding="utf-8")
    assert f"{len(turns())} words of direction" in page


if __name__ == "__main__":
    held = directions()
    for one in turns():
        print("noticed" if is_noticed(one, held) else "NOT NOTICED", one)
