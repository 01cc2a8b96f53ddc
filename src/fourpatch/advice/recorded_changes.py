"""Laps of recordings as timed laps: one recording a run, its corners by how fast they are."""

from collections.abc import Sequence

import numpy as np

from fourpatch.analysis.recorded_laps import RecordedLaps
from fourpatch.errors import RecordingError
from fourpatch.recording.timed_laps import TimedLap
from fourpatch.track.corners import CornerLimits

REST = "between corners"
"""Name of what is left of a lap."""

_SAME_PLACE = 40.0  # within which a corner of one recording is that of another [m]


def recorded_laps(
    runs: Sequence[tuple[str, RecordedLaps]], *, each_corner: bool = False
) -> tuple[TimedLap, ...]:
    """Return the laps of recordings, in the order they were driven.

    Parameters
    ----------
    runs : set-up and what was found in its recording.
    each_corner : whether every corner is a part of its own; if not, slow, medium and fast ones together are.

    Raises
    ------
    RecordingError
        If a recording was taken as one stretch, or has other corners than the first.

    Notes
    -----
    A corner is slow, medium or fast by its mean slowest speed over all laps, at the bounds of
    `track.corners.CornerLimits`. Laps of another length than most (out, in) are marked as left out.
    """
    groups = _groups(runs, each_corner)
    found: list[TimedLap] = []
    for run, (setup, study) in enumerate(runs, start=1):
        times = {(one.lap, one.corner): one.time for one in study.corner_rows}
        for place, row in enumerate(study.lap_rows, start=1):
            parts = {
                name: sum(times[row.lap, corner] for corner in corners)
                for name, corners in groups.items()
                if all((row.lap, corner) in times for corner in corners)
            }
            if len(parts) == len(groups) and not each_corner:
                parts[REST] = row.time - sum(parts.values())
            found.append(
                TimedLap(
                    run=run,
                    setup=setup,
                    lap=place,
                    time=row.time,
                    parts=parts,
                    left_out=row.kind != "like the others",
                )
            )
    return tuple(found)


def _groups(runs: Sequence[tuple[str, RecordedLaps]], each_corner: bool) -> dict[str, list[str]]:
    """Return which corners belong together, by name."""
    first = runs[0][1]
    for setup, study in runs:
        if study.laps is None:
            raise RecordingError(f"the recording with {setup} was taken as one stretch; laps are compared.")
        places = [(one.start, two.start) for one, two in zip(first.corners, study.corners, strict=False)]
        same = all(abs(one - two) < _SAME_PLACE for one, two in places)
        if len(first.corners) != len(study.corners) or not same:
            raise RecordingError(
                f"the recording with {setup} shows {len(study.corners)} corners, the first "
                f"{len(first.corners)}, or not in the same places. Name the track, --track, so that corners "
                "are those of the track."
            )
    numbers = list(dict.fromkeys(one.corner for _, study in runs for one in study.corner_rows))
    if each_corner:
        return {f"corner {number}": [number] for number in numbers}
    limits = CornerLimits()
    groups: dict[str, list[str]] = {"slow": [], "medium": [], "fast": []}
    for number in numbers:
        speeds = [one.slowest_speed for _, study in runs for one in study.corner_rows if one.corner == number]
        speed = float(np.mean(speeds))
        kind = "slow" if speed < limits.slow_below else "fast" if speed > limits.fast_above else "medium"
        groups[kind].append(number)
    return {
        f"{kind} corner{'s' if len(members) > 1 else ''} {', '.join(members)}": members
        for kind, members in groups.items()
        if members
    }
