"""`fourpatch analyse`: what a car is at rest, how it swings, what a run of it tells; what a track is."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, get_args

import click

from fourpatch.cli.lap import corners, lap
from fourpatch.cli.output import dataset_content, note, number, write_json, write_text
from fourpatch.cli.quantity_type import CAR_WIDTH, DAMPER_SPEED, HEIGHT, MARGIN, SHARE, SPEED
from fourpatch.cli.subject import (
    car_argument,
    figure_option,
    json_option,
    setup_option,
    subject,
    track_argument,
)

if TYPE_CHECKING:
    from fourpatch.car.car import Car
    from fourpatch.events.bumps import BumpEvent
    from fourpatch.events.files import Event

_speed = click.option(
    "--speed",
    type=SPEED,
    default=0.0,
    metavar="QUANTITY",
    help="Of the car, which sets downforce; at rest if left out.",
)
_events = click.option(
    "--event",
    "event_files",
    multiple=True,
    metavar="FILE",
    help="Event file; may be repeated. Standard events if left out.",
)

PATTERNS = ("in phase", "left against right", "front against rear", "driven over")


@click.group()
def analyse() -> None:
    """Analyse a car: at rest, at speed, over bumps, through the phases of a corner; or a track."""


@analyse.command()
@car_argument
@setup_option
@json_option
def statics(car: str, setup_file: str | None, as_json: bool) -> None:
    """Loads, rates, frequencies, damping, roll, load transfer and steady handling of CAR at rest."""
    from fourpatch.analysis.modes import car_modes
    from fourpatch.analysis.quantity import json_ready
    from fourpatch.analysis.statics import statics as find
    from fourpatch.cli.engine import announce_compilation
    from fourpatch.cli.text.statics import write_statics

    about = subject(car, setup_file)
    announce_compilation()
    found = find(about.standing)
    if as_json:
        write_json("analyse statics", {**about.content(), "mode": "at rest", "statics": json_ready(found)})
        return
    write_text(f"{about.named} at rest")
    write_statics(found, car_modes(about.standing))


@analyse.command()
@car_argument
@setup_option
@_speed
@json_option
@figure_option
def modes(car: str, setup_file: str | None, speed: float, as_json: bool, figure: str | None) -> None:
    """Natural motions of CAR: frequency, damping and shape, from its linear model."""
    from fourpatch.analysis.modes import car_modes
    from fourpatch.analysis.quantity import json_ready
    from fourpatch.cli.engine import announce_compilation
    from fourpatch.cli.text.modes import write_modes

    about = subject(car, setup_file)
    announce_compilation()
    found = car_modes(about.standing, speed=speed)
    if as_json:
        content = {**about.content(), "mode": "linear model", "speed": {"value": speed, "unit": "m/s"}}
        write_json("analyse modes", {**content, "modes": json_ready(found)})
    else:
        write_modes(found, title=f"{about.named}: natural motions at {speed * 3.6:.0f} km/h (linear model)")
    if figure:
        from fourpatch.picture.modes import modes_figure

        question = "How does the car swing, and how fast does it calm down?"
        _save(
            modes_figure(found, question=question, source=f"{about.named}; {_at(speed)}, linear model"),
            figure,
        )


@analyse.command("frequency-response")
@car_argument
@setup_option
@_speed
@click.option(
    "--road", type=click.Choice(PATTERNS), default="in phase", help="How the road moves the four wheels."
)
@json_option
@figure_option
def frequency_response(
    car: str, setup_file: str | None, speed: float, road: Any, as_json: bool, figure: str | None
) -> None:
    """Load, wheel travel and body motion of CAR per millimetre of a wavy road, against frequency."""
    import numpy as np

    from fourpatch.analysis.frequency_response import frequency_response as find
    from fourpatch.analysis.linear_model import linearise
    from fourpatch.car.pack import pack
    from fourpatch.cli.engine import announce_compilation
    from fourpatch.cli.text.frequency_response import response_content, write_response
    from fourpatch.events.motion import steady_inputs

    about = subject(car, setup_file)
    announce_compilation()
    model = linearise(
        pack(about.standing), steady_inputs(about.standing, speed=speed), name="frequency response"
    )
    found = find(model, np.geomspace(0.3, 30.0, 241), pattern=road, speed=speed if speed > 0.0 else None)
    source = f"{about.named}; {_at(speed)}, road {road}, linear model"
    if as_json:
        content = {
            **about.content(),
            "mode": "linear model",
            "speed": {"value": speed, "unit": "m/s"},
            "road": road,
        }
        write_json("analyse frequency-response", {**content, "response": response_content(found)})
    else:
        write_response(found, title=source)
    if figure:
        from fourpatch.picture.frequency_response import frequency_response_figure

        question = "How does the car answer bumps of each frequency?"
        _save(frequency_response_figure(found, question=question, source=source), figure)


@analyse.command("speed-sweep")
@car_argument
@setup_option
@json_option
@figure_option
def speed_sweep(car: str, setup_file: str | None, as_json: bool, figure: str | None) -> None:
    """Ride heights, downforce, balance, drag and loads of CAR from rest to top speed."""
    from fourpatch.analysis.quantity import json_ready
    from fourpatch.analysis.speed_sweep import speed_sweep as find
    from fourpatch.cli.engine import announce_compilation
    from fourpatch.cli.text.speed_sweep import write_sweep

    about = subject(car, setup_file)
    announce_compilation()
    found = find(about.standing)
    if as_json:
        write_json(
            "analyse speed-sweep", {**about.content(), "mode": "rig, settled", "sweep": json_ready(found)}
        )
    else:
        write_sweep(found, title=f"{about.named}: settled at each speed, straight ahead (rig)")
    if figure:
        from fourpatch.picture.speed_sweep import speed_sweep_figure

        question = "What does speed do to ride height, load and balance?"
        source = f"{about.named}; settled at each speed on the rig, straight ahead"
        _save(speed_sweep_figure(found, question=question, source=source), figure)


@analyse.command("phase-balance")
@car_argument
@setup_option
@_events
@json_option
def phase_balance(car: str, setup_file: str | None, event_files: tuple[str, ...], as_json: bool) -> None:
    """Who runs out of grip first in each phase of a corner, and by which path load is moved."""
    from fourpatch.analysis.standard_events import standard_corners
    from fourpatch.cli.engine import announce_compilation
    from fourpatch.cli.events import events_from_files
    from fourpatch.cli.text.phase_balance import write_phases
    from fourpatch.events.braking import Braking
    from fourpatch.events.corner import Corner
    from fourpatch.face.rig_run import run_on_rig

    about = subject(car, setup_file)
    announce_compilation()
    events: dict[str, Corner | Braking] = {}
    if event_files:
        events |= events_from_files(event_files, (Corner, Braking), purpose="phases are looked at")
    else:
        events |= standard_corners(about.standing)
    found = {
        name: run_on_rig(about.standing, event, setup=about.setup.name) for name, event in events.items()
    }
    if as_json:
        content = {name: dataset_content(one.phases().dataset) for name, one in found.items()}
        write_json("analyse phase-balance", {**about.content(), **_mode(events), "phases": content})
        return
    for name, one in found.items():
        title = f"{about.named}: {name} (computed on the rig)"
        write_phases(one.phases().dataset, title=title, at_most=one.at_most())


@analyse.command("contact-patch-load")
@car_argument
@setup_option
@_events
@json_option
def contact_patch_load(car: str, setup_file: str | None, event_files: tuple[str, ...], as_json: bool) -> None:
    """What bumps and kerbs do to the load and the grip of the four tyres, and to the body."""
    from fourpatch.cli.engine import announce_compilation
    from fourpatch.cli.text.contact_patch_load import write_bumps
    from fourpatch.face.rig_run import run_on_rig

    about = subject(car, setup_file)
    announce_compilation()
    events = _bump_events(about.standing, event_files)
    found = {
        name: run_on_rig(about.standing, event, setup=about.setup.name) for name, event in events.items()
    }
    if as_json:
        content = {name: dataset_content(one.bumps().dataset) for name, one in found.items()}
        write_json("analyse contact-patch-load", {**about.content(), **_mode(events), "bumps": content})
        return
    for name, one in found.items():
        write_bumps(one.bumps().dataset, title=f"{about.named}: {name} (computed on the rig)")


@analyse.command("damper-speed")
@car_argument
@setup_option
@_events
@click.option(
    "--split",
    type=DAMPER_SPEED,
    default=0.025,
    metavar="QUANTITY",
    help="Damper speed that parts low from high; 25 mm/s if left out.",
)
@json_option
@figure_option
def damper_speed(
    car: str,
    setup_file: str | None,
    event_files: tuple[str, ...],
    split: float,
    as_json: bool,
    figure: str | None,
) -> None:
    """Share of the time each damper moves at each speed, over bumps and kerbs."""
    from fourpatch.cli.engine import announce_compilation
    from fourpatch.cli.text.damper_speed import write_damper_speeds
    from fourpatch.face.rig_run import run_on_rig

    about = subject(car, setup_file)
    announce_compilation()
    events = _bump_events(about.standing, event_files)
    found = {
        name: run_on_rig(about.standing, event, setup=about.setup.name).damper_speeds(split=split)
        for name, event in events.items()
    }
    if as_json:
        content = {name: dataset_content(one.dataset) for name, one in found.items()}
        described = {**about.content(), **_mode(events), "split": {"value": split, "unit": "m/s"}}
        write_json("analyse damper-speed", {**described, "damper_speeds": content})
    else:
        for name, one in found.items():
            write_damper_speeds(one.dataset, title=f"{about.named}: {name} (computed on the rig)")
    if figure:
        _save(next(iter(found.values())).plot(), figure)


@analyse.command("damper-map")
@car_argument
@setup_option
@click.option("--axle", type=click.Choice(("front", "rear")), required=True, help="Whose dampers are varied.")
@click.option(
    "--part",
    type=click.Choice(("all", "low", "high")),
    default="all",
    help="Which part of their curves: all, below the first knee, or beyond it.",
)
@_events
@click.option(
    "--road-class",
    "road_classes",
    multiple=True,
    type=click.Choice(tuple("ABCDEFGH")),
    help="Random road of that class of ISO 8608; may be repeated, to see them beside each other.",
)
@click.option(
    "--kerb-height", type=HEIGHT, metavar="QUANTITY", help="The standard kerb, of this height: 1 to 300 mm."
)
@click.option(
    "--measure",
    type=click.Choice(("grip_lost", "load_variation")),
    default="grip_lost",
    help="What is to be small.",
)
@click.option(
    "--cost",
    type=SHARE,
    default=0.001,
    metavar="QUANTITY",
    help='What a good ratio of rebound to bump may cost above the best, in the measure; "0.1 %" if left out.',
)
@json_option
@figure_option
def damper_map(
    car: str,
    setup_file: str | None,
    axle: Any,
    part: Any,
    event_files: tuple[str, ...],
    road_classes: tuple[str, ...],
    kerb_height: float | None,
    measure: str,
    cost: float,
    as_json: bool,
    figure: str | None,
) -> None:
    """Grip over bump and rebound of an axle: where its dampers work best, and which ratios are good."""
    from fourpatch.analysis.damper_map import damper_map as find
    from fourpatch.analysis.damper_map import present_ratio
    from fourpatch.car.pack import pack
    from fourpatch.cli.engine import announce_compilation
    from fourpatch.cli.text.damper_map import maps_content, write_maps

    about = subject(car, setup_file)
    announce_compilation()
    events = _map_events(about.standing, event_files, road_classes, kerb_height)
    maps = {name: find(about.standing, event, axle=axle, part=part) for name, event in events.items()}
    ratio = present_ratio(pack(about.standing), axle=axle, part=part)
    if as_json:
        described = {
            **about.content(),
            **_mode(events),
            "axle": axle,
            "part": part,
            "measure": measure,
            "cost": {"value": cost, "unit": "1"},
            "ratio": {"value": ratio, "unit": "1"},
        }
        maps_as_json = maps_content(maps, measure=measure, cost=cost, ratio=ratio)
        write_json("analyse damper-map", {**described, "maps": maps_as_json})
    else:
        parts = {"all": "whole curves", "low": "below the first knee", "high": "beyond the first knee"}
        title = f"{about.named}: {axle} dampers, {parts[part]} (computed on the rig)"
        write_maps(maps, measure=measure, cost=cost, ratio=ratio, title=title)
    if figure:
        from fourpatch.picture.damper_map import damper_map_figure

        source = f"{about.named}; {axle} dampers, computed on the rig; contours: cost above the best [points]"
        question = f"Which bump and rebound cost the least {measure.replace('_', ' ')}?"
        if measure == "grip_lost":
            question = "Which bump and rebound leave the most grip?"
        drawn = damper_map_figure(maps, measure=measure, cost=cost, question=question, source=source)
        _save(drawn, figure)


def _map_events(
    car: "Car", files: tuple[str, ...], road_classes: tuple[str, ...], kerb_height: float | None
) -> "dict[str, BumpEvent]":
    """Return the events asked for, or the standard road and kerb if none is."""
    from fourpatch.analysis.standard_events import standard_kerb, standard_road

    events: dict[str, BumpEvent] = _bump_events(car, files) if files else {}
    road, kerb = standard_road(car), standard_kerb(car)
    for name in road_classes:
        events[f"class {name} road"] = road.model_copy(update={"road_class": name})
    if kerb_height is not None:
        events[f"kerb of {1e3 * kerb_height:g} mm"] = kerb.model_copy(update={"height": kerb_height})
    return events or {f"class {road.road_class} road": road, f"kerb of {1e3 * kerb.height:g} mm": kerb}


def _bump_events(car: "Car", event_files: tuple[str, ...]) -> "dict[str, BumpEvent]":
    """Return the events of some files, or the standard road and kerb."""
    from fourpatch.analysis.standard_events import standard_kerb, standard_road
    from fourpatch.cli.events import events_from_files
    from fourpatch.events.bumps import BumpEvent

    if event_files:
        return events_from_files(event_files, get_args(BumpEvent), purpose="bumps are looked at")
    return {"rough road": standard_road(car), "kerb": standard_kerb(car)}


@analyse.command("track")
@track_argument
@click.option(
    "--car-width",
    type=CAR_WIDTH,
    metavar="QUANTITY",
    help="Over the tyres, for the line of least curvature; 1.9 m if left out.",
)
@click.option(
    "--margin",
    type=MARGIN,
    metavar="QUANTITY",
    help="Between car and edge of the road; 0.3 m if left out.",
)
@json_option
@figure_option
def track(
    track: str, car_width: float | None, margin: float | None, as_json: bool, figure: str | None
) -> None:
    """Length, widths, slopes and corners of TRACK, and its line of least curvature."""
    from fourpatch.analysis.quantity import json_ready
    from fourpatch.analysis.track_summary import study_track
    from fourpatch.cli.text.track import write_track
    from fourpatch.face.named import track_by_name
    from fourpatch.track.racing_line import DEFAULT_CAR_WIDTH, DEFAULT_MARGIN

    about = track_by_name(track)
    width = DEFAULT_CAR_WIDTH if car_width is None else car_width
    room = DEFAULT_MARGIN if margin is None else margin
    study = study_track(about, car_width=width, margin=room)
    line = f"line of least curvature for a car {width:g} m wide, {room:g} m off the edges"
    if as_json:
        content = {
            "track": about.name,
            "closed": study.layout.closed,
            "car_width": number(width, "m"),
            "margin": number(room, "m"),
            "summary": json_ready(study.summary),
        }
        write_json("analyse track", content)
    else:
        write_track(study, title=f"{about.name}; {line}")
    if figure:
        from fourpatch.picture.track_map import track_figure

        question = "Where does the track turn, and how straight can it be driven?"
        _save(track_figure(study, question=question, source=f"{about.name}; {line}"), figure)


analyse.add_command(lap)
analyse.add_command(corners)


def _mode(events: "Mapping[str, Event]") -> dict[str, Any]:
    from fourpatch.cli.events import settings

    described = {name: {"kind": one.kind, **settings(one, for_json=True)} for name, one in events.items()}
    return {"mode": "rig", "events": described}


def _at(speed: float) -> str:
    return f"at {speed * 3.6:.0f} km/h" if speed > 0.0 else "at rest"


def _save(figure: Any, path: str) -> None:
    from pathlib import Path

    from fourpatch.picture.sheet import save

    save(figure, Path(path))
    note(f"Drew {path}.")
