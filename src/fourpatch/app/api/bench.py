"""The numbers of the bench."""

from typing import Annotated

from fastapi import APIRouter, Path
from pydantic import BaseModel, Field

from fourpatch.app.answers.bench import BenchAnswer, bench_answer
from fourpatch.app.api.faults import FAULTS
from fourpatch.app.fitting import fitting
from fourpatch.app.shop import Shop
from fourpatch.car.setup import Setup, apply_setup

CarId = Annotated[int, Path(ge=1, le=2**31 - 1, description="The car in the notebook.")]
Steps = Annotated[
    dict[str, Annotated[float, Field(allow_inf_nan=False)]],
    Field(description="The step of each adjuster by its name; what is left out stands at its baseline."),
]


class BenchQuestion(BaseModel):
    """Two set-ups of one car, by their steps."""

    reference: Steps = Field(default_factory=dict)
    setup: Steps = Field(default_factory=dict)


def bench_routes(shop: Shop) -> APIRouter:
    """Return the routes."""
    routes = APIRouter(prefix="/api", tags=["bench"], responses=FAULTS)

    @routes.post("/cars/{car_id}/bench", summary="Who runs out of grip first, and what bumps cost")
    def bench(car_id: CarId, question: BenchQuestion) -> BenchAnswer:
        car = shop.notebook.cars.read(car_id)
        a, b = (
            Setup(name=name, car=car.name, values=steps)
            for name, steps in (("reference", question.reference), ("set-up", question.setup))
        )
        for one in (a, b):
            apply_setup(car, one)  # refuses what the car has not
        return bench_answer(shop.workout(car, fitting(car, a)).measure(apply_setup(car, b)))

    return routes
