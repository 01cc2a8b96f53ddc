"""A base set-up to begin from."""

from fastapi import APIRouter

from fourpatch.app.answers.base import BaseAsked, start_base
from fourpatch.app.api.faults import FAULTS
from fourpatch.app.api.jobs import JobState, job_state
from fourpatch.app.api.opened import opened_track, setup_of
from fourpatch.app.shop import Shop


def base_routes(shop: Shop) -> APIRouter:
    """Return the routes of base set-ups."""
    routes = APIRouter(prefix="/api", tags=["base set-up"], responses=FAULTS)

    @routes.post(
        "/base-setup",
        summary="Start to look for a base set-up; the job's result is a BaseAnswer",
    )
    def base(asked: BaseAsked) -> JobState:
        car = shop.notebook.cars.read(asked.car)
        setup = setup_of(car, "asked", asked.setup)
        track = opened_track(shop, asked.track)
        return job_state(start_base(shop.jobs, asked.car, car, setup, asked.style, track=track))

    return routes
