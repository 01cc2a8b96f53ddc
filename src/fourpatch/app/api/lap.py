"""Tracks and laps: quasi-steady at once, driven and with a driver's scatter as jobs."""

from fastapi import APIRouter, HTTPException
from pydantic import BaseModel, Field

from fourpatch.app.answers.asked import Positions, SetupsAsked
from fourpatch.app.answers.lap import LapAnswer, PhasesAnswer
from fourpatch.app.answers.tracks import TrackEntry, TrackMap
from fourpatch.app.api.jobs import JobState, job_state
from fourpatch.app.api.opened import opened_car, opened_setups, setup_of
from fourpatch.app.laps import MOST_LAPS
from fourpatch.app.shop import Shop
from fourpatch.errors import NotebookError
from fourpatch.events.driver_style import DriverScatter, DriverStyle


class LapAsked(SetupsAsked):
    """A car, two set-ups and a track."""

    track: int = Field(ge=1, le=2**31, description="The track's id in the notebook.")


class DriveAsked(BaseModel):
    """A car with a set-up, a track and a driver."""

    car: int = Field(ge=1, le=2**31, description="The car's id in the notebook.")
    setup: Positions = Field(default_factory=dict)
    track: int = Field(ge=1, le=2**31, description="The track's id in the notebook.")
    style: DriverStyle = Field(default_factory=DriverStyle, description="Numbers in SI.")


class ScatterAsked(DriveAsked):
    """The same, and how far apart his laps are."""

    scatter: DriverScatter = Field(default_factory=DriverScatter, description="Numbers in SI.")
    laps: int = Field(default=20, ge=2, le=MOST_LAPS, description="How many to drive.")


def lap_routes(shop: Shop) -> APIRouter:
    """Return the routes of tracks and laps."""
    routes = APIRouter(prefix="/api", responses={404: {"description": "No such car or track"}})

    def known(track: int) -> int:
        try:
            shop.laps.track(track)
        except NotebookError as error:
            raise HTTPException(404, str(error)) from None
        return track

    @routes.get("/tracks", summary="All tracks", tags=["tracks"])
    def tracks() -> list[TrackEntry]:
        return shop.laps.tracks()

    @routes.get("/tracks/{track}", summary="A track from above, with its corners", tags=["tracks"])
    def one_track(track: int) -> TrackMap:
        return shop.laps.map(known(track))

    @routes.post("/lap/quasi-steady", summary="The quasi-steady lap with A and with B", tags=["lap"])
    def quasi_steady(asked: LapAsked) -> LapAnswer:
        car, a, b = opened_setups(shop, asked)
        return shop.laps.lap(car, a, b, known(asked.track))

    @routes.post(
        "/lap/corner-phases", summary="The phases of every corner with A and with B, on the rig", tags=["lap"]
    )
    def phases(asked: LapAsked) -> PhasesAnswer:
        car, a, b = opened_setups(shop, asked)
        return shop.laps.phases(car, a, b, known(asked.track))

    @routes.post(
        "/lap/driven",
        status_code=202,
        summary="Begin to drive a lap at the highest pace the car bears; a job",
        description="The job's result is `DrivenAnswer`.",
        tags=["lap"],
    )
    def driven(asked: DriveAsked) -> JobState:
        car = opened_car(shop, asked.car)
        setup = setup_of(car, "setup", asked.setup)
        return job_state(shop.laps.drive(car, setup, known(asked.track), asked.style))

    @routes.post(
        "/lap/scatter",
        status_code=202,
        summary="Begin to drive laps that differ as a driver's do; a job",
        description="The job's result is `ScatterAnswer`.",
        tags=["lap"],
    )
    def scatter(asked: ScatterAsked) -> JobState:
        car = opened_car(shop, asked.car)
        setup = setup_of(car, "setup", asked.setup)
        job = shop.laps.scatter(car, setup, known(asked.track), asked.style, asked.scatter, laps=asked.laps)
        return job_state(job)

    return routes
