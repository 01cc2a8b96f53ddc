"""Share files: a car with a set-up and a question, given and taken."""

from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Path, Query, Response
from pydantic import BaseModel, Field

from fourpatch.app.answers.files import TakenFile
from fourpatch.app.api.documents import BY, MOST, file_answer
from fourpatch.app.api.faults import FAULTS
from fourpatch.app.shop import Shop
from fourpatch.notebook.kinds import file_name
from fourpatch.notebook.share import (
    ENDING,
    LARGEST,
    LONGEST_QUESTION,
    read_share,
    share_text,
    take_lesson,
    take_share,
)


class Given(BaseModel):
    """A share file."""

    text: str = Field(max_length=LARGEST)
    name: str = Field(default="share file", max_length=200, description="Of the file, for messages.")


class Taken(BaseModel):
    """What was kept of it."""

    setup_id: int
    version: int
    question: str
    lesson: int | None = Field(description="Id of the lesson that came with it; null without one.")
    address: str = Field(description="Of the page that shows it: the lesson, the complaint, or the bench.")


def share_routes(shop: Shop) -> APIRouter:
    """Return the routes."""
    routes = APIRouter(prefix="/api", tags=["share"], responses=FAULTS)
    notebook = shop.notebook

    @routes.get(
        "/setups/{setup_id}/share", summary="Car, set-up and question as one file", response_class=Response
    )
    def share(
        setup_id: Annotated[int, Path(ge=1, le=MOST)],
        question: Annotated[str, Query(max_length=LONGEST_QUESTION)] = "",
    ) -> Response:
        opened = notebook.setups.opened(notebook.setups.get(setup_id).head.id)
        document = notebook.cars.get(opened.version.car_id)
        car = notebook.cars.read(opened.version.car_id)
        text = share_text(document.written, opened.setup, car, question)
        name = file_name(f"{car.name}, {opened.setup.name}").removesuffix(".toml")
        return file_answer(TakenFile(f"{name}{ENDING}", text.encode(), "application/toml"))

    @routes.post("/share", status_code=201, summary="Keep what a share file holds; nothing is written over")
    def take(given: Given) -> Taken:
        found = read_share(given.text, given.name)
        version = take_share(notebook, found, by=BY)
        lesson = None if found.lesson is None else take_lesson(notebook, found.lesson, by=BY).id
        page, asked = "/", {}
        if lesson is not None:
            page, asked = "/own-lesson", {"lesson": str(lesson)}
        elif found.question:
            page, asked = "/cure", {"question": found.question}
        query = urlencode({"setup": version.setup_id, "a": version.id, **asked})
        return Taken(
            setup_id=version.setup_id,
            version=version.id,
            question=found.question,
            lesson=lesson,
            address=f"{page}?{query}",
        )

    return routes
