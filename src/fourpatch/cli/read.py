"""`fourpatch read`: a recording of a real car, its channels, faults, laps and corners; a track made of it."""

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, TypeVar

import click

from fourpatch.cli.output import note, write_json
from fourpatch.cli.subject import json_option, made_track_options

if TYPE_CHECKING:
    from fourpatch.analysis.recorded_laps import RecordedLaps
    from fourpatch.recording.mapping import MappedColumn
    from fourpatch.recording.opened import Opened

F = TypeVar("F", bound=Callable[..., Any])


@click.group()
def read() -> None:
    """Read a recording of a real car: its channels, what is wrong with them, laps and corners."""


def _recording_options(function: F) -> F:
    """Take a recording and what is said about its columns."""
    for option in reversed(
        (
            click.argument("file"),
            click.option(
                "--column",
                "columns",
                multiple=True,
                metavar="COLUMN=CHANNEL,...",
                help='What a column is: "Acc Q=lateral_acceleration,g", "P1=damper_travel,FL,mm,reversed", '
                '"t=time,ms" or "X=none". Kept for the next file of this source.',
            ),
            click.option(
                "--agree",
                "agreed",
                multiple=True,
                metavar="QUESTION",
                help="Answer a question about the columns by yes: its name, or all. Kept too.",
            ),
            click.option(
                "--mend",
                multiple=True,
                metavar="FAULT",
                help="Mend a fault, by its name; all for all of them.",
            ),
            click.option(
                "--rate",
                type=click.FloatRange(0.0, 1e5),
                default=0.0,
                metavar="NUMBER",
                help="Rows per second, where no column is the time.",
            ),
            click.option("--afresh", is_flag=True, help="Pass over what was kept for this source."),
        )
    ):
        function = option(function)
    return function


@read.command("recording")
@_recording_options
@click.option(
    "--track", "track_name", metavar="TRACK", help="Demo track or track file whose corners they are."
)
@click.option("--open", "one_stretch", is_flag=True, help="Take it as one stretch, without laps.")
@json_option
def read_recording(file: str, track_name: str | None, one_stretch: bool, as_json: bool, **about: Any) -> None:
    """Read the recording FILE: CSV (plain or .gz), Parquet, ASAM MDF 4 or GPX 1.1.

    Which column is which channel is proposed from names, units, ranges and physics, and asked only where
    that leaves a doubt. What is wrong with a channel is said, and mended where you agree; FILE itself is
    not changed.
    """
    from fourpatch.analysis.recorded_laps import study_recording
    from fourpatch.cli.text.recording import recording_content, write_channels, write_laps
    from fourpatch.errors import RecordingError, RunError
    from fourpatch.face.named import track_by_name

    track = track_by_name(track_name) if track_name else None
    opened = _opened(file, **about)
    study: RecordedLaps | None = None
    without = ""
    try:
        study = study_recording(opened.run, track=track, one_stretch=one_stretch)
    except (RecordingError, RunError) as error:
        if track is not None:
            raise
        without = str(error)
    if as_json:
        write_json("read recording", recording_content(opened, study, without))
        return
    write_channels(opened)
    write_laps(study, without, track=track.name if track else "")


@read.command("track")
@_recording_options
@click.argument("track_file")
@made_track_options("Recorded track", of_width="Of the road, which no recording tells.")
def read_track(
    file: str,
    track_file: str,
    name: str,
    width: float,
    open_road: bool,
    backward: bool,
    force: bool,
    **about: Any,
) -> None:
    """Make a track of the line in FILE and write it to TRACK_FILE, to edit and to drive on.

    FILE is a recording of laps, of one lap or a road, or a table without times: x and y, latitude and
    longitude, distance and curvature, distance with speed and yaw rate; CSV, Parquet, ASAM MDF 4 or GPX 1.1.
    Points may be off by metres: they are smoothed, and how a lap closes is said. Of several laps it is the
    mean line. Edges, surface and slopes are not in such a file: even ones are put in for you to change.
    """
    from fourpatch.cli.export import refuse_to_write_over
    from fourpatch.recording.line_file import track_from_file
    from fourpatch.track.checks import require_sound
    from fourpatch.track.files import save_track
    from fourpatch.track.layout import lay_out
    from fourpatch.track.track import reversed_direction

    refuse_to_write_over(track_file, force)
    said = [_said(one) for one in about.pop("columns")]
    made = track_from_file(file, name=name, width=width, closed=not open_road, columns=said, **about)
    track = reversed_direction(made.track) if backward else made.track
    require_sound(track)
    layout = lay_out(track)
    save_track(track, track_file)
    note(f"Wrote {track_file}: {layout.length:.0f} m. {made.told}")
    note(f"After editing: fourpatch check track {track_file}")


def _opened(
    file: str,
    *,
    columns: Sequence[str],
    agreed: Sequence[str],
    mend: Sequence[str],
    rate: float,
    afresh: bool,
) -> "Opened":
    from fourpatch.recording.mapping import keep_mapping
    from fourpatch.recording.opened import open_recording

    said = [_said(one) for one in columns]
    opened = open_recording(file, columns=said, agreed=agreed, mend=mend, rate=rate, afresh=afresh)
    if said or agreed:
        keep_mapping(opened.mapping)
        note("What the columns are is kept for the next file of this source.")
    return opened


def _said(text: str) -> "MappedColumn":
    """Read what a user says of a column."""
    from fourpatch.errors import RecordingError
    from fourpatch.recording.mapping import MappedColumn
    from fourpatch.runs.channels import CHANNELS, WHEELS

    column, equals, rest = text.rpartition("=")
    channel, *more = (word.strip() for word in rest.split(","))
    if not equals or not column.strip() or (channel not in CHANNELS and channel not in ("time", "none")):
        import difflib

        near = difflib.get_close_matches(channel, [*CHANNELS, "time", "none"], n=3, cutoff=0.5)
        meant = f" Did you mean {' or '.join(near)}?" if near else " docs/json.md lists the channels."
        raise RecordingError(
            f'--column "{text}": write COLUMN=CHANNEL, and "{channel}" is no channel.{meant}'
        )
    wheel = next((one for one in more if one in WHEELS), "")
    unit = next((one for one in more if one not in WHEELS and one != "reversed"), "")
    return MappedColumn(
        column=column.strip(), channel=channel, wheel=wheel, unit=unit, reversed="reversed" in more
    )
