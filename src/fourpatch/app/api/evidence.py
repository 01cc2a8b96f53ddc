"""What was observed of a car: kept in the notebook with it, and taken back."""

from typing import Annotated

from fastapi import APIRouter
from pydantic import BaseModel, Field

from fourpatch.app.answers.evidence import evidence_lines, keep_evidence, take_back_evidence
from fourpatch.app.api.bench import CarId
from fourpatch.app.api.documents import BY, RevisionNumber
from fourpatch.app.api.faults import FAULTS
from fourpatch.app.shop import Shop
from fourpatch.car.evidence import Item
from fourpatch.notebook.entries import Entry


class EvidenceList(BaseModel):
    """What was observed of a car."""

    items: list[str] = Field(description="The oldest first; what each taught: POST /api/analyse/evidence.")


class NewEvidence(BaseModel):
    """One more item."""

    revision: RevisionNumber
    item: Item


class KeptEvidence(BaseModel):
    """The car with it."""

    car: Entry
    about: str = Field(description="The number that it is about, in words.")


class BackEvidence(BaseModel):
    """An item to take out."""

    revision: RevisionNumber
    number: Annotated[int, Field(ge=1, le=500, description="Of the item, from 1.")]


def evidence_routes(shop: Shop) -> APIRouter:
    """Return the routes."""
    routes = APIRouter(prefix="/api/cars/{car_id}/evidence", tags=["cars"], responses=FAULTS)
    notebook = shop.notebook

    @routes.get("", summary="What was observed of a car")
    def listed(car_id: CarId) -> EvidenceList:
        return EvidenceList(items=evidence_lines(notebook, car_id))

    @routes.post("", status_code=201, summary="Keep a reading, words or a comparison with a car")
    def keep(car_id: CarId, new: NewEvidence) -> KeptEvidence:
        said = new.item.model_dump()
        entry, about = keep_evidence(notebook, car_id, said, revision=new.revision, by=BY)
        return KeptEvidence(car=entry, about=about)

    @routes.post("/take-back", summary="Take an item of evidence out of a car")
    def take_back(car_id: CarId, back: BackEvidence) -> Entry:
        return take_back_evidence(notebook, car_id, back.number, revision=back.revision, by=BY)

    return routes
