"""Complaints read back, and cures confirmed."""

from fastapi import APIRouter, HTTPException
from pydantic import BaseModel, Field

from fourpatch.app.answers.asked import Positions
from fourpatch.app.answers.complaint_read import ReadAnswer, ReadAsked, read_answer
from fourpatch.app.answers.confirm import start_confirm
from fourpatch.app.answers.said import cured_of
from fourpatch.app.api.faults import FAULTS
from fourpatch.app.api.jobs import JobState, job_state
from fourpatch.app.api.opened import setup_of
from fourpatch.app.shop import Shop


class ConfirmAsked(BaseModel):
    """A set-up to be run against the one that a complaint was made of."""

    cure: str = Field(max_length=200, description="Id of the job that answered the complaint.")
    setup: Positions = Field(default_factory=dict)


def cure_routes(shop: Shop) -> APIRouter:
    """Return the routes."""
    routes = APIRouter(prefix="/api", tags=["complaint"], responses=FAULTS)

    @routes.post("/complaint/read", summary="What is understood of a complaint")
    def read(asked: ReadAsked) -> ReadAnswer:
        return read_answer(asked.text)

    @routes.post(
        "/advise/cure/confirm",
        summary="Start to run a set-up against the one that was complained of",
    )
    def confirm(asked: ConfirmAsked) -> JobState:
        job = shop.jobs.get(asked.cure)
        cured = job and cured_of(job)
        if not cured:
            raise HTTPException(404, f'There is no answer "{asked.cure}"; ask POST /api/advise/cure first.')
        changed = setup_of(cured.answer.source.car, "asked", asked.setup)
        return job_state(start_confirm(shop.jobs, cured, changed))

    return routes
