"""`run lap`: the analysis's numbers, readable; files; refusals; and driver's style files."""

import json
import os
import signal
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import xarray as xr
from click.testing import CliRunner, Result
from numpy.testing import assert_allclose

from fourpatch.analysis import driver_plan, driver_scatter, lap_drive, pace_search
from fourpatch.cli.root import root
from fourpatch.events.driver_style import DriverStyle
from fourpatch.events.style_file import load_style

Command = Callable[..., Result]
MARGIN = ("--margin", "0.3 m")


@pytest.fixture(scope="module")
def searched(oval_file: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Any, Path]:
    """What the command says of a searched lap, and the folder of its files."""
    folder = tmp_path_factory.mktemp("lap")
    files = ("--figure", str(folder / "drawn.svg"), "--history", str(folder / "lap.nc"))
    command = ["run", "lap", "gt", "--track", str(oval_file), *MARGIN, "--json", *files]
    result = CliRunner().invoke(root, command)
    assert result.exit_code == 0, result.stderr
    return json.loads(result.stdout), folder


def test_the_pace_is_the_highest_that_is_borne(searched: tuple[Any, Path]) -> None:
    said, _ = searched
    assert said["mode"] == "drive"
    lap = said["lap"]
    borne = {one["pace"]["value"]: one["outcome"] == "in hand" for one in lap["tried"]}
    pace = lap["pace"]["value"]
    assert all(good for tried, good in borne.items() if tried <= pace)
    if lap["first_bad_pace"]["value"] is None:
        assert pace == max(borne)
    else:
        assert min(tried for tried in borne if tried > pace) == lap["first_bad_pace"]["value"]
        assert lap["first_trouble"]
    assert lap["trouble"] == ""
    share = lap["quasi_steady_lap_time"]["value"] / lap["lap_time"]["value"]
    assert_allclose(lap["speed_share"]["value"], share, rtol=1e-12)
    assert_allclose(sum(one["time"]["value"] for one in lap["sectors"]), lap["lap_time"]["value"], rtol=1e-12)


def test_files_are_written(searched: tuple[Any, Path]) -> None:
    said, folder = searched
    assert (folder / "drawn.svg").stat().st_size > 10_000
    with xr.open_dataset(folder / "lap.nc", engine="scipy") as history:
        # Time 0 is at the start line; what is driven goes a little beyond the end.
        assert float(history.time[0]) < 0.0
        assert float(history.time[-1]) > said["lap"]["lap_time"]["value"]
        assert history.attrs["event"] == "lap"
        # As any other run says whose it is.
        assert [history.attrs[name] for name in ("car", "setup", "car_file")] == ["Demo GT", "baseline", "gt"]


def test_tables_fit_a_hundred_columns(oval_file: Path, fourpatch: Command) -> None:
    result = fourpatch("run", "lap", "gt", "--track", str(oval_file), *MARGIN, "--pace", "85 %")
    assert result.exit_code == 0, result.stderr
    assert max(map(len, result.stdout.splitlines())) <= 100
    text = result.stdout.replace("\n", " ")
    for said in ("at a pace of 85.0 %", "quasi-steady on the same line", "Kerbs", "assumed constants"):
        assert said in text
    assert "What this means: The driver takes" in text
    assert "This pace is borne" in text


def test_an_open_track(fourpatch: Command, tmp_path: Path) -> None:
    (tmp_path / "hill.toml").write_text(
        """name = "bend, invented"
[centre_line]
kind = "sections"
closed = false
sections = [
    { kind = "straight", length = "80 m" },
    { kind = "clothoid", length = "20 m" },
    { kind = "arc", radius = "60 m", angle = "60 deg", direction = "right" },
    { kind = "clothoid", length = "20 m" },
    { kind = "straight", length = "80 m" },
]
[road]
width = [{ distance = "0 m", left = "5 m", right = "5 m" }]
surface = [{ kind = "road-class", start = "0 m", road_class = "A" }]
""",
        encoding="utf-8",
    )
    result = fourpatch("run", "lap", "gt", "--track", "hill.toml", "--pace", "80 %", "--json")
    assert result.exit_code == 0, result.stderr
    said = json.loads(result.stdout)
    assert said["heat"] is None  # nothing is driven over and over
    assert said["lap"]["lap_time"]["value"] > said["lap"]["quasi_steady_lap_time"]["value"]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("gt", "--track", "chicane"), "Did you mean chicanes?"),
        (("gt",), "--track"),
        (("gt", "--track", "chicanes", "--pace", "300 %"), "outside 30 to 120 %"),
        (("gt", "--track", "chicanes", "--pace", "0.9 m"), "measures something else"),
        (("gt", "--track", "chicanes", "--kerb-share", "110 %"), "outside 0 to 100 %"),
        (("gt", "--track", "chicanes", "--margin", "4.9 m"), "Take a smaller margin"),
        (("gt", "--track", "chicanes", "--style", "none.toml"), "there is no such file"),
        (("gt", "--track", "chicanes", "--figure", "drawn.bmp"), ".svg"),
        (("gt", "--track", "chicanes", "--seed", "-1"), "--seed"),
    ],
)
def test_refusals(arguments: tuple[str, ...], said: str, refused: Callable[..., str]) -> None:
    assert said in refused("run", "lap", *arguments)


def interrupting(times: int, driven: Any) -> Any:
    """Do what ``driven`` does, with a Ctrl-C when it has been done so many times."""
    done: list[int] = []

    def drive(*given: Any, **more: Any) -> Any:
        found = driven(*given, **more)
        done.append(1)
        if len(done) == times:
            os.kill(os.getpid(), signal.SIGINT)
        return found

    return drive


@pytest.fixture
def ctrl_c() -> Iterator[None]:
    """Let Ctrl-C do what it does at a prompt, whatever the test runner made of it."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


@pytest.mark.usefixtures("ctrl_c")
def test_a_stopped_search_shows_the_best_lap_known(
    fourpatch: Command, oval_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pace_search, "laps_in_hand", interrupting(1, pace_search.laps_in_hand))
    result = fourpatch("run", "lap", "gt", "--track", str(oval_file), *MARGIN, "--json")
    assert result.exit_code == 130
    said = json.loads(result.stdout)
    assert said["stopped"] is True
    borne = [one["pace"]["value"] for one in said["lap"]["tried"] if one["outcome"] == "in hand"]
    assert said["lap"]["pace"]["value"] == max(borne)
    assert "Ctrl-C once more" in result.stderr


@pytest.mark.usefixtures("ctrl_c")
def test_stopped_before_a_lap_there_is_nothing_to_show(
    fourpatch: Command, oval_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(lap_drive, "driver_plan", interrupting(1, lap_drive.driver_plan))
    result = fourpatch("run", "lap", "gt", "--track", str(oval_file), *MARGIN, "--pace", "80 %")
    assert (result.exit_code, result.stdout) == (130, "")
    assert "Stopped before there was anything to show: the lap was not driven yet." in result.stderr


@pytest.mark.usefixtures("ctrl_c")
@pytest.mark.parametrize("as_json", [True, False])
def test_stopped_laps_are_kept(
    fourpatch: Command, oval_file: Path, monkeypatch: pytest.MonkeyPatch, as_json: bool
) -> None:
    monkeypatch.setattr(driver_scatter, "_AT_ONCE", 4)
    monkeypatch.setattr(driver_plan, "drive_lap", interrupting(2, driver_plan.drive_lap))
    command = ("run", "laps", "gt", "--track", str(oval_file), *MARGIN, "--pace", "80 %", "--laps", "20")
    result = fourpatch(*command, "--figure", "laps.svg", *(["--json"] if as_json else []))
    assert result.exit_code == 130
    assert Path("laps.svg").stat().st_size > 10_000
    if as_json:
        said = json.loads(result.stdout)
        assert said["stopped"] is True
        assert (said["laps"]["laps"]["value"], said["laps"]["asked"]["value"]) == (8, 20)
        assert len(said["each"]["lap_time"]["value"]) == 8
    else:
        assert "8 of 20 laps; stopped" in result.stdout


def test_an_exported_style_is_the_usual_one(fourpatch: Command, tmp_path: Path) -> None:
    assert fourpatch("export", "style", "mine.toml").exit_code == 0
    assert load_style(tmp_path / "mine.toml") == DriverStyle()
    assert "# How far ahead he aims to be on his line again" in (tmp_path / "mine.toml").read_text("utf-8")
    assert "no faults" in fourpatch("check", "style", "mine.toml").stdout
    result = fourpatch("export", "style", "mine.toml")
    assert result.exit_code == 2
    assert "--force" in result.stderr


def test_a_style_keeps_what_it_leaves_out(answered: Callable[..., Any], tmp_path: Path) -> None:
    (tmp_path / "calm.toml").write_text('brake_rate = "2 1/s"\n', encoding="utf-8")
    found = answered("check", "style", "calm.toml")["settings"]
    assert found["brake_rate"] == {"value": 2.0, "unit": "1/s"}
    assert found["preview"]["value"] == DriverStyle().preview


def test_a_faulty_style_is_refused_as_a_whole(refused: Callable[..., str], tmp_path: Path) -> None:
    (tmp_path / "odd.toml").write_text(
        'preview = "9 s"\nlokc = "10 %"\nsteering_rate = 12\n', encoding="utf-8"
    )
    said = refused("check", "style", "odd.toml")
    assert 'odd.toml, line 1: preview is "9 s", outside 0.2 to 3 s' in said
    assert "Did you mean lock?" in said
    assert "steering_rate is 12, without a unit" in said
    assert "odd.toml, line 1" in refused("run", "lap", "gt", "--track", "chicanes", "--style", "odd.toml")
