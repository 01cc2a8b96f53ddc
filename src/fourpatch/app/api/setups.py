"""The set-ups of the notebook, each with its history."""

import tempfile
from pathlib import Path as File
from typing import Annotated

from fastapi import APIRouter, Path, Response
from pydantic import BaseModel, Field

from fourpatch.app.answers.files import TakenFile
from fourpatch.app.answers.setup import AdjusterRow, side_by_side
from fourpatch.app.api.bench import CarId, Steps
from fourpatch.app.api.documents import file_answer
from fourpatch.app.api.faults import FAULTS
from fourpatch.app.fitting import fitting
from fourpatch.app.shop import Shop
from fourpatch.car.setup import Setup, baseline_setup
from fourpatch.errors import NotebookError
from fourpatch.notebook.entries import SetupEntry, Version

SetupId = Annotated[int, Path(ge=1, le=2**31 - 1, description="The set-up.")]
VersionId = Annotated[int, Path(ge=1, le=2**31 - 1, description="The version of a set-up.")]
BY = "API"
"""Who changes what is changed by these routes."""


class NewSetup(BaseModel):
    """A set-up to be kept."""

    name: str = Field(min_length=1, max_length=80)
    note: str = Field(default="", max_length=10_000)
    steps: Steps = Field(default_factory=dict)
    reason: str = Field(default="", max_length=1000)


class Change(BaseModel):
    """What is to differ in the next version; what is left out stays."""

    head: int = Field(
        ge=1, le=2**31 - 1, description="The version it was made from; if it is not the newest, a conflict."
    )
    steps: Steps | None = None
    name: str | None = Field(default=None, min_length=1, max_length=80)
    note: str | None = Field(default=None, max_length=10_000)
    reason: str = Field(default="", max_length=1000)


def setup_routes(shop: Shop) -> APIRouter:
    """Return the routes."""
    routes = APIRouter(prefix="/api", tags=["set-ups"], responses=FAULTS)
    setups = shop.notebook.setups

    @routes.get("/cars/{car_id}/setups", summary="The set-ups of a car")
    def listed(car_id: CarId) -> list[SetupEntry]:
        shop.notebook.cars.get(car_id)
        return setups.listed(car_id)

    @routes.post("/cars/{car_id}/setups", status_code=201, summary="Keep a new set-up")
    def add(car_id: CarId, new: NewSetup) -> Version:
        car = shop.notebook.cars.read(car_id)
        values = baseline_setup(car).values | new.steps
        setup = Setup(name=new.name, car=car.name, note=new.note, values=values)
        return setups.add(car_id, setup, reason=new.reason, by=BY)

    @routes.get("/setups/{setup_id}", summary="A set-up as it is")
    def get(setup_id: SetupId) -> SetupEntry:
        return setups.get(setup_id)

    @routes.get("/setups/{setup_id}/history", summary="All its versions, the latest first")
    def history(setup_id: SetupId) -> list[Version]:
        return setups.history(setup_id)

    @routes.post("/setups/{setup_id}/versions", status_code=201, summary="Change a set-up")
    def change(setup_id: SetupId, wanted: Change) -> Version:
        values = None
        if wanted.steps is not None:
            values = setups.version(wanted.head).values | wanted.steps
        return setups.change(
            setup_id,
            head=wanted.head,
            values=values,
            name=wanted.name,
            note=wanted.note,
            reason=wanted.reason,
            by=BY,
        )

    @routes.delete("/setups/{setup_id}", summary="Put a set-up away; it can be restored")
    def delete(setup_id: SetupId) -> SetupEntry:
        return setups.delete(setup_id, by=BY)

    @routes.post("/setups/{setup_id}/restore", summary="Bring a deleted set-up back")
    def restore(setup_id: SetupId) -> SetupEntry:
        return setups.restore(setup_id)

    @routes.get(
        "/setups/{setup_id}/file", summary="The set-up file of the command line", response_class=Response
    )
    def file(setup_id: SetupId) -> Response:
        head = setups.get(setup_id).head
        with tempfile.TemporaryDirectory(prefix="fourpatch-") as folder:
            path = File(folder) / "setup.toml"
            setups.export_file(head.id, path)
            text = path.read_text(encoding="utf-8")
        return toml_answer(text, head.name)

    @routes.get("/versions/{a}/beside/{b}", summary="Two versions side by side, adjuster by adjuster")
    def beside(a: VersionId, b: VersionId) -> list[AdjusterRow]:
        first, second = setups.opened(a), setups.opened(b)
        if first.version.car_id != second.version.car_id:
            raise NotebookError(f"Versions {a} and {b} are of two cars. Compare versions of one car.")
        car = shop.notebook.cars.read(second.version.car_id)
        return side_by_side(car, fitting(car, first.setup), fitting(car, second.setup))

    return routes


def toml_answer(text: str, name: str) -> Response:
    """Return a TOML file to be saved under a name."""
    return file_answer(TakenFile(f"{name}.toml", text.encode(), "application/toml; charset=utf-8"))
