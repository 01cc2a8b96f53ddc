"""One corner, phase by phase."""

from fastapi import APIRouter
from pydantic import Field

from fourpatch.app.answers.corner import (
    CornerAnswer,
    CornerChosen,
    come_through,
    corner_answer,
    corner_workout,
)
from fourpatch.app.api.bench import BenchQuestion, CarId
from fourpatch.app.api.faults import FAULTS
from fourpatch.app.api.opened import opened
from fourpatch.app.shop import Shop


class CornerQuestion(BenchQuestion):
    """Two set-ups of one car, and a corner."""

    corner: CornerChosen = CornerChosen()
    histories: bool = Field(default=False, description="Whether the lines in time are wanted too.")


def corner_routes(shop: Shop) -> APIRouter:
    """Return the routes."""
    routes = APIRouter(prefix="/api", tags=["corner"], responses=FAULTS)

    @routes.post("/cars/{car_id}/corner", summary="Balance and load transfer in each phase of a corner")
    def corner(car_id: CarId, question: CornerQuestion) -> CornerAnswer:
        car, a, b = opened(shop, car_id, question)
        workout, name, event = corner_workout(shop.workout, shop.laps.course, car, a, question.corner)
        of_b, of_a = come_through(workout.measure(b, only=[name]), name)
        return corner_answer(event, of_b, of_a, histories=question.histories)

    return routes
