"""Race meetings and test days: documents, their timeline, search, and what the laps tell."""

from typing import Annotated

from fastapi import APIRouter, Path, Query
from pydantic import BaseModel, Field

from fourpatch.app.api.documents import MOST, document_routes
from fourpatch.app.api.faults import FAULTS
from fourpatch.app.shop import Shop
from fourpatch.notebook.logbook import FoundText, MeetingLine, TakeAlong
from fourpatch.picture.meeting_words import meeting_effects

Word = Annotated[str, Query(max_length=300)]


class MeetingTold(BaseModel):
    """What the laps of a meeting tell."""

    said: list[str] = Field(description="For each set-up against the first driven.")


def meeting_routes(shop: Shop) -> APIRouter:
    """Return the routes of meetings as documents."""
    return document_routes(shop.notebook.meetings, plural="meetings")


def logbook_routes(shop: Shop) -> APIRouter:
    """Return the routes of what is read out of them."""
    routes = APIRouter(prefix="/api", tags=["logbook"], responses=FAULTS)
    logbook = shop.notebook.logbook

    @routes.get("/logbook", summary="All meetings, the latest first")
    def timeline() -> list[MeetingLine]:
        return logbook.timeline()

    @routes.get("/logbook/search", summary="Whatever holds all the words")
    def search(words: Word) -> list[FoundText]:
        return logbook.search(words)

    @routes.get("/logbook/next", summary="What earlier meetings at a track or with a car carry over")
    def take_along(track: Word = "", car: Word = "") -> list[TakeAlong]:
        return logbook.take_along(track=track, car=car)

    @routes.get("/meetings/{id}/told", summary="What the laps of a meeting tell")
    def told(id: Annotated[int, Path(ge=1, le=MOST)]) -> MeetingTold:
        return MeetingTold(said=meeting_effects(shop.notebook.meetings.read(id)))

    return routes
