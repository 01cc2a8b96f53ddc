"""A car driven round a track after practice, or at a given pace, beside its quasi-steady lap."""

from dataclasses import dataclass
from typing import Annotated, Any

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.driven_lap import DrivenCorner, DrivenLap, KerbStruck, LapRows, driven_lap
from fourpatch.analysis.driver_plan import DriverPlan, driver_plan
from fourpatch.analysis.found_hands import found_hands
from fourpatch.analysis.lap_heat import HEAT, LapHeat, lap_heat
from fourpatch.analysis.lap_summary import SECTORS, LapCorner, car_width, lap_summary
from fourpatch.analysis.pace_search import PaceSearch, search_pace
from fourpatch.analysis.practice import Practice, practise
from fourpatch.analysis.quantity import (
    ALONG,
    ANGLE,
    FORCE,
    LENGTH,
    RATIO,
    SHARE,
    SPEED,
    TIME,
    Corners,
    Findings,
)
from fourpatch.car.car import Car
from fourpatch.errors import SolveError
from fourpatch.events.drive_inputs import DriveRoad
from fourpatch.events.driver_style import DriverStyle
from fourpatch.events.lap import LapRun, lay_lap_road
from fourpatch.events.run import FEW
from fourpatch.long_work import Cancelled, Progress, go_on, never, stretch, unwatched
from fourpatch.track.corners import find_corners
from fourpatch.track.kerb_passage import kerb_passages
from fourpatch.track.layout import TrackLayout, lay_out
from fourpatch.track.line import Line
from fourpatch.track.racing_line import FLAT_KERB, least_curvature_line, with_kerbs
from fourpatch.track.track import Track
from fourpatch.track.track_road import track_road

Array = NDArray[np.float64]

DRIVER_MARGIN = 0.6
"""Between the side of the car on its line and the edge, for a driver who is off it.  Chosen here. [m]"""

IN_HAND, OUT_OF_HAND = "in hand", "off or lost"

_INTERVAL = 0.01  # between stored instants of the lap that is shown [s]

_PLANNED, _HANDS, _SEARCHED, _READY = 0.07, 0.2, 0.3, 0.95
"""Shares of the time, measured, at which plan, hands, pace and practice are done."""


class TriedPace(Findings):
    """A pace that was tried."""

    outcome: str
    """Whether the car stayed on the road and in hand."""
    pace: Annotated[float, SHARE]
    """Of the quasi-steady speeds."""
    lap_time: Annotated[float, TIME]
    """None if the lap was not finished."""


class DrivenSector(Findings):
    """A part of the lap."""

    time: Annotated[float, TIME]
    """It took."""
    quasi_steady_time: Annotated[float, TIME]
    """It takes quasi-steadily."""


class CornerDriven(Findings):
    """How the lap passed a corner, beside the quasi-steady lap on the same line."""

    corner: str
    """Its number, counted from the start line."""
    direction: str
    """Which way it turns: left or right."""
    start: Annotated[float, ALONG]
    """Along the centre line, where its radius falls below 400 m."""
    end: Annotated[float, ALONG]
    """Where that is beyond 400 m again."""
    entry_speed: Annotated[float, SPEED]
    """At the start."""
    slowest_speed: Annotated[float, SPEED]
    """Between start and end."""
    exit_speed: Annotated[float, SPEED]
    """At the end."""
    time: Annotated[float, TIME]
    """From start to end; none if the car did not come so far."""
    quasi_steady_entry_speed: Annotated[float, SPEED]
    """At the start."""
    quasi_steady_slowest_speed: Annotated[float, SPEED]
    """Between start and end."""
    quasi_steady_exit_speed: Annotated[float, SPEED]
    """At the end."""
    quasi_steady_time: Annotated[float, TIME]
    """From start to end."""


class KerbDriven(Findings):
    """A kerb that wheels were on."""

    kerb: str
    """Its number, in the order of the track file."""
    side: str
    """Edge of the road it lies along."""
    wheels: str
    """Which were on it."""
    start: Annotated[float, ALONG]
    """Along the line, where they came onto it."""
    end: Annotated[float, ALONG]
    """Where they left it."""
    highest: Annotated[float, LENGTH]
    """Of what they met."""
    largest_load: Annotated[float, FORCE]
    """Of the tyres on it."""
    off_ground: Annotated[float, TIME]
    """Longest that one of them was without load there or within half a second after."""


class WheelFlight(Findings):
    """A wheel off the ground for 20 ms or longer."""

    wheel: str
    """FL, FR, RL or RR."""
    distance: Annotated[float, ALONG]
    """Along the line, where it left the ground."""
    duration: Annotated[float, TIME]
    """Without load."""


class LapDriveSummary(Findings):
    """What there is to know of a driven lap."""

    trouble: str
    """Where the car leaves the road or is lost; empty if it does not."""
    first_trouble: str
    """The same at the lowest pace that was tried and not borne; empty if there is none."""
    pace: Annotated[float, SHARE]
    """Asked for, else the highest borne all round before practice; a factor on the quasi-steady speeds."""
    practice_laps: Annotated[int, RATIO]
    """In which the driver found piece by piece how fast he can be; 0 if a pace was asked for."""
    lap_time_before_practice: Annotated[float | None, TIME]
    """At the highest pace borne all round; none if a pace was asked for."""
    first_bad_pace: Annotated[float | None, SHARE]
    """Lowest pace that was tried and not borne; none if there is none or a pace was asked for."""
    lap_time: Annotated[float, TIME]
    """None if the lap was not finished."""
    quasi_steady_lap_time: Annotated[float, TIME]
    """On the same line with all of the grip."""
    speed_share: Annotated[float, SHARE]
    """Quasi-steady lap time over the driven one."""
    line_length: Annotated[float, ALONG]
    """Of the line driven."""
    least_room: Annotated[float, ALONG]
    """Between the side of the car and the edge of what may be driven; below zero it was over it."""
    least_room_at: Annotated[float, ALONG]
    """Along the line."""
    largest_sideslip: Annotated[float, ANGLE]
    """Of the centre of gravity, whichever way."""
    largest_sideslip_at: Annotated[float, ALONG]
    """Along the line."""
    locked: Annotated[Corners, TIME]
    """Time of each wheel below a slip of -0.3."""
    spinning: Annotated[Corners, TIME]
    """Time of each wheel beyond a slip of 0.3."""
    off_ground: Annotated[Corners, TIME]
    """Time of each wheel without load, flights of 20 ms or longer."""
    tyre_work: Annotated[Corners, HEAT]
    """Done by sliding in each contact patch."""
    tyre_work_left: Annotated[float, SHARE]
    """Of it in the two left patches."""
    tyre_work_front: Annotated[float, SHARE]
    """Of it in the two front patches."""
    brake_work: Annotated[Corners, HEAT]
    """Turned to heat by each brake."""
    brake_work_front: Annotated[float, SHARE]
    """Of it by the front brakes."""
    sectors: tuple[DrivenSector, ...]
    """Equally long along the line."""
    corners: tuple[CornerDriven, ...]
    """In driving direction."""
    kerbs: tuple[KerbDriven, ...]
    """By where the wheels come onto them."""
    flights: tuple[WheelFlight, ...]
    """By wheel, then by distance."""
    tried: tuple[TriedPace, ...]
    """Paces of the search, in rising order; none if a pace was asked for."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LapDrive:
    """A driven lap with all that its summary, its pictures and its history are made from."""

    track: Track
    layout: TrackLayout
    """Its edges where what may be driven ends."""
    margin: float
    """Between the side of the car on its line and that edge. [m]"""
    plan: DriverPlan
    road: DriveRoad
    run: LapRun
    """The first car is the lap that is shown."""
    lap: DrivenLap
    summary: LapDriveSummary
    heat: LapHeat | None
    """None for an open track and for a lap that was not finished."""
    stopped: bool
    """Whether the user stopped search or practice: the driver may be quicker."""

    @property
    def line(self) -> Line:
        """Return the line that was to be followed."""
        return self.plan.line


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ReadyToDrive:
    """A car, its driver and a track, with all that a drive needs."""

    layout: TrackLayout
    """Its edges where what may be driven ends."""
    car_width: float
    """[m]"""
    plan: DriverPlan
    road: DriveRoad
    search: PaceSearch | None
    """None if a pace was asked for."""
    practice: Practice | None = None
    """What he learned; None if a pace was asked for or no practice was."""


def ready_to_drive(
    car: Car,
    track: Track,
    *,
    style: DriverStyle | None,
    pace: float | None,
    margin: float,
    kerb_share: float,
    flat_kerb: float,
    seed: int,
    practised: bool = False,
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> ReadyToDrive:
    """Lay line and road and find the highest pace; parameters and errors as `study_drive`.

    Parameters
    ----------
    practised : let the driver practise from there, if no pace is asked for.
    """
    width, across = car_width(car), car.front.track_width
    layout = with_kerbs(lay_out(track), track, kerb_share=kerb_share, flat_kerb=flat_kerb)
    line = least_curvature_line(
        track, car_width=width, margin=margin, kerb_share=kerb_share, flat_kerb=flat_kerb
    )
    go_on(cancelled, "nothing was driven yet")
    progress(0.0, "limits of the car")
    plan = driver_plan(car, line, style=style)
    road = lay_lap_road(car, track_road(track, line, seed=seed, track_width=across), closed=line.closed)
    if pace is not None:
        return ReadyToDrive(layout=layout, car_width=width, plan=plan, road=road, search=None)
    if practised:
        progress(_PLANNED, "how far he looks ahead in this car")
        plan = found_hands(plan, road, layout, car_width=width)
    told = stretch(progress, _HANDS if practised else _PLANNED, _SEARCHED if practised else 1.0)
    search = search_pace(plan, road, layout, car_width=width, progress=told, cancelled=cancelled)
    practice = None
    if practised and not search.stopped:
        told = stretch(progress, _SEARCHED, 1.0)
        practice = practise(
            plan, road, layout, start=search.best, car_width=width, progress=told, cancelled=cancelled
        )
        plan = practice.plan
    return ReadyToDrive(
        layout=layout, car_width=width, plan=plan, road=road, search=search, practice=practice
    )


def study_drive(
    car: Car,
    track: Track,
    *,
    style: DriverStyle | None = None,
    pace: float | None = None,
    margin: float = DRIVER_MARGIN,
    kerb_share: float = 0.0,
    flat_kerb: float = FLAT_KERB,
    seed: int = 1,
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> LapDrive:
    """Drive a car round a track.

    Parameters
    ----------
    style : of the driver.
    pace : a factor on the quasi-steady speeds. If left out, the highest at which the car stays on the road
        and in hand is sought, and from there the driver practises (`practise`). [1]
    margin : between the side of the car on its line and the edge. [m]
    kerb_share, flat_kerb : as `least_curvature_line`; what of the kerbs the line may use counts as road.
    seed : of the road's random surfaces.
    progress, cancelled : as `long_work`; once a pace is known, the best lap known is driven even so, which
        takes a twentieth of the whole.

    Raises
    ------
    TrackError, EventError, SolveError
        As `least_curvature_line`, `driver_plan` and `search_pace`; also if at the pace asked for the car does
        not come to the start line.
    Stopped
        If it is cancelled before any pace is known.
    """
    ready = ready_to_drive(
        car,
        track,
        style=style,
        pace=pace,
        margin=margin,
        kerb_share=kerb_share,
        flat_kerb=flat_kerb,
        seed=seed,
        practised=True,
        progress=stretch(progress, 0.0, _READY),
        cancelled=cancelled,
    )
    plan, road, layout, search = ready.plan, ready.road, ready.layout, ready.search
    line, width, across = plan.line, ready.car_width, car.front.track_width
    shown = search.best if search else float(pace or 1.0)
    bad = _first_bad(search)
    best = plan.learned if ready.practice else np.full_like(plan.learned, shown)
    # The same again beside, so that the kernel of the search serves here too.
    rows_driven = [best] * FEW if bad is None else [best, *[np.full_like(best, bad)] * FEW]
    if search is None:
        go_on(cancelled, "the lap was not driven yet")
    progress(_READY, "the lap that is shown")
    run = plan.drive(plan.by_factors(np.array(rows_driven)), road, interval=_INTERVAL)
    corners, kerbs = tuple(find_corners(layout)), tuple(kerb_passages(track, line, track_width=across))
    rows, *beyond = (LapRows(run, at) for at in range(1 if bad is None else 2))
    if rows.distance.size == 0:
        raise SolveError(
            f"lap: at {100.0 * shown:.1f} % of the quasi-steady speeds the car does not come to the start "
            "line. Ask for a lower pace."
        )
    lap, *others = (
        driven_lap(run, one.car, layout, corners, kerbs, car_width=width, sectors=SECTORS)
        for one in (rows, *beyond)
        if one.distance.size
    )
    summary = lap_drive_summary(
        plan,
        layout,
        lap,
        pace=shown,
        search=search,
        practice=ready.practice,
        first_trouble=others[0].trouble if others else "lost before the start line" if beyond else "",
    )
    lasting = line.closed and np.isfinite(lap.lap_time)
    return LapDrive(
        track=track,
        layout=layout,
        margin=margin,
        plan=plan,
        road=road,
        run=run,
        lap=lap,
        summary=summary,
        heat=lap_heat(lap, rows) if lasting else None,
        stopped=search is not None and (search.stopped or ready.practice is None or ready.practice.stopped),
    )


def _first_bad(search: PaceSearch | None) -> float | None:
    bad = [] if search is None else search.pace[~search.good].tolist()
    return float(bad[0]) if bad else None


def lap_drive_summary(
    plan: DriverPlan,
    layout: TrackLayout,
    lap: DrivenLap,
    *,
    pace: float,
    search: PaceSearch | None,
    practice: Practice | None,
    first_trouble: str,
) -> LapDriveSummary:
    """Return a driven lap in numbers.

    Parameters
    ----------
    search : by which the pace was found, if it was.
    practice : that came after it, if any.
    first_trouble : at the first bad pace; empty if there is none.
    """
    profile = plan.profile
    steady = lap_summary(profile, layout)
    ends = np.linspace(0.0, plan.line.length, len(lap.sector_times) + 1)
    steady_sectors = np.diff(np.interp(ends, plan.line.distance, profile.time))
    return LapDriveSummary(
        trouble=lap.trouble,
        first_trouble=first_trouble,
        pace=pace,
        practice_laps=practice.laps if practice else 0,
        lap_time_before_practice=search.best_lap_time if search else None,
        first_bad_pace=_first_bad(search),
        lap_time=lap.lap_time,
        quasi_steady_lap_time=profile.lap_time,
        speed_share=profile.lap_time / lap.lap_time,
        line_length=plan.line.length,
        least_room=lap.least_room,
        least_room_at=lap.least_room_at,
        largest_sideslip=lap.largest_sideslip,
        largest_sideslip_at=lap.largest_sideslip_at,
        locked=Corners(*lap.locked.tolist()),
        spinning=Corners(*lap.spinning.tolist()),
        off_ground=Corners(
            *(sum(one.duration for one in lap.flights if one.corner == wheel) for wheel in Corners._fields)
        ),
        tyre_work=Corners(*lap.tyre_work.tolist()),
        tyre_work_left=_share(lap.tyre_work, [0, 2]),
        tyre_work_front=_share(lap.tyre_work, [0, 1]),
        brake_work=Corners(*lap.brake_work.tolist()),
        brake_work_front=_share(lap.brake_work, [0, 1]),
        sectors=tuple(
            DrivenSector(time=time, quasi_steady_time=float(steady_time))
            for time, steady_time in zip(lap.sector_times, steady_sectors, strict=True)
        ),
        corners=tuple(_corner(*pair) for pair in zip(lap.corners, steady.corners, strict=True)),
        kerbs=tuple(map(_kerb, lap.kerbs)),
        flights=tuple(
            WheelFlight(wheel=one.corner, distance=one.distance, duration=one.duration) for one in lap.flights
        ),
        tried=() if search is None else tried_paces(search),
    )


def _share(work: Array, places: list[int]) -> float:
    total = float(work.sum())
    return float(work[places].sum()) / total if total > 0.0 else float("nan")


def tried_paces(search: PaceSearch) -> tuple[TriedPace, ...]:
    """Return the paces of a search with what came of each."""
    return tuple(
        TriedPace(pace=float(pace), lap_time=float(time), outcome=IN_HAND if good else OUT_OF_HAND)
        for pace, time, good in zip(search.pace, search.lap_time, search.good, strict=True)
    )


def _corner(driven: DrivenCorner, steady: LapCorner) -> CornerDriven:
    came = np.isfinite(driven.time)
    speeds: dict[str, Any] = {
        name: getattr(driven, name) if came else float("nan")
        for name in ("entry_speed", "slowest_speed", "exit_speed", "time")
    }
    return CornerDriven(
        corner=steady.corner,
        direction=steady.direction,
        start=steady.start,
        end=steady.end,
        quasi_steady_entry_speed=steady.entry_speed,
        quasi_steady_slowest_speed=steady.slowest_speed,
        quasi_steady_exit_speed=steady.exit_speed,
        quasi_steady_time=steady.time,
        **speeds,
    )


def _kerb(struck: KerbStruck) -> KerbDriven:
    passage = struck.passage
    return KerbDriven(
        kerb=str(passage.kerb),
        side=passage.side,
        wheels=passage.wheels,
        start=passage.start,
        end=passage.end,
        highest=passage.highest,
        largest_load=struck.largest_load,
        off_ground=struck.off_ground,
    )
