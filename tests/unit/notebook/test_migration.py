"""A notebook of an older format is brought to the present one, whole, with a backup, or left as it was."""

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from fourpatch.errors import NotebookError
from fourpatch.notebook import database, notebook
from fourpatch.notebook.backup import backups
from fourpatch.notebook.database import format_of
from fourpatch.notebook.notebook import open_notebook
from fourpatch.notebook.tables import FORMAT

NEXT = f'''"""A later format, for the test."""

import sqlalchemy as sa
from alembic import op

revision = "0942"
down_revision = "{FORMAT}"


def upgrade() -> None:
    op.create_table("later", sa.Column("id", sa.Integer(), primary_key=True))
    op.execute("UPDATE setup SET deleted_by = 'migration'")
    op.execute("STATEMENT")
'''


@pytest.fixture
def later(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[str], None]:
    """Let this be a later version of Fourpatch, whose migration ends with a statement."""

    def become(statement: str) -> None:
        folder = tmp_path / "migrations"
        shutil.copytree(database._MIGRATIONS, folder, ignore=shutil.ignore_patterns("__pycache__"))
        (folder / "versions" / "v0942_later.py").write_text(
            NEXT.replace("STATEMENT", statement), encoding="utf-8"
        )
        monkeypatch.setattr(database, "_MIGRATIONS", folder)
        for module in (database, notebook):
            monkeypatch.setattr(module, "FORMAT", "0942")

    return become


def test_an_older_notebook_is_backed_up_and_brought_to_the_new_format(
    file: Path, later: Callable[[str], None]
) -> None:
    later("UPDATE document SET demo = 0")
    with open_notebook(file) as opened:
        (setup,) = opened.setups.listed(1)
        assert setup.deleted_by == "migration"
        assert not opened.cars.get(1).entry.demo
    assert format_of(file) == "0942"
    (copy,) = backups(file)
    assert format_of(copy) == FORMAT
    open_notebook(file).close()
    assert backups(file) == [copy]  # no second migration


def test_a_migration_that_fails_leaves_the_notebook_as_it_was(
    file: Path, later: Callable[[str], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    later("INSERT INTO no_such_table VALUES (1)")
    with pytest.raises(NotebookError, match="no_such_table"):
        open_notebook(file)
    assert format_of(file) == FORMAT
    assert len(backups(file)) == 1
    monkeypatch.undo()
    with open_notebook(file) as opened:  # by the older Fourpatch
        assert opened.setups.listed(1)[0].deleted_by is None


def test_no_backup_no_migration(file: Path, later: Callable[[str], None]) -> None:
    later("UPDATE document SET demo = 0")
    file.with_name("notebook-backups").write_text("a file where the folder should be", encoding="utf-8")
    before = file.read_bytes()
    with pytest.raises(NotebookError, match="backup cannot be written"):
        open_notebook(file)
    assert file.read_bytes() == before
