"""The cars of the notebook: made of ten numbers, changed number by number, with all their history."""

from typing import Annotated

from fastapi import APIRouter
from pydantic import BaseModel, Field

from fourpatch.app.answers.car import CarSheet, Fact, car_facts, car_sheet
from fourpatch.app.answers.car_changes import Revision, change_parameters, revisions
from fourpatch.app.answers.new_car import estimated, keep_car
from fourpatch.app.api.bench import CarId
from fourpatch.app.api.documents import BY, RevisionNumber, document_routes
from fourpatch.app.shop import Shop
from fourpatch.car.estimate import CarBrief
from fourpatch.notebook.entries import Entry, Version

ParameterName = Annotated[str, Field(max_length=120)]
QuantityText = Annotated[str, Field(max_length=60)]


class ParameterChange(BaseModel):
    """Numbers of a car that are to differ."""

    revision: RevisionNumber
    values: dict[ParameterName, QuantityText] = Field(
        max_length=400,
        description='By dotted name, a number with its unit as in a car file: "95 N/mm". Each is then given.',
    )


class KeptCar(BaseModel):
    """A new car, and the set-up that was made for it."""

    car: Entry
    setup: Version


def car_routes(shop: Shop) -> APIRouter:
    """Return the routes."""
    notebook = shop.notebook
    routes = document_routes(
        notebook.cars,
        plural="cars",
        keep=lambda written, name: (
            keep_car(notebook, written, name=name, reason="as the car is", by=BY).entry
        ),
    )

    @routes.post(
        "/cars/estimate",
        status_code=201,
        summary="Keep a new car made of about ten numbers, SI or text with a unit, and its first set-up",
    )
    def estimate(brief: CarBrief) -> KeptCar:
        kept = keep_car(notebook, estimated(brief), reason="estimated from a brief", by=BY)
        return KeptCar(car=kept.entry, setup=kept.setup)

    @routes.get("/cars/{car_id}/parameters", summary="All numbers of a car, and what can be turned on it")
    def parameters(car_id: CarId) -> CarSheet:
        return car_sheet(notebook.cars.read(car_id))

    @routes.post("/cars/{car_id}/parameters", summary="Change numbers of a car")
    def change(car_id: CarId, wanted: ParameterChange) -> Entry:
        return change_parameters(notebook, car_id, wanted.values, revision=wanted.revision, by=BY)

    @routes.get("/cars/{car_id}/facts", summary="What a car is at rest: loads, frequencies, damping, roll")
    def facts(car_id: CarId) -> list[Fact]:
        return car_facts(notebook.cars.read(car_id))

    @routes.get("/cars/{car_id}/changes", summary="What each revision of a car changed, the latest first")
    def changes(car_id: CarId) -> list[Revision]:
        return revisions(notebook, car_id)

    return routes
