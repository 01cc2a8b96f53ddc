"""`fourpatch analyse`: what a car is at rest, how it swings, what a run of it tells; what a track is."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, get_args

import click

from fourpatch.cli.asking import add_questions, events_option
from fourpatch.cli.lap import corners, lap
from fourpatch.cli.output import note, write_json
from fourpatch.cli.quantity_type import CAR_WIDTH, HEIGHT, MARGIN, SHARE
from fourpatch.cli.subject import (
    car_argument,
    figure_option,
    json_option,
    setup_option,
    subject,
    track_argument,
)
from fourpatch.document.content import number

if TYPE_CHECKING:
    from fourpatch.car.car import Car
    from fourpatch.events.bumps import BumpEvent
    from fourpatch.events.files import Event


@click.group()
def analyse() -> None:
    """Analyse a car: at rest, at speed, over bumps, through the phases of a corner; or a track."""


add_questions(analyse)


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
@events_option
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
    from fourpatch.analysis.standard_events import standard_bumps
    from fourpatch.cli.events import events_from_files
    from fourpatch.events.bumps import BumpEvent

    if event_files:
        return events_from_files(event_files, get_args(BumpEvent), purpose="bumps are looked at")
    return {**standard_bumps(car)}


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
    from fourpatch.document.content import settings_content

    described = {name: {"kind": one.kind, **settings_content(one)} for name, one in events.items()}
    return {"mode": "rig", "events": described}


def _save(figure: Any, path: str) -> None:
    from pathlib import Path

    from fourpatch.picture.sheet import save

    save(figure, Path(path))
    note(f"Drew {path}.")
