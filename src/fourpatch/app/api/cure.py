"""Complaints and their cures."""

from fastapi import APIRouter, HTTPException
from pydantic import BaseModel, Field

from fourpatch.app.answers.asked import Positions
from fourpatch.app.answers.cure import (
    CureAnswer,
    CureAsked,
    ReadAnswer,
    ReadAsked,
    read_answer,
    start_confirm,
    start_cure,
)
from fourpatch.app.api.faults import FAULTS
from fourpatch.app.api.jobs import JobState, job_state
from fourpatch.app.api.opened import opened_track, setup_of
from fourpatch.app.shop import Shop


class ConfirmAsked(BaseModel):
    """A set-up to be run against the one that a complaint was made of."""

    cure: str = Field(max_length=200, description="Id of the job that answered the complaint.")
    setup: Positions = Field(default_factory=dict)


def cure_routes(shop: Shop) -> APIRouter:
    """Return the routes of complaints."""
    routes = APIRouter(prefix="/api", tags=["complaint"], responses=FAULTS)

    @routes.post("/complaint/read", summary="What is understood of a complaint")
    def read(asked: ReadAsked) -> ReadAnswer:
        return read_answer(asked.text)

    @routes.post(
        "/cure",
        summary="Start to look for a cure; the job's result is a CureAnswer, in parts while it runs",
    )
    def cure(asked: CureAsked) -> JobState:
        car = shop.notebook.cars.read(asked.car)
        setup = setup_of(car, "asked", asked.setup)
        return job_state(
            start_cure(
                shop.jobs,
                asked.car,
                car,
                setup,
                asked.text,
                track=opened_track(shop, asked.track),
                good=None if asked.good is None else setup_of(car, "good", asked.good),
                draws=asked.draws,
            )
        )

    @routes.post(
        "/cure/confirm",
        summary="Start to run a set-up against the one that was complained of; the result is a ConfirmAnswer",
    )
    def confirm(asked: ConfirmAsked) -> JobState:
        job = shop.jobs.get(asked.cure)
        if job is None or not isinstance(job.result, CureAnswer) or job.result.first:
            raise HTTPException(404, f'There is no answer "{asked.cure}"; ask POST /api/cure first.')
        car = shop.notebook.cars.read(job.result.car)
        return job_state(start_confirm(shop.jobs, car, job.result, setup_of(car, "asked", asked.setup)))

    return routes
