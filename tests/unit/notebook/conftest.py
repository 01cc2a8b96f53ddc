"""A fresh notebook for each test; the demo cars are read once, copies of a filled one are handed out."""

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from fourpatch.notebook.notebook import Notebook, open_notebook


@pytest.fixture(scope="session")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The file of a new notebook, closed."""
    path = tmp_path_factory.mktemp("notebook") / "notebook.sqlite"
    open_notebook(path).close()
    return path


@pytest.fixture
def file(filled: Path, tmp_path: Path) -> Path:
    """The file of a new notebook of the test's own."""
    return Path(shutil.copy(filled, tmp_path / "notebook.sqlite"))


@pytest.fixture
def window(file: Path) -> Iterator[Callable[[], Notebook]]:
    """Open the notebook once more, as another process would."""
    opened: list[Notebook] = []

    def open_once_more() -> Notebook:
        opened.append(open_notebook(file))
        return opened[-1]

    yield open_once_more
    for one in opened:
        one.close()


@pytest.fixture
def notebook(window: Callable[[], Notebook]) -> Notebook:
    return window()
