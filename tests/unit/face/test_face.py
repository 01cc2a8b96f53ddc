"""What a user types in Python: the words, what they return, what they refuse and how little they load."""

import inspect
import subprocess
import sys

import numpy as np
import pytest
from numpy.testing import assert_array_equal

import fourpatch as fp
from fourpatch.analysis.statics import statics
from fourpatch.car.demo import demo_car
from fourpatch.car.setup import apply_setup, baseline_setup
from fourpatch.errors import AdviceError, CarError, EventError, FileError, FourpatchError
from fourpatch.events.files import EVENTS
from fourpatch.events.kerb_strike import KerbStrike
from fourpatch.units import Unit


def loaded_by(code: str) -> set[str]:
    """Names of the modules a fresh start has loaded."""
    script = f"import sys\n{code}\nprint(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    return set(done.stdout.split())


def test_importing_it_loads_nothing_but_itself() -> None:
    # Under 0.2 s is the promise; a clock would need a quiet machine, this needs none.
    before = loaded_by("import importlib, types, typing")
    assert {name for name in loaded_by("import fourpatch as fp") - before} <= {"fourpatch"}


@pytest.mark.parametrize("first", ["fp.car", "import fourpatch.car.car", "from fourpatch.car import files"])
def test_a_car_can_be_asked_for_and_stays_a_package_whatever_came_first(first: str) -> None:
    code = f"import fourpatch as fp\n{first}\nfp.car('gt'), fp.track('chicanes')\nimport fourpatch.car.demo"
    assert {"fourpatch.car.demo", "fourpatch.track.demo"} <= loaded_by(
        f"{code}\nassert fourpatch.car.demo.demo_names()"
    )


def test_every_kind_of_event_is_a_word() -> None:
    assert {model.__name__ for model in EVENTS.values()} <= set(dir(fp))
    for model in EVENTS.values():
        word = getattr(fp, model.__name__)
        assert list(inspect.signature(word).parameters) == [n for n in model.model_fields if n != "kind"]
    with pytest.raises(AttributeError, match="kerb"):
        fp.kerb  # noqa: B018


def test_an_event_is_the_one_of_the_library() -> None:
    asked = {"speed": "110 km/h", "height": "40 mm"}
    assert fp.KerbStrike(**asked) == KerbStrike.model_validate(asked)
    assert fp.KerbStrike(speed=30, height=0.04) == fp.KerbStrike(speed=np.float32(30.0), height="4 cm")


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"speed": 110}, 'Did you mean "110 km/h"? If not, write "110 m/s".'),
        ({"speed": 250}, 'speed is "250 m/s", outside 7.2 to 396 km/h. Did you mean "250 km/h"?'),
        ({"height": 40}, 'height is "40 m", outside 1 to 300 mm. Did you mean "40 mm"?'),
        ({"speed": "110"}, "without a unit"),
        ({"speed": "110 kg"}, "measures something else"),
        ({"speed": float("nan")}, "speed"),
        ({"speed": True}, "not a quantity"),
        ({"shape": "ramp"}, "not one of"),
        ({"sped": 30}, "Did you mean speed"),
    ],
)
def test_what_cannot_be_meant_is_refused_with_the_likely_reading(given: dict[str, object], said: str) -> None:
    with pytest.raises(EventError) as refused:
        fp.KerbStrike(**given)
    assert said in str(refused.value)


def test_everything_that_is_wrong_is_said_at_once() -> None:
    with pytest.raises(EventError) as refused:
        fp.KerbStrike(speed=110, height=40)
    assert "speed" in str(refused.value)
    assert "height" in str(refused.value)
    assert fp.KerbStrike(speed="110 m/s").speed == 110.0  # taken at its word


@pytest.mark.parametrize("number", [5.0, 30.0, 55.0, 80.0])
def test_a_plausible_bare_number_is_si(number: float) -> None:
    unit = Unit("m/s", "km/h", 2.0, 110.0)
    assert unit.parse(unit.bare(number)) == number


def test_a_share_is_never_doubted() -> None:
    assert Unit("1", "%", 0.05, 1.0).bare(0.99) == "0.99"


def test_turning_is_stepping_and_changes_nothing_behind_ones_back() -> None:
    gt = fp.car("gt")
    stiff = gt.turn(front_rebound_low_speed=+3)
    assert stiff.setup.values["front rebound, low speed"] == gt.setup.values["front rebound, low speed"] + 3
    assert gt.setup == baseline_setup(demo_car("gt"))
    assert stiff.standing == apply_setup(gt.car, stiff.setup)
    assert stiff.turn(front_rebound_low_speed=-3).standing == gt.standing
    to = gt.turn({"front bar": "to 3"}).turn(front_bar=1)
    assert to.setup.values["front bar"] == 4.0
    assert gt.turn() is gt


@pytest.mark.parametrize(
    ("steps", "error", "said"),
    [
        ({"front_rebound": 1}, CarError, "front_rebound_low_speed"),
        ({"front_bar": 99}, AdviceError, "that many steps are not left"),
        ({"front_bar": 0.5}, AdviceError, "no whole number of steps"),
        ({"front_bar": float("inf")}, CarError, "no number of steps"),
        ({"front_bar": None}, CarError, "no number of steps"),
    ],
)
def test_what_cannot_be_turned_is_refused(
    steps: dict[str, float], error: type[FourpatchError], said: str
) -> None:
    with pytest.raises(error, match=said):
        fp.car("gt").turn(**steps)


def test_many_changes_still_have_a_name_that_a_set_up_may_have(tmp_path) -> None:
    gt = fp.car("gt")
    turned = gt.turn(dict.fromkeys(list(gt.adjusters)[:8], 1))
    turned.save_setup(tmp_path / "many.toml")
    assert fp.car("gt", tmp_path / "many.toml").standing == turned.standing


def test_a_name_that_is_none_is_refused() -> None:
    with pytest.raises(FileError, match="Did you mean gt"):
        fp.car("gtt")
    with pytest.raises(FileError, match="Did you mean chicanes"):
        fp.track("chicane")
    with pytest.raises(EventError, match='Did you mean "200 km/h"'):
        fp.car("gt").modes(speed=200)


def test_findings_of_a_run_are_tables_frames_and_pictures() -> None:
    run = fp.car("gt").run(fp.KerbStrike(speed="110 km/h", height="40 mm"))
    found = run.bumps()
    assert_array_equal(found.longest_flight, found["longest_flight"])
    assert_array_equal(found.to_dataframe().mean_load, found.mean_load)
    with pytest.raises(AttributeError, match="mean_load"):
        found.no_such  # noqa: B018
    shown = found._repr_html_()
    load = f"{float(found.mean_load.sel(corner='FL')):.0f}"
    assert f">{load}</td>" in shown
    assert load in str(found)
    assert run._repr_html_() == shown
    assert found.plot()._repr_png_().startswith(b"\x89PNG")


def test_objects_print_short() -> None:
    gt = fp.car("gt")
    kerb = fp.KerbStrike(speed="110 km/h", height="40 mm")
    assert repr(gt) == "<Demo GT, set-up baseline>"
    assert repr(kerb) == "KerbStrike(speed='110 km/h', height='40 mm')"
    assert repr(gt.car) == "Car(name='Demo GT')"
    run = gt.run(kerb)
    for one in (gt.setup, fp.track("chicanes"), gt.statics(), run, run.bumps(), run.phases()):
        assert "\n" not in repr(one)
        assert len(repr(one)) < 300, repr(one)


def test_findings_show_their_numbers_units_and_meanings() -> None:
    ride = fp.car("gt").statics().ride
    assert ride == statics(demo_car("gt")).ride
    frame = ride.to_dataframe()
    assert frame.loc["tyre_rate", "front"] == ride.tyre_rate.front
    assert frame.loc["tyre_rate", "unit"] == "N/m"
    assert "<td" in ride._repr_html_()
    assert f"{ride.tyre_rate.front / 1e3:.1f} / {ride.tyre_rate.rear / 1e3:.1f}" in str(ride)


def test_a_lap_is_that_of_the_library_along_its_distance() -> None:
    lap = fp.car("gt").lap(fp.track("chicanes"), use="97 %")
    assert lap.use == 0.97
    assert lap.lap_time == lap.study.summary.lap_time == float(lap.dataset.time[-1])
    assert lap.corners.to_dataframe().shape[0] == len(lap.corners) == len(lap.summary.corners)
    assert f"{lap.lap_time:.2f} s" in repr(lap)
    assert "turn 1" in str(lap.corners)
    assert "turn 1" in lap._repr_html_()


def test_a_driven_run_has_history_and_picture() -> None:
    run = fp.car("coupe").run(fp.StepSteer(speed="80 km/h", lateral_acceleration="3 m/s**2"))
    assert run.mode == "drive"
    assert float(run.dataset.yaw_rate.max()) > 0.0
    assert run._repr_png_().startswith(b"\x89PNG")


def test_an_error_is_a_line_in_a_notebook() -> None:
    with pytest.raises(FourpatchError) as refused:
        fp.car("gtt")
    assert refused.value._render_traceback_() == [f"FileError: {refused.value}"]
