"""A kerb or a rough road, and the damper map over it."""

from fastapi import APIRouter
from pydantic import BaseModel, Field

from fourpatch.analysis.damper_map import Part
from fourpatch.app.answers.bumps import BumpsAnswer, RoadAsked, bumps_answer
from fourpatch.app.answers.corner import come_through
from fourpatch.app.answers.damper_map import Axle, start_damper_map
from fourpatch.app.api.bench import BenchQuestion, CarId, Steps
from fourpatch.app.api.faults import FAULTS
from fourpatch.app.api.jobs import JobState, job_state
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

    @routes.post(
        "/cars/{car_id}/damper-map",
        status_code=202,
        summary="Begin a map over bump and rebound; a job",
        description="The job's result is a `DamperMapAnswer`: coarse at first, fine in the end.",
    )
    def damper_map(car_id: CarId, question: DamperMapQuestion) -> JobState:
        car = shop.notebook.cars.read(car_id)
        standing = apply_setup(car, setup_of(car, "set-up", question.setup))
        event = question.event()
        return job_state(start_damper_map(shop.jobs, standing, event, axle=question.axle, part=question.part))

    return routes
