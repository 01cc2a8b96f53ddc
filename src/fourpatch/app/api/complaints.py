"""What drivers said of their cars, what was tried and what came of it."""

from typing import Annotated, Any

from fastapi import APIRouter, Path, Query, Response
from pydantic import BaseModel, Field

from fourpatch.app.api.bench import CarId
from fourpatch.app.api.documents import BY, MOST, RevisionNumber
from fourpatch.app.api.faults import FAULTS
from fourpatch.app.shop import Shop
from fourpatch.notebook.entries import Complaint, Outcome, Trial

ComplaintId = Annotated[int, Path(ge=1, le=MOST, description="The complaint.")]
TrialId = Annotated[int, Path(ge=1, le=MOST, description="A set of changes that was tried.")]


class NewComplaint(BaseModel):
    """What a driver says of a car with a version of a set-up."""

    version: int = Field(ge=1, le=MOST)
    text: str = Field(min_length=1, max_length=2000)
    answer: dict[str, Any] = Field(default_factory=dict, description="A summary of what was answered.")
    note: str = Field(default="", max_length=10_000)


class NewTrial(BaseModel):
    """A set of changes that is tried."""

    changes: dict[str, float] = Field(
        max_length=100, description="Where each moved adjuster is put, by its name."
    )
    version: int | None = Field(
        default=None,
        ge=1,
        le=MOST,
        description="The version of the set-up that it became, if applied.",
    )
    outcome: Outcome = "open"
    note: str = Field(default="", max_length=10_000)


class TrialChange(BaseModel):
    """What came of it; what is left out stays."""

    revision: RevisionNumber
    outcome: Outcome | None = None
    note: str | None = Field(default=None, max_length=10_000)


def complaint_routes(shop: Shop) -> APIRouter:
    """Return the routes."""
    complaints, cars = shop.notebook.complaints, shop.notebook.cars
    routes = APIRouter(prefix="/api", tags=["complaints"], responses=FAULTS)

    @routes.get("/cars/{car_id}/complaints", summary="What was said of a car, the latest first")
    def listed(
        car_id: CarId,
        deleted: Annotated[bool, Query(description="Those that can be restored, instead.")] = False,
    ) -> list[Complaint]:
        cars.get(car_id)
        return complaints.deleted(car_id) if deleted else complaints.listed(car_id)

    @routes.post("/complaints", status_code=201, summary="Keep what a driver says")
    def add(new: NewComplaint) -> Complaint:
        return complaints.add(new.version, new.text, answer=new.answer, note=new.note, by=BY)

    @routes.get("/complaints/{complaint_id}", summary="One complaint, and what was tried")
    def get(complaint_id: ComplaintId) -> Complaint:
        return complaints.get(complaint_id)

    @routes.delete("/complaints/{complaint_id}", status_code=204, summary="Put one away; it can be restored")
    def delete(complaint_id: ComplaintId) -> Response:
        complaints.delete(complaint_id, by=BY)
        return Response(status_code=204)

    @routes.post("/complaints/{complaint_id}/restore", summary="Bring a deleted one back")
    def restore(complaint_id: ComplaintId) -> Complaint:
        complaints.restore(complaint_id)
        return complaints.get(complaint_id)

    @routes.post(
        "/complaints/{complaint_id}/trials", status_code=201, summary="Keep a set of changes that is tried"
    )
    def tried(complaint_id: ComplaintId, new: NewTrial) -> Trial:
        return complaints.tried(
            complaint_id, new.changes, version_id=new.version, outcome=new.outcome, note=new.note, by=BY
        )

    @routes.post("/trials/{trial_id}", summary="Say what came of a set of changes")
    def change(trial_id: TrialId, wanted: TrialChange) -> Trial:
        return complaints.change_trial(
            trial_id, revision=wanted.revision, outcome=wanted.outcome, note=wanted.note, by=BY
        )

    return routes
