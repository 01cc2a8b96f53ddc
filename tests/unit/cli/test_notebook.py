"""The notebook on the command line: where it is, out of it, into another."""

import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from fourpatch.events.driver_style import DriverStyle
from fourpatch.notebook.notebook import open_notebook
from fourpatch.notebook.place import VARIABLE
from fourpatch.picture.chosen_units import choose

Command = Callable[..., Result]
Answered = Callable[..., Any]


@pytest.fixture
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The user's own notebook: not that of whoever runs the tests."""
    path = tmp_path / "own" / "notebook.sqlite"
    monkeypatch.setenv(VARIABLE, str(path))
    return path


def test_it_says_where_the_notebook_is_and_makes_none(
    own: Path, fourpatch: Command, answered: Answered
) -> None:
    result = fourpatch("notebook", "path")
    assert result.stdout == f"{own}\n"
    assert "fourpatch app makes it" in result.stderr
    assert not own.parent.exists()
    with open_notebook() as opened:
        copy = opened.back_up()
    said = answered("notebook", "path")
    assert (said["notebook"], said["exists"], said["backups"]) == (str(own), True, [str(copy)])
    assert str(copy) in fourpatch("notebook", "path").stdout
    assert fourpatch("notebook", "path", "--notebook", "other.sqlite").stdout.endswith("other.sqlite\n")


def test_all_goes_out_of_one_and_into_another(own: Path, fourpatch: Command, answered: Answered) -> None:
    with open_notebook() as opened:
        opened.styles.add(DriverStyle(preview=0.7), name="calm 走行", by="test")
    assert fourpatch("notebook", "export", "all.zip").exit_code == 0
    assert zipfile.is_zipfile("all.zip")
    said = answered("notebook", "import", "all.zip", "--notebook", "other.sqlite")
    assert (said["added"], said["second"]) == (["calm 走行"], [])
    assert "Demo GT" in said["known"]
    shown = fourpatch("notebook", "import", "all.zip", "--notebook", "other.sqlite").stdout
    assert shown.startswith("Here already:")
    with open_notebook("other.sqlite") as other:
        assert "calm 走行" in [one.name for one in other.styles.listed()]


def test_units_are_chosen_kept_and_refused(own: Path, fourpatch: Command, answered: Answered) -> None:
    try:
        assert answered("notebook", "units", "mph", "psi")["units"]["km/h"] == "mph"
        choose({})  # as another program finds it
        assert answered("notebook", "units")["units"]["bar"] == "psi"
        refused = fourpatch("notebook", "units", "furlong")
        assert refused.exit_code == 2
        assert "speed: km/h, mph" in refused.stderr
        assert answered("notebook", "units", "SI")["units"]["bar"] == "bar"
    finally:
        choose({})


def test_a_backup_is_made_and_comes_back(own: Path, fourpatch: Command) -> None:
    with open_notebook() as opened:
        opened.styles.add(DriverStyle(), name="kept", by="test")
    made = fourpatch("notebook", "backup").stdout.strip()
    with open_notebook() as opened:
        opened.styles.add(DriverStyle(), name="later", by="test")
    own.write_bytes(bytes(100) + own.read_bytes()[100:])
    result = fourpatch("notebook", "restore")
    assert result.exit_code == 0
    assert made in result.stderr
    assert "What stood there is kept" in result.stderr
    with open_notebook() as opened:
        assert [one.name for one in opened.styles.listed()] == ["kept", "Usual style"]
    assert fourpatch("notebook", "restore", made).exit_code == 0


def test_what_cannot_be_is_refused(own: Path, refused: Callable[..., str]) -> None:
    assert "there already" in refused("notebook", "export", str(_file("all.zip")))
    assert "is no zip of a notebook" in refused("notebook", "import", "all.zip")
    assert "is not a notebook" in refused("notebook", "export", "new.zip", "--notebook", "all.zip")
    assert not Path("new.zip").exists()
    assert "no sound backup" in refused("notebook", "restore")
    assert "is not a notebook" in refused("notebook", "restore", "all.zip")


def _file(name: str) -> Path:
    path = Path(name)
    path.write_text("something else", encoding="utf-8")
    return path
