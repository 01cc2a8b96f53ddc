"""The cars of the notebook: made of ten numbers, changed number by number, with all their history."""

from typing import Annotated

from fastapi import APIRouter
from pydantic import BaseModel, Field

from fourpatch.app.answers.car import CarSheet, Fact, car_facts, car_sheet
from fourpatch.app.answers.car_changes import (
    Rescaled,
    Revision,
    change_adjuster,
    change_note,
    change_parameters,
    revisions,
)
from fourpatch.app.answers.garage import GarageLine, KeptGarage, garage_lines, keep_garage
from fourpatch.app.answers.new_car import keep_car
from fourpatch.app.api.bench import CarId
from fourpatch.app.api.documents import BY, RevisionNumber, document_routes
from fourpatch.app.shop import Shop
from fourpatch.car.estimate import CarBrief, estimate_car
from fourpatch.car.garage import GarageRow
from fourpatch.notebook.entries import Entry, Version

ParameterName = Annotated[str, Field(max_length=120)]
AdjusterText = Annotated[str, Field(max_length=2000)]
QuantityText = Annotated[str, Field(max_length=60)]


class ParameterChange(BaseModel):
    """Numbers of a car that are to differ."""

    revision: RevisionNumber
    values: dict[ParameterName, QuantityText] = Field(
        max_length=400,
        description='By dotted name, a number with its unit as in a car file: "95 N/mm". Each is then given.',
    )


class AdjusterChange(BaseModel):
    """An adjuster written anew, added or taken out."""

    revision: RevisionNumber
    place: int | None = Field(default=None, ge=0, description="In the car's file, from 0; null to add one.")
    fields: dict[ParameterName, AdjusterText] | None = Field(
        description="By key of the file as text, those of the map after `map.`; null to take it out."
    )


class NoteChange(BaseModel):
    """Another note."""

    revision: RevisionNumber
    note: str = Field(max_length=2000)


class KeptCar(BaseModel):
    """A new car, and the set-up that was made for it."""

    car: Entry
    setup: Version


class GarageChange(BaseModel):
    """The rows of a garage screen."""

    revision: RevisionNumber
    rows: list[GarageRow] = Field(max_length=200)


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
        kept = keep_car(notebook, estimate_car(brief), reason="estimated from a brief", by=BY)
        return KeptCar(car=kept.entry, setup=kept.setup)

    @routes.get("/cars/{car_id}/parameters", summary="All numbers of a car, and what can be turned on it")
    def parameters(car_id: CarId) -> CarSheet:
        return car_sheet(notebook.cars.read(car_id))

    @routes.post("/cars/{car_id}/parameters", summary="Change numbers of a car")
    def change(car_id: CarId, wanted: ParameterChange) -> Entry:
        return change_parameters(notebook, car_id, wanted.values, revision=wanted.revision, by=BY)

    @routes.post("/cars/{car_id}/adjusters", summary="Change, add or take out what can be turned on a car")
    def adjust(car_id: CarId, wanted: AdjusterChange) -> Rescaled:
        return change_adjuster(notebook, car_id, wanted.place, wanted.fields, revision=wanted.revision, by=BY)

    @routes.get("/cars/{car_id}/garage", summary="The settings a car may have, as a garage screen shows them")
    def garage(car_id: CarId) -> list[GarageLine]:
        return garage_lines(notebook, car_id)

    @routes.post("/cars/{car_id}/garage", summary="Change the scales of a car, its set-ups going along")
    def keep(car_id: CarId, wanted: GarageChange) -> KeptGarage:
        return keep_garage(notebook, car_id, wanted.rows, revision=wanted.revision, by=BY)

    @routes.post("/cars/{car_id}/note", summary="Write another note about a car")
    def annotate(car_id: CarId, wanted: NoteChange) -> Entry:
        return change_note(notebook, car_id, wanted.note, revision=wanted.revision, by=BY)

    @routes.get("/cars/{car_id}/facts", summary="What a car is at rest: loads, frequencies, damping, roll")
    def facts(car_id: CarId) -> list[Fact]:
        return car_facts(notebook.cars.read(car_id))

    @routes.get("/cars/{car_id}/changes", summary="What each revision of a car changed, the latest first")
    def changes(car_id: CarId) -> list[Revision]:
        return revisions(notebook, car_id)

    return routes
