"""Sheets to print: a set-up, a meeting."""

from typing import Annotated, Literal

from fastapi import APIRouter, Path, Query, Response

from fourpatch.app.answers.files import TakenFile
from fourpatch.app.api.documents import MOST, file_answer
from fourpatch.app.api.faults import FAULTS
from fourpatch.app.shop import Shop
from fourpatch.notebook.kinds import file_name
from fourpatch.picture.blocks import Block
from fourpatch.picture.meeting_sheet import meeting_sheet
from fourpatch.picture.page import page
from fourpatch.picture.paper import Paper, pdf
from fourpatch.picture.setup_sheet import setup_sheet

Kind = Annotated[Literal["pdf", "html"], Query(description="PDF, or one HTML file.")]
Size = Annotated[Paper, Query(description="Of a PDF.")]


def sheet_routes(shop: Shop) -> APIRouter:
    """Return the routes."""
    routes = APIRouter(prefix="/api", tags=["sheets"], responses=FAULTS)
    notebook = shop.notebook

    @routes.get(
        "/setups/{setup_id}/sheet",
        summary="A set-up as a sheet for the garage, changes against another version marked",
        response_class=Response,
    )
    def setup(
        setup_id: Annotated[int, Path(ge=1, le=MOST)],
        against: Annotated[int | None, Query(ge=1, le=MOST, description="Version of a set-up.")] = None,
        kind: Kind = "pdf",
        paper: Size = "a4",
    ) -> Response:
        opened = notebook.setups.opened(notebook.setups.get(setup_id).head.id)
        car = notebook.cars.read(opened.version.car_id)
        other = None if against is None else notebook.setups.opened(against).setup
        title = f"{car.name}, set-up {opened.setup.name}"
        return _answer(title, setup_sheet(car, opened.setup, other), kind, paper)

    @routes.get("/meetings/{id}/sheet", summary="The report of a meeting as a sheet", response_class=Response)
    def meeting(id: Annotated[int, Path(ge=1, le=MOST)], kind: Kind = "pdf", paper: Size = "a4") -> Response:
        found = notebook.meetings.read(id)
        return _answer(found.name, meeting_sheet(found), kind, paper)

    return routes


def _answer(title: str, blocks: list[Block], kind: Literal["pdf", "html"], paper: Paper) -> Response:
    name = file_name(title).removesuffix(".toml")
    if kind == "pdf":
        return file_answer(TakenFile(f"{name}.pdf", pdf(title, blocks, paper=paper), "application/pdf"))
    return file_answer(TakenFile(f"{name}.html", page(title, blocks).encode(), "text/html"))
