"""Rules of thumb checked on a car."""

from fastapi import APIRouter
from pydantic import BaseModel, Field

from fourpatch.app.answers.asked import Positions
from fourpatch.app.answers.rules import start_rules
from fourpatch.app.api.faults import FAULTS
from fourpatch.app.api.jobs import JobState, job_state
from fourpatch.app.api.opened import setup_of
from fourpatch.app.shop import Shop


class RulesAsked(BaseModel):
    """A car with a set-up."""

    car: int = Field(ge=1, le=2**31 - 1, description="The car in the notebook.")
    setup: Positions = Field(default_factory=dict)


def rules_routes(shop: Shop) -> APIRouter:
    """Return the routes."""
    routes = APIRouter(prefix="/api", tags=["rules of thumb"], responses=FAULTS)

    @routes.post("/rules", summary="Start to check the rules of thumb; the job's result is a RulesAnswer")
    def rules(asked: RulesAsked) -> JobState:
        car = shop.notebook.cars.read(asked.car)
        setup = setup_of(car, "asked", asked.setup)
        return job_state(start_rules(shop.jobs, asked.car, car, setup))

    return routes
