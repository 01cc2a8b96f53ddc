"""How answers are written: widths, units, JSON that any program can read."""

import json

import numpy as np
import pytest
import xarray as xr

from fourpatch.cli.output import write_table
from fourpatch.document.content import dataset_content, finite, json_unit
from fourpatch.picture.head import Head


def test_a_narrow_screen_breaks_words_and_no_number(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "24")
    heads = [
        Head(text="a long name of a column", right=False),
        Head(text="load", unit="N"),
        Head(text="use", unit="%"),
    ]
    write_table(heads, [("a name that is long as well", "-12345.67", "98.765")])
    shown = capsys.readouterr().out
    assert "-12345.67" in shown
    assert "98.765" in shown
    assert "[N]" in shown


def test_no_colour_is_written_where_none_is_wanted(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    write_table([Head(text="load", unit="N")], [("1",)], title="A title")
    assert "\x1b[3" not in capsys.readouterr().out


def test_a_dataset_becomes_values_by_name_with_units() -> None:
    dataset = xr.Dataset(
        {
            "load": (("phase", "axle"), np.array([[1.0, 2.0], [3.0, np.nan]]), {"units": "N"}),
            "speed": (("time",), np.array([5.0, 6.0]), {"units": "m/s"}),
            "acceleration": ((), np.array(9.0), {"units": "m/s^2"}),
        },
        coords={
            "phase": ["entry", "exit"],
            "axle": ["front", "rear"],
            "time": ("time", [0.0, 0.5], {"units": "s"}),
        },
    )
    content = dataset_content(dataset)
    assert content["load"]["value"] == {
        "entry": {"front": 1.0, "rear": 2.0},
        "exit": {"front": 3.0, "rear": None},
    }
    assert content["speed"] == {"value": [5.0, 6.0], "unit": "m/s", "dimensions": ["time"]}
    assert content["acceleration"]["unit"] == "m/s**2"
    assert content["coordinates"]["time"] == {"value": [0.0, 0.5], "unit": "s"}
    json.dumps(content, allow_nan=False)


def test_what_json_cannot_say_is_null() -> None:
    assert finite(float("inf")) is None
    assert finite(float("nan")) is None
    assert finite(1.5) == 1.5


def test_units_are_spelled_as_in_car_files() -> None:
    assert json_unit("m/s^2") == "m/s**2"
    assert json_unit("rad/s^2") == "rad/s**2"


def test_a_table_wider_than_the_console_is_written_in_parts(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    heads = [Head(text="phase", right=False), *(Head(text=f"column {k}", unit="N") for k in range(7))]
    write_table(heads, [("entry", *(f"{-1000.5 - k}" for k in range(7)))], title="A title")
    shown = capsys.readouterr().out
    assert max(map(len, shown.splitlines())) <= 40
    assert shown.count("A title") == 1
    assert shown.count("entry") == 3  # three columns of nine in each part of forty
    assert all(f"{-1000.5 - k}" in shown for k in range(7))
