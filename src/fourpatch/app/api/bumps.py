"""A kerb or a rough road, and the damper map over it."""

from typing import Literal

from fastapi import APIRouter
from pydantic import BaseModel, Field

from fourpatch.analysis.damper_map import Part
from fourpatch.app.answers.bumps import BumpsAnswer, RoadAsked, bumps_answer
from fourpatch.app.answers.corner import come_through
from fourpatch.app.answers.damper_map import Axle, DamperMapAnswer, start_damper_map
from fourpatch.app.api.bench import BenchQuestion, CarId, Steps
from fourpatch.app.api.faults import FAULTS
from fourpatch.app.api.opened import opened, setup_of
from fourpatch.app.shop import Shop
from fourpatch.car.setup import apply_setup
from fourpatch.events.kerb_strike import KerbStrike
from fourpatch.events.rough_road import RoughRoad


class Unevenness(BaseModel):
    """A kerb or a road."""

    road: RoadAsked | None = Field(default=None, description="If a road is meant.")
    kerb: KerbStrike = Field(default=KerbStrike(), description="Otherwise this kerb, in m and m/s.")

    def event(self) -> KerbStrike | RoughRoad:
        """Return the event."""
        return self.kerb if self.road is None else self.road.event()


class BumpsQuestion(BenchQuestion, Unevenness):
    """Two set-ups of one car over a kerb or a road."""

    histories: bool = Field(default=False, description="Whether the lines in time are wanted too.")


class DamperMapQuestion(Unevenness):
    """An axle's dampers over a kerb or a road, with a set-up."""

    setup: Steps = Field(default_factory=dict)
    axle: Axle = Field(default="front", description="Whose dampers are varied.")
    part: Part = Field(default="all", description="All of each curve, below its first knee, or beyond it.")


class DamperMapJob(BaseModel):
    """A map in the making: the same question again is the same job."""

    job: str = Field(description="The job's id.")
    state: Literal["waiting", "running", "done", "failed", "cancelled"]
    share: float = Field(description="How much is done, 0 to 1.")
    error: str = Field(description="What went wrong and what to do; empty if nothing did.")
    result: DamperMapAnswer | None = Field(description="Coarse at first, fine in the end.")


def bumps_routes(shop: Shop) -> APIRouter:
    """Return the routes."""
    routes = APIRouter(prefix="/api", tags=["bumps and kerbs"], responses=FAULTS)

    @routes.post(
        "/cars/{car_id}/bumps", summary="What a kerb or a rough road does to tyres, dampers and body"
    )
    def bumps(car_id: CarId, question: BumpsQuestion) -> BumpsAnswer:
        car, a, b = opened(shop, car_id, question)
        event = question.event()
        workout = shop.workout(car, a, {event.kind: event})
        of_b, of_a = come_through(workout.measure(b), event.kind)
        return bumps_answer(event, of_b, of_a, histories=question.histories)

    @routes.post("/cars/{car_id}/damper-map", summary="Start, or look at, a map over bump and rebound")
    def damper_map(car_id: CarId, question: DamperMapQuestion) -> DamperMapJob:
        car = shop.notebook.cars.read(car_id)
        car = apply_setup(car, setup_of(car, "set-up", question.setup))
        job = start_damper_map(shop.jobs, car, question.event(), axle=question.axle, part=question.part)
        result = job.result if isinstance(job.result, DamperMapAnswer) else None
        return DamperMapJob(job=job.id, state=job.state, share=job.share, error=job.error, result=result)

    return routes
