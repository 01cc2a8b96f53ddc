"""What chosen adjusters give for each other."""

from typing import Annotated

from fastapi import APIRouter
from pydantic import BaseModel, Field

from fourpatch.advice.trade_off import OBJECTIVES
from fourpatch.app.answers.asked import Positions
from fourpatch.app.answers.trade_off import MOST_ADJUSTERS, start_trade_off
from fourpatch.app.api.faults import FAULTS
from fourpatch.app.api.jobs import JobState, job_state
from fourpatch.app.api.opened import setup_of
from fourpatch.app.shop import Shop


class TradeOffAsked(BaseModel):
    """A car with a set-up, and what may be turned."""

    car: int = Field(ge=1, le=2**31 - 1, description="The car in the notebook.")
    setup: Positions = Field(default_factory=dict)
    adjusters: list[Annotated[str, Field(max_length=60)]] = Field(
        min_length=1, max_length=MOST_ADJUSTERS, description="Names of those that may be turned."
    )
    track: int | None = Field(
        default=None, ge=1, le=2**31 - 1, description="A track in the notebook whose lap time is the pace."
    )
    objectives: list[Annotated[str, Field(max_length=20)]] = Field(
        default_factory=lambda: list(OBJECTIVES),
        min_length=1,
        max_length=len(OBJECTIVES),
        description="Those that count: pace, bumps, calmness, scatter, tyre work.",
    )


def trade_off_routes(shop: Shop) -> APIRouter:
    """Return the routes."""
    routes = APIRouter(prefix="/api", tags=["trade-off"], responses=FAULTS)

    @routes.post(
        "/trade-off",
        summary="Start a trade-off, or go on with a stopped one; its result is a TradeOffAnswer",
    )
    def trade(asked: TradeOffAsked) -> JobState:
        car = shop.notebook.cars.read(asked.car)
        setup = setup_of(car, "asked", asked.setup)
        track = None if asked.track is None else (asked.track, shop.notebook.tracks.read(asked.track))
        return job_state(
            start_trade_off(
                shop.jobs,
                asked.car,
                car,
                setup,
                asked.adjusters,
                track=track,
                objectives=asked.objectives,
            )
        )

    return routes
