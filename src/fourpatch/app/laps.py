"""Laps that all tabs share: lines and quasi-steady laps already computed, and drives as jobs."""

from collections import OrderedDict
from collections.abc import Callable, Mapping
from threading import Lock
from typing import Any, TypeVar

from fourpatch.advice.course import MARGINS, Course, track_course
from fourpatch.analysis.lap_drive import study_drive
from fourpatch.analysis.lap_profile import LapProfile, lap_profile
from fourpatch.analysis.lap_scatter import study_scatter
from fourpatch.analysis.lap_summary import LapStudy, car_width, driven_line, study_lap
from fourpatch.analysis.limits_map import Margins, limits_map
from fourpatch.analysis.track_corners import CORNERS_USE, track_corners
from fourpatch.app.answers.lap import (
    CornerPhase,
    DrivenAnswer,
    HastyLap,
    LapAnswer,
    PhasesAnswer,
    ScatterAnswer,
    corner_phases,
    driven_answer,
    hasty_lap,
    lap_answer,
    scatter_answer,
)
from fourpatch.app.answers.tracks import TrackEntry, TrackMap, track_map
from fourpatch.app.jobs import Job, Jobs
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.document.digest import digest
from fourpatch.errors import FourpatchError
from fourpatch.events.driver_style import DriverScatter, DriverStyle
from fourpatch.notebook.shelf import Shelf
from fourpatch.track.line import Line, thinned
from fourpatch.track.track import Track

DRIVEN, SCATTER = "driven lap", "laps"
"""Kinds of jobs."""

MOST_LAPS = 500
"""Laps with scatter that may be asked for at once."""

MOST_KEPT = 32
"""Laps, lines and tables of phases that are kept; a lap is about a megabyte."""

_THIN = 4  # places of a line in one of the line that is lapped in haste

T = TypeVar("T")


class Laps:
    """Made once with the shop."""

    def __init__(self, jobs: Jobs, tracks: Shelf[Track]) -> None:
        self._jobs, self._tracks = jobs, tracks
        self._kept: OrderedDict[tuple[str, ...], Any] = OrderedDict()
        self._lock = Lock()

    def tracks(self) -> tuple[list[TrackEntry], dict[str, str]]:
        """Return the tracks there are, and by name why others cannot be drawn any more."""
        drawn, faults = [], {}
        for one in self._tracks.listed():
            try:
                drawn.append(self.map(one.id).track)
            except FourpatchError as error:
                faults[one.name] = str(error)
        return drawn, faults

    def track(self, key: int) -> Track:
        """Return a track of the notebook.

        Raises
        ------
        NotebookError
            If there is none of that id, or it cannot be read any more.
        """
        return self._tracks.read(key)

    def map(self, key: int) -> TrackMap:
        """Return a track from above; raises as `track`."""
        track = self.track(key)
        return self._known(("map", _name(key, track)), lambda: track_map(key, track))

    def lap(self, car: Car, a: Setup, b: Setup, track: int) -> LapAnswer:
        """Return the quasi-steady lap with A and with B.

        Raises
        ------
        NotebookError, CarError, TrackError, EventError, SolveError
            If there is no such track, a set-up does not fit the car, or the car cannot lap the track.
        """
        first, other = apply_setup(car, a), apply_setup(car, b)
        return self._known(
            ("answer", self._mark_of(track), digest(first), digest(other)),
            lambda: lap_answer(self._lap(first, track), self._beside(first, other, track)),
        )

    def hasty(self, car: Car, a: Setup, b: Setup, track: int) -> HastyLap:
        """Return B's lap against A's as quickly as a slider moves; raises as `lap`."""
        first, other = apply_setup(car, a), apply_setup(car, b)
        study = self._lap(first, track)

        def thin_lap() -> LapProfile:
            return lap_profile(study.limits, thinned(study.line, every=_THIN))

        thin_a = self._known(("thin lap", self._mark_of(track), digest(first)), thin_lap)
        if digest(first) == digest(other):
            return hasty_lap(study, thin_a, thin_a)
        limits = limits_map(other, near=study.limits, hasty=True)
        return hasty_lap(study, thin_a, lap_profile(limits, thin_a.line))

    def phases(self, car: Car, a: Setup, b: Setup, track: int) -> PhasesAnswer:
        """Return the phases of every corner with A and with B; raises as `lap`."""
        first, other = apply_setup(car, a), apply_setup(car, b)
        return PhasesAnswer(
            a=self._phases(first, first, track), b=self._phases(first, other, track), use=CORNERS_USE
        )

    def course(self, car: Car, track: int) -> Course:
        """Return the corners of a track as the lap of a car as it is written goes through them.

        Raises as `lap`.
        """

        def found() -> Course:
            road, line = self.track(track), self._line(car, track)
            near = self._lap(car, track).limits
            return track_course(car, road, study=study_lap(car, road, use=MARGINS, line=line, near=near))

        return self._known(("course", self._mark_of(track), digest(car)), found)

    def drive(self, car: Car, setup: Setup, track: int, style: DriverStyle) -> Job:
        """Begin to practise and drive a lap, or return the job that does or did so."""
        standing, road = apply_setup(car, setup), self.track(track)
        moved = moved_of(car, setup)

        def work(job: Job) -> DrivenAnswer:
            study = study_drive(standing, road, style=style, progress=job.progress, cancelled=job.cancelled)
            return driven_answer(study, setup=moved, style=style)

        return self._jobs.start(
            DRIVEN, about(car, moved, road), self.drive_key(car, setup, track, style), work
        )

    def drive_key(self, car: Car, setup: Setup, track: int, style: DriverStyle) -> str:
        """Return what decides a driven lap."""
        standing = digest(apply_setup(car, setup))
        return f"{car.name}|{self._mark_of(track)}|{standing}|{digest(style)}"

    def scatter(
        self,
        car: Car,
        setup: Setup,
        track: int,
        style: DriverStyle,
        scatter: DriverScatter,
        *,
        laps: int,
    ) -> Job:
        """Begin to drive laps that differ as a driver's do, or return the job that does or did so."""
        standing, road = apply_setup(car, setup), self.track(track)
        moved = moved_of(car, setup)

        def work(job: Job) -> ScatterAnswer:
            study = study_scatter(
                standing,
                road,
                laps=laps,
                scatter=scatter,
                style=style,
                progress=job.progress,
                cancelled=job.cancelled,
            )
            return scatter_answer(study, setup=moved, style=style)

        key = self.scatter_key(car, setup, track, style, scatter, laps=laps)
        return self._jobs.start(SCATTER, f"{laps} laps, {about(car, moved, road)}", key, work)

    def scatter_key(
        self,
        car: Car,
        setup: Setup,
        track: int,
        style: DriverStyle,
        scatter: DriverScatter,
        *,
        laps: int,
    ) -> str:
        """Return what decides laps with scatter."""
        return f"{self.drive_key(car, setup, track, style)}|{digest(scatter)}|{laps}"

    def latest(self, kind: str, car: Car, track: int) -> Job | None:
        """Return the latest job of a kind with any set-up of a car on a track."""
        begin = f"{car.name}|{self._mark_of(track)}|"
        found = [one for one in self._jobs.all() if one.kind == kind and one.key.startswith(begin)]
        return found[-1] if found else None

    def _mark_of(self, track: int) -> str:
        return _name(track, self.track(track))

    def _line(self, car: Car, track: int) -> Line:
        return self._known(
            ("line", self._mark_of(track), f"{car_width(car):.4f}"),
            lambda: driven_line(car, self.track(track)),
        )

    def _lap(self, car: Car, track: int) -> LapStudy:
        return self._known(
            ("lap", self._mark_of(track), digest(car)),
            lambda: study_lap(car, self.track(track), line=self._line(car, track)),
        )

    def _beside(self, first: Car, other: Car, track: int) -> LapStudy:
        """Return the lap of a car, sought from that of nearly the same car."""
        if digest(first) == digest(other):
            return self._lap(first, track)
        near = self._lap(first, track).limits
        return study_lap(other, self.track(track), line=self._line(other, track), near=near)

    def _phases(self, first: Car, car: Car, track: int) -> list[CornerPhase]:
        def found() -> list[CornerPhase]:
            use = Margins(braking=CORNERS_USE, lateral=CORNERS_USE, driving=CORNERS_USE)
            near = self._lap(first, track).limits
            study = study_lap(car, self.track(track), use=use, line=self._line(car, track), near=near)
            return corner_phases(track_corners(car, study.profile, study.summary.corners))

        return self._known(("phases", self._mark_of(track), digest(first), digest(car)), found)

    def _known(self, key: tuple[str, ...], compute: Callable[[], T]) -> T:
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                kept: T = self._kept[key]
                return kept
        found = compute()
        with self._lock:
            self._kept[key] = found
            while len(self._kept) > MOST_KEPT:
                self._kept.popitem(last=False)
        return found


def moved_of(car: Car, setup: Setup) -> dict[str, float]:
    """Return the adjusters of a set-up that do not stand at their baseline."""
    positions = ((one.name, setup.position(one), one.baseline) for one in car.adjusters)
    return {name: position for name, position, baseline in positions if position != baseline}


def about(car: Car, moved: Mapping[str, float], track: Track) -> str:
    """Say in one line what is driven where."""
    changes = ", ".join(f"{name} {position:g}" for name, position in moved.items())
    return f"{car.name} on {track.name}" + (f": {changes}" if changes else ", set-up as the car comes")


def _name(key: int, track: Track) -> str:
    return f"{key}:{digest(track)}"
