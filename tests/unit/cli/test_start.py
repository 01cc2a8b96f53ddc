"""The command answers at once, lists its verbs, and never shows a traceback."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from fourpatch.cli.root import root

HEAVY = ("numba", "pint", "matplotlib", "numpy", "scipy", "xarray", "pydantic", "rich")

SCRIPT = """
import sys, time
sys.argv = ["fourpatch", *{arguments!r}]
from fourpatch.cli import main
try:
    main()
except SystemExit as end:
    code = end.code
print(code, time.process_time(), *(name for name in {heavy!r} if name in sys.modules), file=sys.stderr)
"""


def started(*arguments: str) -> tuple[int, float, list[str]]:
    script = SCRIPT.format(arguments=arguments, heavy=HEAVY)
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    code, seconds, *loaded = done.stderr.splitlines()[-1].split()
    return int(code), float(seconds), loaded


@pytest.mark.parametrize(
    "arguments", [("--help",), ("--version",), ("analyse", "--help"), ("analyse", "statics", "--help")]
)
def test_help_loads_no_heavy_library(arguments: tuple[str, ...]) -> None:
    code, _, loaded = started(*arguments)
    assert code == 0
    assert loaded == []


def test_help_answers_within_half_a_second() -> None:
    # Of processor time, so that other work on the machine does not decide; the best of three for the same
    # reason.
    assert min(started("--help")[1] for _ in range(3)) < 0.5


def test_an_unknown_command_is_bad_input() -> None:
    code, _, _ = started("advice")
    assert code == 2


def test_a_fault_of_ours_is_said_in_a_line_and_kept_in_a_file(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def broken() -> None:
        raise RuntimeError("no such thing")

    monkeypatch.setattr("fourpatch.car.demo.demo_names", broken)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    result = CliRunner().invoke(root, ["list", "cars"])
    assert result.exit_code == 1
    assert "RuntimeError: no such thing" in result.stderr
    assert "Traceback" not in result.stderr
    report = (tmp_path / "fourpatch-fault.txt").read_text(encoding="utf-8")
    assert "Traceback" in report


def test_interrupting_is_no_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted() -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("fourpatch.car.demo.demo_names", interrupted)
    result = CliRunner().invoke(root, ["list", "cars"])
    assert result.exit_code == 130
    assert "Traceback" not in result.stderr


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no such device here")
def test_output_without_room_is_no_fault_of_ours() -> None:
    script = SCRIPT.format(arguments=("list", "cars"), heavy=())
    with Path("/dev/full").open("w") as full:
        done = subprocess.run([sys.executable, "-c", script], stdout=full, stderr=subprocess.PIPE, text=True)
    said, summary = done.stderr.splitlines()
    assert said.startswith("The output cannot be written: No space left on device.")
    assert summary.split()[0] == "2"
    assert done.returncode == 0  # of the script: nothing more is written when the interpreter ends


@pytest.mark.skipif(sys.platform == "win32", reason="pipes end otherwise there")
def test_a_reader_that_has_seen_enough_is_no_fault() -> None:
    script = SCRIPT.format(arguments=("advise", "sensitivity", "--help"), heavy=())
    reader, writer = os.pipe()
    os.close(reader)
    done = subprocess.run([sys.executable, "-c", script], stdout=writer, stderr=subprocess.PIPE, text=True)
    os.close(writer)
    assert done.stderr.splitlines()[-1].split()[0] == "0"
