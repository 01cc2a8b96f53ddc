"""Runs and their channels: names, shapes, reading at other times, and what is said of missing ones."""

import numpy as np
import pytest
from numpy.testing import assert_array_equal

from fourpatch.car.demo import demo_car
from fourpatch.car.pack import pack
from fourpatch.errors import RunError
from fourpatch.events.corner import Corner
from fourpatch.events.phase import Phase
from fourpatch.events.run import run_rig, stable_step, stacked
from fourpatch.runs.channels import CHANNELS, OF_WHEELS, RECORDED
from fourpatch.runs.history import rig_dataset, rig_runs
from fourpatch.runs.run import Channel, Run
from fourpatch.units import to_si

TIME = np.array([0.0, 1.0, 2.0, 4.0])


def _run(**values):
    channels = {
        name: Channel(name=name, time=TIME, values=np.asarray(row, float)) for name, row in values.items()
    }
    phases = (Phase("entry", 0.0, 2.0), Phase("exit", 2.0, 4.0))
    return Run(name="a day", source="recording", setup="", channels=channels, phases=phases)


@pytest.mark.parametrize("name", sorted(CHANNELS))
def test_every_unit_is_one_of_si(name):
    unit = CHANNELS[name].unit
    assert to_si(1.0, unit, unit) == 1.0
    assert (name in RECORDED) <= (unit not in ("deg", "km/h", "bar"))


def test_a_rig_history_is_a_run_for_each_car_with_the_numbers_of_its_dataset():
    car = demo_car("gt")
    parameters = stacked([pack(car), pack(car)])
    motion = Corner(speed=20.0).motion(car, stable_step(parameters))
    history = run_rig(parameters, motion)
    runs, dataset = rig_runs(history, motion, ["a", "b"]), rig_dataset(history, motion, ["a", "b"])
    assert [one.setup for one in runs] == ["a", "b"]
    assert set(runs[0].channels) == set(map(str, dataset.data_vars))
    for name, channel in runs[1].channels.items():
        labelled = dataset[name]
        assert_array_equal(channel.values, labelled.isel(setup=1) if "setup" in labelled.dims else labelled)
        assert ("corner" in labelled.dims) == (name in OF_WHEELS)
    assert runs[0].phases == motion.phases


def test_a_channel_is_linear_between_and_unknown_beyond_and_beside_what_is_missing():
    run = _run(speed=[0.0, 10.0, np.nan, 30.0])
    read = run["speed"].at(np.array([-1.0, 0.5, 1.0, 1.5, 4.0, 5.0]))
    assert_array_equal(read, [np.nan, 5.0, 10.0, np.nan, 30.0, np.nan])


def test_a_channel_of_wheels_is_read_wheel_by_wheel():
    values = np.outer(TIME, [1.0, 2.0, 3.0, 4.0])
    assert_array_equal(_run(travel=values)["travel"].at(np.array([3.0])), [[3.0, 6.0, 9.0, 12.0]])


def test_missing_channels_are_all_named_with_what_they_are():
    with pytest.raises(RunError) as refused:
        _run(speed=TIME).need("speed", "yaw_rate", "travel", to="find the understeer angle")
    text = str(refused.value)
    assert "yaw rate (left positive)" in text
    assert "travel (wheel travel from static, bump positive)" in text
    assert "speed (" not in text
    assert "To find the understeer angle" in text


@pytest.mark.parametrize(
    ("name", "values", "said"),
    [("sped", TIME, "sped"), ("travel", TIME, "(4, 4)"), ("speed", TIME[1:], "(4,)")],
)
def test_what_is_no_channel_is_refused(name, values, said):
    with pytest.raises(RunError, match=said.replace("(", r"\(").replace(")", r"\)")):
        Channel(name=name, time=TIME, values=values)


def test_a_part_of_a_run_keeps_its_clock_and_its_phases():
    part = _run(speed=TIME).between(1.0, 3.0)
    assert_array_equal(part["speed"].time, [1.0, 2.0])
    assert part.phases == (Phase("entry", 1.0, 2.0), Phase("exit", 2.0, 3.0))
    assert part.name == "a day"
