"""Tracks and laps: quasi-steady at once, driven and with a driver's scatter as jobs."""

from typing import Annotated

from fastapi import APIRouter, Path
from pydantic import BaseModel, Field

from fourpatch.app.answers.lap import LapAnswer, PhasesAnswer
from fourpatch.app.answers.tracks import TrackEntry, TrackMap
from fourpatch.app.api.bench import Steps
from fourpatch.app.api.faults import FAULTS
from fourpatch.app.api.jobs import JobState, job_state
from fourpatch.app.laps import MOST_LAPS
from fourpatch.app.shop import Shop
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup
from fourpatch.events.driver_style import DriverScatter, DriverStyle

Id = Annotated[int, Field(ge=1, le=2**31 - 1, description="In the notebook.")]


class LapAsked(BaseModel):
    """Two set-ups of a car, and a track."""

    car: Id
    track: Id
    reference: Steps = Field(default_factory=dict)
    setup: Steps = Field(default_factory=dict)


class DriveAsked(BaseModel):
    """A car with a set-up, a track and a driver."""

    car: Id
    track: Id
    setup: Steps = Field(default_factory=dict)
    style: DriverStyle = Field(default_factory=DriverStyle, description="Numbers in SI.")


class ScatterAsked(DriveAsked):
    """The same, and how far apart his laps are."""

    scatter: DriverScatter = Field(default_factory=DriverScatter, description="Numbers in SI.")
    laps: int = Field(default=20, ge=2, le=MOST_LAPS, description="How many to drive.")


def lap_routes(shop: Shop) -> APIRouter:
    """Return the routes of tracks and laps."""
    routes = APIRouter(prefix="/api", responses=FAULTS)

    def two(asked: LapAsked) -> tuple[Car, Setup, Setup, int]:
        car = shop.notebook.cars.read(asked.car)
        a = Setup(name="reference", car=car.name, values=asked.reference)
        return car, a, Setup(name="set-up", car=car.name, values=asked.setup), asked.track

    @routes.get("/lap/tracks", summary="All tracks with their lengths and corners", tags=["lap"])
    def tracks() -> list[TrackEntry]:
        return shop.laps.tracks()[0]

    @routes.get("/tracks/{track_id}/map", summary="A track from above, with its corners", tags=["tracks"])
    def one_track(track_id: Annotated[int, Path(ge=1, le=2**31 - 1)]) -> TrackMap:
        return shop.laps.map(track_id)

    @routes.post("/lap/quasi-steady", summary="The quasi-steady lap with both set-ups", tags=["lap"])
    def quasi_steady(asked: LapAsked) -> LapAnswer:
        return shop.laps.lap(*two(asked))

    @routes.post(
        "/lap/corner-phases", summary="The phases of every corner with both set-ups, on the rig", tags=["lap"]
    )
    def phases(asked: LapAsked) -> PhasesAnswer:
        return shop.laps.phases(*two(asked))

    @routes.post(
        "/lap/driven",
        status_code=202,
        summary="Begin to practise and drive a lap; a job",
        description="The job's result is a `DrivenAnswer`.",
        tags=["lap"],
    )
    def driven(asked: DriveAsked) -> JobState:
        car = shop.notebook.cars.read(asked.car)
        setup = Setup(name="set-up", car=car.name, values=asked.setup)
        return job_state(shop.laps.drive(car, setup, asked.track, asked.style))

    @routes.post(
        "/lap/scatter",
        status_code=202,
        summary="Begin to drive laps that differ as a driver's do; a job",
        description="The job's result is a `ScatterAnswer`.",
        tags=["lap"],
    )
    def scatter(asked: ScatterAsked) -> JobState:
        car = shop.notebook.cars.read(asked.car)
        setup = Setup(name="set-up", car=car.name, values=asked.setup)
        track = asked.track
        return job_state(shop.laps.scatter(car, setup, track, asked.style, asked.scatter, laps=asked.laps))

    return routes
