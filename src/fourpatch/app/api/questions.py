"""Every question that the command line asks by its name, with the keys that its JSON has."""

from collections.abc import Callable
from typing import Annotated, Any, Union

from fastapi import APIRouter
from fastapi.responses import HTMLResponse, JSONResponse
from pydantic import BaseModel, Field, create_model

from fourpatch import __version__
from fourpatch.answers.answer import Answer
from fourpatch.answers.listing import QUESTIONS, question
from fourpatch.answers.question import Asked, Question
from fourpatch.answers.schema import answer_schema
from fourpatch.app.answers.asked import Positions
from fourpatch.app.api.faults import FAULTS
from fourpatch.app.api.opened import setup_of
from fourpatch.app.shop import Shop
from fourpatch.face.standing_car import car as standing
from fourpatch.picture.page import page


class QuestionListed(BaseModel):
    """A question that can be asked."""

    command: str = Field(description="As on the command line; the address below /api/ has a / in it.")
    question: str = Field(description="As somebody would ask it.")
    says: str = Field(description="What is computed.")
    of: str = Field(description="What it is asked about: car, track, car on a track.")
    events: list[str] = Field(description="Kinds of events it may be asked of; none where it is of none.")
    drawn: bool = Field(description="Whether there is a picture of the answer on its page.")


class _OfACar(BaseModel):
    car: int = Field(ge=1, le=2**31 - 1, description="The car in the notebook.")
    setup: Positions = Field(default_factory=dict)


class _OfATrack(BaseModel):
    track: int = Field(ge=1, le=2**31 - 1, description="The track in the notebook.")


class _OfACarOnATrack(_OfACar, _OfATrack):
    pass


_ABOUT: dict[str, type[BaseModel]] = {
    "car": _OfACar,
    "track": _OfATrack,
    "car on a track": _OfACarOnATrack,
}


_FAULTS_OF_A_PAGE: dict[int | str, dict[str, Any]] = {
    code: {
        "description": fault["description"],
        "content": {"application/json": {"schema": {"$ref": "#/components/schemas/Fault"}}},
    }
    for code, fault in FAULTS.items()
}
"""Of a route whose answer is a page: what it refuses is told as by every other."""


def question_routes(shop: Shop) -> APIRouter:
    """Return the routes: a list of the questions, and for each its answer and the page of it."""
    routes = APIRouter(prefix="/api", tags=["questions"], responses=FAULTS)

    @routes.get("/questions", summary="All questions that are asked by name")
    def listed() -> list[QuestionListed]:
        return [_listed(question(command)) for command in QUESTIONS]

    for command in QUESTIONS:
        model = question(command)
        path = f"/{command.replace(' ', '/')}"
        content = {"application/json": {"schema": answer_schema(model)}}
        routes.add_api_route(
            path,
            _answering(shop, model, _as_json),
            methods=["POST"],
            summary=model.question,
            description=model.__doc__,
            response_class=JSONResponse,
            responses={200: {"content": content}},
        )
        routes.add_api_route(
            f"{path}/page",
            _answering(shop, model, _as_page),
            methods=["POST"],
            summary=f"{model.question} As a page to print",
            response_class=HTMLResponse,
            responses=_FAULTS_OF_A_PAGE,
        )
    return routes


def _listed(model: type[Question]) -> QuestionListed:
    kinds = [kind.model_fields["kind"].default for kind in model.events]
    return QuestionListed(
        command=model.command,
        question=model.question,
        says=model.__doc__ or "",
        of=model.of,
        events=kinds,
        drawn=model.drawn,
    )


def body_of(model: type[Question]) -> type[BaseModel]:
    """Return what a request says that asks a question: what it is about, events, and settings."""
    fields: dict[str, Any] = {name: (one.annotation, one) for name, one in model.model_fields.items()}
    # A file is named on the command line alone: what lies on the server's disk is nobody's to read from here.
    events = [one for one in model.events if "file" not in one.model_fields]
    if events:
        union: Any = Union[tuple(events)]  # noqa: UP007  # of as many kinds as there are
        one: Any = Annotated[union, Field(discriminator="kind")] if len(events) > 1 else union
        said = "By name; the standard ones if left out."
        fields["events"] = (dict[str, one], Field(default_factory=dict, max_length=12, description=said))
    return create_model(f"{model.__name__}Asked", __base__=_ABOUT[model.of], **fields)


def _answering(
    shop: Shop, model: type[Question], written: Callable[[str, Answer], Any]
) -> Callable[[Any], Any]:
    body = body_of(model)

    def answer(asked: Any) -> Any:
        given = {name: getattr(asked, name) for name in model.model_fields}
        about = track = None
        if model.of != "track":
            car = shop.notebook.cars.read(asked.car)
            about = standing(car, setup_of(car, "asked", asked.setup))
        if model.of != "car":
            track = shop.notebook.tracks.read(asked.track)
        what = Asked(about=about, track=track, events=getattr(asked, "events", {}))
        return written(model.command, model.model_construct(**given).answer(what))

    answer.__annotations__ = {"asked": body}
    answer.__name__ = model.__name__
    return answer


def _as_json(command: str, answer: Answer) -> JSONResponse:
    return JSONResponse({"command": command, "fourpatch": __version__, **answer.content()})


def _as_page(command: str, answer: Answer) -> HTMLResponse:
    return HTMLResponse(page(answer.title, answer.blocks))
