"""Running events: options made from their settings, a summary, the whole history, a figure."""

import csv
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr
from click.testing import Result
from numpy.testing import assert_allclose

from fourpatch.events.files import EVENTS

Command = Callable[..., Result]
Answered = Callable[..., Any]


def test_every_kind_of_event_is_a_command_with_all_its_settings(fourpatch: Command) -> None:
    listed = fourpatch("run", "--help").stdout
    for kind, model in EVENTS.items():
        assert f"  {kind} " in listed
        shown = fourpatch("run", kind, "--help").stdout
        for name in model.model_fields:
            assert name == "kind" or f"--{name.replace('_', '-')} " in shown


@pytest.fixture
def given(tmp_path: Path) -> dict[str, tuple[str, ...]]:
    """What events need to be given."""
    rows = [f"{0.1 * n:.1f}, {5.0 * np.sin(0.3 * n):.4f}, {5.0 * np.cos(0.2 * n):.4f}" for n in range(800)]
    text = "\n".join(["distance [m], left [mm], right [mm]", *rows])
    (tmp_path / "surface.csv").write_text(text, encoding="utf-8")
    times = 0.05 * np.arange(120)
    rows = [f"{t:.2f}, {90.0 - 2.0 * t:.3f}, -0.556, {5.0 * np.sin(t):.4f}" for t in times]
    heading = "time [s], speed [km/h], longitudinal_acceleration [m/s^2], lateral_acceleration [m/s^2]"
    (tmp_path / "motion.csv").write_text("\n".join([heading, *rows]), encoding="utf-8")
    return {"measured-road": ("--file", "surface.csv"), "measured-motion": ("--file", "motion.csv")}


@pytest.mark.parametrize("kind", EVENTS)
def test_every_event_runs_as_it_is(kind: str, fourpatch: Command, given: dict[str, tuple[str, ...]]) -> None:
    result = fourpatch(
        "run", kind, "hatchback", *given.get(kind, ()), "--figure", "run.png", "--history", "run.csv"
    )
    assert result.exit_code == 0, result.stderr
    assert "What this means: " in result.stdout
    assert "(computed on the rig)" in result.stdout or "(computed by the drive)" in result.stdout
    assert max(map(len, result.stdout.splitlines())) <= 100
    assert Path("run.png").stat().st_size > 10_000
    assert Path("run.csv").stat().st_size > 10_000


def test_options_and_file_give_the_same_run(answered: Answered, tmp_path: Path) -> None:
    (tmp_path / "kerb.toml").write_text(
        'kind = "kerb-strike"\nheight = "30 mm"\nspeed = "90 km/h"\nshape = "sausage"\n', encoding="utf-8"
    )
    by_options = answered(
        "run", "kerb-strike", "gt", "--height", "30 mm", "--speed", "90 km/h", "--shape", "sausage"
    )
    assert answered("run", "event", "kerb.toml", "gt") == by_options
    assert by_options["event"]["height"] == {"value": 0.03, "unit": "m"}


def test_history_as_csv_and_netcdf_is_the_same(fourpatch: Command, tmp_path: Path) -> None:
    for ending in ("csv", "nc"):
        assert fourpatch("run", "braking", "coupe", "--history", f"run.{ending}").exit_code == 0
    with xr.open_dataset(tmp_path / "run.nc", engine="scipy") as dataset:
        load, time = dataset.tyre_load.values[0], dataset.time.values
        assert dataset.tyre_load.attrs["units"] == "N"
        assert dataset.attrs["car"] == "Demo coupe"
        assert dataset.attrs["car_file"] == "coupe"
        # Rounding of a difference of two times.
        assert_allclose(dataset.attrs["interval"], np.diff(time), rtol=1e-9)
    with (tmp_path / "run.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    written = np.array(
        [[float(row[f"tyre_load {corner} [N]"]) for corner in ("FL", "FR", "RL", "RR")] for row in rows]
    )
    # CSV has nine digits.
    assert_allclose(written, load, rtol=1e-8)
    assert_allclose([float(row["time [s]"]) for row in rows], time, rtol=1e-8)


def test_a_history_of_another_kind_is_refused(fourpatch: Command) -> None:
    for name, said in (
        ("run.xlsx", "a history is written as .csv or .nc"),
        ("nowhere/run.csv", "there is no folder nowhere"),
    ):
        result = fourpatch("run", "braking", "coupe", "--history", name)
        assert result.exit_code == 2
        assert result.stdout == ""  # before anything is computed
        assert said in result.stderr


def test_a_run_that_cannot_be_summed_up_is_kept_and_drawn(fourpatch: Command) -> None:
    """Steered far beyond its grip the car ends in no steady turn, so it has no characteristic values."""
    given = ("--speed", "150 km/h", "--road-wheel-angle", "12 deg", "--hold", "1 s")
    result = fourpatch("run", "step-steer", "coupe", *given, "--history", "run.nc", "--figure", "run.png")
    assert result.exit_code == 2
    assert "is not in a steady turn at the end" in result.stderr
    assert "Wrote the history to run.nc." in result.stderr
    with xr.open_dataset("run.nc", engine="scipy") as dataset:
        assert_allclose(dataset.time.values[-1], 1.3, atol=0.01)
    assert Path("run.png").stat().st_size > 10_000


def test_summary_is_of_the_history(answered: Answered, fourpatch: Command, tmp_path: Path) -> None:
    bumps = answered("run", "kerb-strike", "gt")["bumps"]
    assert fourpatch("run", "kerb-strike", "gt", "--history", "kerb.nc").exit_code == 0
    with xr.open_dataset(tmp_path / "kerb.nc", engine="scipy") as dataset:
        load, heave = dataset.tyre_load.values[0], dataset.heave.values[0]
    # The same numbers by two ways; what comes before the kerb is quiet and holds no extreme.
    assert_allclose(list(bumps["largest_load"]["value"].values()), load.max(axis=0), rtol=1e-12)
    assert_allclose(bumps["body_throw"]["value"], (heave - heave[0]).max(), rtol=1e-12)


def test_a_corner_beyond_grip_is_said_to_be_impossible(fourpatch: Command, answered: Answered) -> None:
    said = " ".join(fourpatch("run", "corner", "hatchback", "--speed", "100 km/h").stdout.split())
    assert "What this means: this car cannot follow this motion: the front would need 1" in said
    at_most = answered("run", "corner", "hatchback", "--speed", "100 km/h")["at_most"]
    assert f"slow to about {int(at_most['speed']['value'] * 3.6)} km/h" in said
    assert at_most["speed"]["unit"] == "m/s"


def test_a_corner_far_beyond_grip_is_refused(fourpatch: Command) -> None:
    result = fourpatch("run", "corner", "gt", "--radius", "20 m", "--speed", "200 km/h")
    assert result.exit_code == 2
    assert result.stdout == ""
    assert "Slow to about" in result.stderr
