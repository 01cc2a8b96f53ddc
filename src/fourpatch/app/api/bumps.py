"""POST /api/bumps and POST /api/damper-map."""

from typing import Literal

from fastapi import APIRouter
from pydantic import BaseModel, Field

from fourpatch.app.answers.bumps import BumpsAnswer, BumpsAsked, bumps_answer
from fourpatch.app.answers.corner import come_through
from fourpatch.app.answers.damper_map import DamperMapAnswer, DamperMapAsked, start_damper_map
from fourpatch.app.api.opened import opened_car, opened_setups, setup_of
from fourpatch.app.shop import Shop
from fourpatch.car.setup import apply_setup


class DamperMapJob(BaseModel):
    """A map in the making: asked again with the same question, it is the same job."""

    job: str = Field(description="The job's id.")
    state: Literal["waiting", "running", "done", "failed", "cancelled"]
    share: float = Field(description="How much is done, 0 to 1.")
    error: str = Field(description="What went wrong and what to do; empty if nothing did.")
    result: DamperMapAnswer | None = Field(description="Coarse while running, once there is one; then fine.")


def bumps_routes(shop: Shop) -> APIRouter:
    """Return the resources."""
    routes = APIRouter(prefix="/api", tags=["bumps and kerbs"])

    @routes.post("/bumps", summary="A kerb or a rough road, set-up B against A")
    def bumps(asked: BumpsAsked) -> BumpsAnswer:
        car, a, b = opened_setups(shop, asked)
        event = asked.event()
        workout = shop.workout(car, a, {event.kind: event})
        of_b, of_a = come_through(workout.measure(apply_setup(car, b)), event.kind)
        return bumps_answer(event, of_b, of_a, histories=asked.histories)

    @routes.post("/damper-map", summary="Start or look at a map over bump and rebound")
    def damper_map(asked: DamperMapAsked) -> DamperMapJob:
        car = opened_car(shop, asked.car)
        standing = apply_setup(car, setup_of(car, "B", asked.setup))
        job = start_damper_map(shop.jobs, standing, asked.event(), axle=asked.axle, part=asked.part)
        result = job.result if isinstance(job.result, DamperMapAnswer) else None
        return DamperMapJob(job=job.id, state=job.state, share=job.share, error=job.error, result=result)

    return routes
