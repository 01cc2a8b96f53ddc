"""The notebook as a whole: where it is, its backups, and all of it as one zip."""

from typing import Annotated

from fastapi import APIRouter, File, Response

from fourpatch.app.answers.notebook import (
    Backup,
    NotebookState,
    back_up_now,
    import_zip,
    notebook_state,
    notebook_zip,
)
from fourpatch.app.api.documents import BY, file_answer
from fourpatch.app.api.faults import FAULTS
from fourpatch.app.shop import Shop
from fourpatch.notebook.merging import Imported


def notebook_routes(shop: Shop) -> APIRouter:
    """Return the routes."""
    notebook = shop.notebook
    routes = APIRouter(prefix="/api/notebook", tags=["notebook"], responses=FAULTS)

    @routes.get("", summary="Where the notebook is, and what is in it")
    def state() -> NotebookState:
        return notebook_state(notebook)

    @routes.post("/backups", status_code=201, summary="Make a backup now; old ones are thinned by age")
    def back_up() -> Backup:
        return back_up_now(notebook)

    @routes.get("/zip", summary="All that is in it as one zip", response_class=Response)
    def export() -> Response:
        return file_answer(notebook_zip(notebook))

    @routes.post("/zip", summary="Bring in what a zip holds and is not here yet; nothing is written over")
    def bring_in(
        zip: Annotated[bytes, File(description="Made by the same address, or by the command line.")],
    ) -> Imported:
        return import_zip(notebook, zip, by=BY)

    return routes
