"""No damage to any file that is read leads to anything but what it says or a refusal in plain words."""

import re
import tempfile
from collections.abc import Callable, Mapping
from importlib.resources import files
from pathlib import Path
from typing import NamedTuple

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fourpatch.car.checks import car_faults
from fourpatch.car.demo import demo_car
from fourpatch.car.estimate import estimate_car
from fourpatch.car.files import load_brief, load_car, load_setup
from fourpatch.car.setup import apply_setup, baseline_setup
from fourpatch.car.writing import car_text, setup_text
from fourpatch.cli.estimate import example_brief
from fourpatch.errors import FourpatchError
from fourpatch.events.driver_style import DriverStyle
from fourpatch.events.files import load_event
from fourpatch.events.style_file import load_style, style_text
from fourpatch.track.files import load_track

CAR = demo_car("gt")
POINTS = """name = "measured, invented"
[centre_line]
kind = "points"
closed = false
file = "line.csv"
[road]
width = [{ distance = "0 m", left = "5 m", right = "5 m" }]
surface = [{ kind = "profile", start = "0 m", file = "bumps.csv" }]
"""
LINE = "\n".join(["x [m],y [m]", *(f"{5.0 * k:.1f},{0.002 * k * k:.3f}" for k in range(60))])
BUMPS = "\n".join(
    ["distance [m],left [mm],right [mm]", *(f"{0.25 * k:.2f},{k * 7919 % 13},{k % 5}" for k in range(1200))]
)
MOTION = "\n".join(
    [
        "time [s],speed [km/h],lateral acceleration [m/s**2],longitudinal acceleration [m/s**2]",
        *(f"{0.02 * k:.2f},{100 + k % 3},{k % 7 - 3},{k % 5 - 2}" for k in range(200)),
    ]
)


class Given(NamedTuple):
    """Files that belong together, and how the first is read."""

    files: Mapping[str, str]
    read: Callable[[Path], object]


def estimated(path: Path) -> None:
    """Estimate a car from a brief: what is accepted must pass the checks."""
    assert car_faults(estimate_car(load_brief(path))) == []


KINDS = {
    "car": Given({"car.toml": car_text(CAR)}, load_car),
    "set-up": Given(
        {"setup.toml": setup_text(baseline_setup(CAR), CAR)},
        lambda path: apply_setup(CAR, load_setup(path, CAR)),
    ),
    "brief": Given({"brief.toml": example_brief()}, estimated),
    "style": Given({"style.toml": style_text(DriverStyle())}, load_style),
    "track": Given(
        {"track.toml": (files("fourpatch.track") / "demo" / "chicanes.toml").read_text("utf-8")}, load_track
    ),
    "points": Given({"track.toml": POINTS, "line.csv": LINE, "bumps.csv": BUMPS}, load_track),
    "motion": Given(
        {"event.toml": 'kind = "measured-motion"\nfile = "motion.csv"\n', "motion.csv": MOTION}, load_event
    ),
}

NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
VALUE = re.compile(r'"[^"]*"|\{.*\}|\[.*\]|-?\d+(?:\.\d+)?')
INSTEAD = [
    *('"-1 kg"', '"1e308 m"', '"1e-300 N/m"', '""', '"5 m**9**9"', '"1,5 mm"', r'"\u0000"', r'"\u001b[31m"'),
    *("0", "-5", "1e308", "1e-300", "nan", "inf", "-inf", "true"),
    *("[]", "[[]]", "{}", "{ kind = 5 }", "x", ""),
]
FACTORS = [0.3, 0.3, 0.6, 1.8, 3.0, 3.0, -1.0, 1e-4, 1e4]
SIGNS = "\"'[]{}=,.#x1 -%\t\0\x1b\ufeff"
WAYS = ["value", "scale", "scale", "scale", "scale", "drop", "double", "sign", "cut"]


@st.composite
def damaged(draw: st.DrawFn, text: str) -> str:
    """Draw a text with values scaled or replaced, lines dropped or doubled, or its end missing."""
    rows = text.split("\n")
    for _ in range(draw(st.integers(1, 5))):
        place = draw(st.integers(0, len(rows) - 1))
        row = rows[place]
        match draw(st.sampled_from(WAYS)):
            case "value" if hits := list(VALUE.finditer(row)):
                hit = draw(st.sampled_from(hits))
                rows[place] = row[: hit.start()] + draw(st.sampled_from(INSTEAD)) + row[hit.end() :]
            case "scale" if hits := list(NUMBER.finditer(row)):
                hit = draw(st.sampled_from(hits))
                scaled = float(hit[0]) * draw(st.sampled_from(FACTORS))
                rows[place] = row[: hit.start()] + repr(scaled) + row[hit.end() :]
            case "drop":
                rows[place] = ""
            case "double":
                rows.insert(place, row)
            case "sign" if row:
                at = draw(st.integers(0, len(row) - 1))
                rows[place] = row[:at] + draw(st.sampled_from(SIGNS)) + row[at + 1 :]
            case "cut":
                rows = rows[: place + 1]
    return "\n".join(rows)


@pytest.mark.parametrize("kind", KINDS)
@settings(deadline=None, max_examples=60)
@given(data=st.data())
def test_damaged_input_is_read_or_refused_in_plain_words(kind: str, data: st.DataObject) -> None:
    given = KINDS[kind]
    spoilt = data.draw(st.sampled_from(sorted(given.files)))
    refusal = ""
    with tempfile.TemporaryDirectory() as folder:
        for name, text in given.files.items():
            content = data.draw(damaged(text)) if name == spoilt else text
            (Path(folder) / name).write_text(content, encoding="utf-8")
        try:
            given.read(Path(folder) / next(iter(given.files)))
        except FourpatchError as error:
            refusal = str(error)
    assert len(refusal) < 150_000  # what sixty paragraphs of 2000 signs take
    for inside in ("object at 0x", "pydantic", "validation error", "Traceback"):
        assert inside not in refusal
