"""The track of docs/track-file.md: what these tests read, change and break."""

import tomllib
from pathlib import Path

import pytest

from fourpatch.track.track import Track
from fourpatch.units import FROM_FILE

PAGE = Path(__file__).parents[3] / "docs" / "track-file.md"


@pytest.fixture(scope="session")
def club_text() -> str:
    """Return the text of the track file shown in the documentation."""
    return PAGE.read_text(encoding="utf-8").split("```toml\n")[-1].split("```")[0]


@pytest.fixture(scope="session")
def club(club_text: str) -> Track:
    """Return the track of the documentation."""
    return Track.model_validate(tomllib.loads(club_text), context=FROM_FILE)
