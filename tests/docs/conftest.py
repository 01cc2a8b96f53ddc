"""Where the documents are."""

from pathlib import Path

import pytest


@pytest.fixture(scope="session")
def repository() -> Path:
    """The root of the project."""
    return Path(__file__).parents[2]
