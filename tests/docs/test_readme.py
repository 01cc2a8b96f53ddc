"""What the documents tell a reader to type and to open is there."""

import re
import shlex
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from fourpatch.cli.root import root
from fourpatch.events.files import load_event

REPOSITORY = Path(__file__).parents[2]
PAGES = [
    REPOSITORY / "README.md",
    REPOSITORY / "CONTRIBUTING.md",
    *sorted((REPOSITORY / "docs").glob("*.md")),
]


def commands_in(page: Path) -> list[str]:
    """Lines of a page that a reader is to type."""
    text = page.read_text(encoding="utf-8")
    lines = re.findall(r"^(?: {4})?(fourpatch [a-z][^\n#`]*)", text, re.MULTILINE)
    return [*lines, *re.findall(r"`(fourpatch [a-z][^`]*[^`.])`", text)]


@pytest.mark.parametrize("page", PAGES, ids=lambda path: path.name)
def test_commands_exist_with_their_options(page: Path) -> None:
    for line in commands_in(page):
        words = shlex.split(line.replace("...", ""))
        command: click.Command = root
        for word in words[1:]:
            if isinstance(command, click.Group):
                found = command.get_command(click.Context(command), word)
                if found is None:
                    assert word.isupper() or word.startswith("-"), f"{page.name}: {line}"
                    break
                command = found
            elif word.startswith("--"):
                assert any(word in parameter.opts for parameter in command.params), f"{page.name}: {line}"


@pytest.mark.parametrize("page", PAGES, ids=lambda path: path.name)
def test_links_lead_somewhere(page: Path) -> None:
    for link in re.findall(r"\]\(([^)#]+)\)", page.read_text(encoding="utf-8")):
        assert link.startswith("https://") or (page.parent / link).exists(), link


@pytest.mark.parametrize("page", PAGES, ids=lambda path: path.name)
def test_files_named_are_there(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    for name in re.findall(r"`((?:docs|tests|src|benchmarks|requirements)/[\w/.-]+\.\w+)`", text):
        assert (REPOSITORY / name).exists(), name


def test_the_event_of_the_manual_is_one(tmp_path: Path) -> None:
    text = (REPOSITORY / "docs" / "event-file.md").read_text(encoding="utf-8")
    for number, block in enumerate(re.findall(r"```toml\n(.*?)```", text, re.DOTALL)):
        path = tmp_path / f"event-{number}.toml"
        path.write_text(block, encoding="utf-8")
        load_event(path)


def test_quoted_output_is_what_the_command_writes() -> None:
    # A block that begins with "$ fourpatch ..." quotes its output; "..." stands for lines left out.
    text = (REPOSITORY / "README.md").read_text(encoding="utf-8")
    quoted = re.findall(r"```text\n\$ (fourpatch [^\n]*)\n(.*?)```", text, re.DOTALL)
    assert quoted
    for line, block in quoted:
        result = CliRunner().invoke(root, shlex.split(line)[1:])
        assert result.exit_code == 0, result.stderr
        written = [" ".join(line.split()) for line in result.stdout.splitlines()]
        for shown in block.splitlines():
            if shown.strip() and shown.strip() != "...":
                assert " ".join(shown.split()) in written
