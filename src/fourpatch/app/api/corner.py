"""POST /api/corner."""

from fastapi import APIRouter

from fourpatch.app.answers.corner import (
    CornerAnswer,
    CornerAsked,
    come_through,
    corner_answer,
    corner_workout,
)
from fourpatch.app.api.opened import opened_setups
from fourpatch.app.shop import Shop
from fourpatch.car.setup import apply_setup


def corner_routes(shop: Shop) -> APIRouter:
    """Return the resource."""
    routes = APIRouter(prefix="/api", tags=["corner"])

    @routes.post("/corner", summary="One corner phase by phase, set-up B against A")
    def corner(asked: CornerAsked) -> CornerAnswer:
        car, a, b = opened_setups(shop, asked)
        workout, name, event = corner_workout(shop.workout, car, a, asked.corner)
        of_b, of_a = come_through(workout.measure(apply_setup(car, b), only=[name]), name)
        return corner_answer(event, of_b, of_a, histories=asked.histories)

    return routes
