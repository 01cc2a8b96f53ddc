"""What the tests of the command line share: the real command in this process, and files to give it."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from fourpatch.cli.root import root

Command = Callable[..., Result]


@pytest.fixture
def fourpatch(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Command:
    """Run a command line in an empty folder."""
    monkeypatch.chdir(tmp_path)

    def run(*arguments: str) -> Result:
        return CliRunner().invoke(root, list(arguments))

    return run


@pytest.fixture
def answered(fourpatch: Command) -> Callable[..., Any]:
    """Run a command with --json that must succeed, and return what it says."""

    def run(*arguments: str) -> Any:
        result = fourpatch(*arguments, "--json")
        assert result.exit_code == 0, result.stderr
        return json.loads(result.stdout)

    return run


@pytest.fixture
def refused(fourpatch: Command) -> Callable[..., str]:
    """Run a command that must refuse its input, and return the text of the refusal."""

    def run(*arguments: str) -> str:
        result = fourpatch(*arguments)
        assert result.exit_code == 2
        assert result.stdout == ""
        assert "Traceback" not in result.stderr
        assert "{" not in result.stderr.replace("{ ", "")  # an unfilled place in a text
        return result.stderr

    return run


@pytest.fixture
def car_file(fourpatch: Command, tmp_path: Path) -> Callable[..., Path]:
    """Write the demo hatchback to a file with pieces of its text replaced."""

    def write(*replaced: tuple[str, str], name: str = "my.toml") -> Path:
        path = tmp_path / name
        assert fourpatch("export", "car", "hatchback", str(path), "--force").exit_code == 0
        text = path.read_text(encoding="utf-8")
        for old, new in replaced:
            assert text.count(old) >= 1, f"{old} is not in the file"
            text = text.replace(old, new, 1)
        path.write_text(text, encoding="utf-8")
        return path

    return write
