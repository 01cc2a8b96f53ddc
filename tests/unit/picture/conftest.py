"""Runs to draw."""

from collections.abc import Callable
from functools import cache

import pytest
from matplotlib.figure import Figure

from fourpatch.advice.complaint_text import read_complaint
from fourpatch.advice.cure import cure
from fourpatch.advice.rules.check import check_rules
from fourpatch.advice.sensitivity import sensitivity
from fourpatch.analysis.damper_map import damper_map
from fourpatch.analysis.frequency_response import frequency_response
from fourpatch.analysis.lap_drive import study_drive
from fourpatch.analysis.lap_scatter import study_scatter
from fourpatch.analysis.lap_summary import LapStudy, study_lap
from fourpatch.analysis.linear_model import linearise
from fourpatch.analysis.modes import car_modes
from fourpatch.analysis.ride_spectrum import measured_spectrum, ride_spectrum
from fourpatch.analysis.speed_sweep import speed_sweep
from fourpatch.analysis.standard_events import standard_corners, standard_kerb
from fourpatch.analysis.steady_cornering import steady_cornering
from fourpatch.analysis.track_corners import track_corners
from fourpatch.analysis.track_summary import study_track
from fourpatch.car.demo import demo_car
from fourpatch.car.pack import pack
from fourpatch.car.setup import baseline_setup
from fourpatch.events.braking_in_a_turn import BrakingInATurn, brake_in_a_turn
from fourpatch.events.motion import steady_inputs
from fourpatch.events.rough_road import RoughRoad
from fourpatch.events.steady_circle import SteadyCircle, steady_circle
from fourpatch.face.rig_run import run_on_rig
from fourpatch.picture.braking_in_a_turn import turn_braked_figure
from fourpatch.picture.cure import cure_figure
from fourpatch.picture.damper_map import damper_map_figure
from fourpatch.picture.damper_speed import damper_speed_figure
from fourpatch.picture.effects import effect_figure
from fourpatch.picture.frequency_response import frequency_response_figure
from fourpatch.picture.kerb_strike import kerb_figure
from fourpatch.picture.lap import lap_figure
from fourpatch.picture.lap_drive import lap_drive_figure
from fourpatch.picture.lap_scatter import lap_scatter_figure
from fourpatch.picture.modes import modes_figure
from fourpatch.picture.ride_spectrum import ride_spectrum_figure
from fourpatch.picture.rules import rules_figure
from fourpatch.picture.speed_sweep import speed_sweep_figure
from fourpatch.picture.steady_circle import steady_circle_figure
from fourpatch.picture.track_corners import track_corners_figure
from fourpatch.picture.track_map import track_figure
from fourpatch.picture.tyre_loads import tyre_load_figure
from fourpatch.track.demo import demo_track

WORDS = {"question": "What is drawn here?", "source": "A demo car; computed on the rig"}

Draw = Callable[[str], Figure]


def _effects(name: str) -> Figure:
    car = demo_car(name)
    corner = {"medium corner": standard_corners(car)["medium corner"]}
    return effect_figure(sensitivity(car, baseline_setup(car), events=corner), "medium corner")


def _cure(name: str) -> Figure:
    car = demo_car(name)
    complaints = read_complaint("pushes a little at mid-corner in slow corners").complaints
    return cure_figure(cure(car, baseline_setup(car), complaints))


def _response(name: str) -> Figure:
    import numpy as np

    car = demo_car(name)
    model = linearise(pack(car), steady_inputs(car, speed=0.0))
    return frequency_response_figure(frequency_response(model, np.geomspace(0.3, 30.0, 121)), **WORDS)


def _loads(name: str) -> Figure:
    car = demo_car(name)
    done = run_on_rig(car, standard_corners(car)["medium corner"], setup="baseline")
    return tyre_load_figure(done.dataset, done.motion.phases, **WORDS)


def _kerb(name: str) -> Figure:
    car = demo_car(name)
    done = run_on_rig(car, standard_kerb(car), setup="baseline")
    return kerb_figure(done.dataset, done.motion.phases, **WORDS)


def _circle(name: str) -> Figure:
    return steady_circle_figure(steady_cornering(steady_circle(demo_car(name), SteadyCircle())), **WORDS)


def _braked(name: str) -> Figure:
    return turn_braked_figure(brake_in_a_turn(demo_car(name), BrakingInATurn(step=2.0)), **WORDS)


def _road(name: str) -> Figure:
    car = demo_car(name)
    event = RoughRoad(duration=4.0)
    done = run_on_rig(car, event, setup="baseline")
    measured = measured_spectrum(done.history, done.motion, since=done.motion.phases[0].end)
    return ride_spectrum_figure(measured, ride_spectrum(car, event), **WORDS)


def _damper_speeds(name: str) -> Figure:
    done = run_on_rig(demo_car(name), RoughRoad(duration=4.0), setup="baseline")
    return damper_speed_figure(done.damper_speeds(split=0.025).dataset, **WORDS)


def _damper_map(name: str) -> Figure:
    car = demo_car(name)
    maps = {
        f"class {one} road": damper_map(car, RoughRoad(road_class=one, duration=2.0), axle="rear", size=7)
        for one in ("A", "B", "C", "D")
    }
    return damper_map_figure(maps, measure="grip_lost", cost=0.001, **WORDS)


@cache
def _lap(name: str) -> LapStudy:
    return study_lap(demo_car(name), demo_track(TRACKS[name]))


def _track_corners(name: str) -> Figure:
    lap = _lap(name)
    return track_corners_figure(track_corners(demo_car(name), lap.profile, lap.summary.corners), **WORDS)


def _driven(name: str) -> Figure:
    study = study_drive(demo_car(name), demo_track(TRACKS[name]), pace=0.8, margin=0.3, kerb_share=0.5)
    return lap_drive_figure(study, **WORDS)


def _laps(name: str) -> Figure:
    study = study_scatter(demo_car(name), demo_track(TRACKS[name]), laps=12, pace=0.8, margin=0.3)
    return lap_scatter_figure(study, **WORDS)


def _rules(name: str) -> Figure:
    car = demo_car(name)
    return rules_figure(check_rules(car, baseline_setup(car)), named=car.name)


FIGURES: dict[str, Draw] = {
    "rules": _rules,
    "damper map": _damper_map,
    "damper speed": _damper_speeds,
    "ride spectrum": _road,
    "braking in a turn": _braked,
    "cure": _cure,
    "effects": _effects,
    "frequency response": _response,
    "kerb": _kerb,
    "modes": lambda name: modes_figure(car_modes(demo_car(name)), **WORDS),
    "speed sweep": lambda name: speed_sweep_figure(speed_sweep(demo_car(name)), **WORDS),
    "lap": lambda name: lap_figure(_lap(name), **WORDS),
    "driven lap": _driven,
    "laps": _laps,
    "track corners": _track_corners,
    "track": lambda name: track_figure(study_track(demo_track(TRACKS[name])), **WORDS),
    "steady circle": _circle,
    "tyre loads": _loads,
}


TRACKS = {"hatchback": "chicanes", "single-seater": "long-corners"}
"""For figures of a track: one for each of the cars."""


@cache
def _drawn(kind: str, name: str) -> Figure:
    return FIGURES[kind](name)


@pytest.fixture(
    params=[(kind, name) for kind in FIGURES for name in ("hatchback", "single-seater")], ids=" ".join
)
def figure(request: pytest.FixtureRequest) -> Figure:
    """Every figure, for a car without and a car with much downforce."""
    return _drawn(*request.param)
