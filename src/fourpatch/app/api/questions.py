"""Every question that the command line asks by its name, with the keys that its JSON has."""

from collections.abc import Callable
from typing import Annotated, Any, Union

from fastapi import APIRouter
from fastapi.responses import HTMLResponse, JSONResponse
from pydantic import BaseModel, Field, create_model

from fourpatch import __version__
from fourpatch.answers.answer import Answer
from fourpatch.answers.listing import QUESTIONS, question
from fourpatch.answers.question import Question
from fourpatch.answers.schema import answer_schema
from fourpatch.app.answers.asked import Positions
from fourpatch.app.api.faults import FAULTS, FAULTS_OF_A_PAGE
from fourpatch.app.api.jobs import JobState, job_state
from fourpatch.app.api.opened import setup_of
from fourpatch.app.asking import Subject, ask
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
    takes_long: bool = Field(description="Whether the reply is a job, whose result is the answer.")
    page: str = Field(description="Its own page in the app; empty where it is asked on the page More.")


class _OfACar(BaseModel):
    car: int = Field(ge=1, le=2**31 - 1, description="The car in the notebook.")
    setup: Positions = Field(default_factory=dict)


class _OfATrack(BaseModel):
    track: int = Field(ge=1, le=2**31 - 1, description="The track in the notebook.")


class _OfACarOnATrack(_OfACar, _OfATrack):
    pass


class _OfACarAndPerhapsATrack(_OfACar):
    track: int | None = Field(
        default=None, ge=1, le=2**31 - 1, description="The track; null for the standard corners."
    )


_ABOUT: dict[str, type[BaseModel]] = {
    "car": _OfACar,
    "track": _OfATrack,
    "car on a track": _OfACarOnATrack,
    "car, on a track or not": _OfACarAndPerhapsATrack,
}


def question_routes(shop: Shop) -> APIRouter:
    """Return the routes: a list of the questions, and for each its answer and the page of it."""
    routes = APIRouter(prefix="/api", tags=["questions"], responses=FAULTS)

    @routes.get("/questions", summary="All questions that are asked by name")
    def listed() -> list[QuestionListed]:
        return [_listed(question(command)) for command in QUESTIONS]

    for command in QUESTIONS:
        model = question(command)
        path = f"/{command.replace(' ', '/')}"
        schema = answer_schema(model)
        if model.takes_long:
            routes.add_api_route(
                path,
                _starting(shop, model),
                methods=["POST"],
                summary=f"{model.question} Starts a job whose result is the answer",
                description=model.__doc__,
                openapi_extra={"x-result": schema},
            )
            continue
        routes.add_api_route(
            path,
            _answering(shop, model, _as_json),
            methods=["POST"],
            summary=model.question,
            description=model.__doc__,
            response_class=JSONResponse,
            responses={200: {"content": {"application/json": {"schema": schema}}}},
        )
        routes.add_api_route(
            f"{path}/page",
            _answering(shop, model, _as_page),
            methods=["POST"],
            summary=f"{model.question} As a page to print",
            response_class=HTMLResponse,
            responses=FAULTS_OF_A_PAGE,
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
        takes_long=model.takes_long,
        page=model.page,
    )


def body_of(model: type[Question]) -> type[BaseModel]:
    """Return what a request says that asks a question: what it is about, events, and settings."""
    fields: dict[str, Any] = {
        name: (one.annotation, one) for name, one in model.model_fields.items() if name not in model.files
    }
    if model.of_a_change:
        said = "Where adjusters stand after the change that are not at their baseline, by name."
        fields["changed"] = (Positions, Field(description=said))
    if model.with_good:
        said = "A set-up with which the car did not do it; null if none is told."
        fields["good"] = (Positions | None, Field(default=None, description=said))
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
    def answer(asked: Any) -> Any:
        question, subject = _opened(shop, model, asked)
        question.refuse(subject.asked())
        return written(model.command, question.answer(subject.asked()))

    answer.__annotations__ = {"asked": body_of(model)}
    answer.__name__ = model.__name__
    return answer


def _starting(shop: Shop, model: type[Question]) -> Callable[[Any], JobState]:
    def start(asked: Any) -> JobState:
        return job_state(ask(shop.jobs, *_opened(shop, model, asked)))

    start.__annotations__ = {"asked": body_of(model), "return": JobState}
    start.__name__ = model.__name__
    return start


def _opened(shop: Shop, model: type[Question], asked: Any) -> tuple[Question, Subject]:
    """Return what a request asks, and of what."""
    about = other = None
    if model.of != "track":
        car = shop.notebook.cars.read(asked.car)
        about = standing(car, setup_of(car, "asked", asked.setup))
        if model.of_a_change:
            other = about.with_setup(setup_of(car, "changed", asked.changed))
        if model.with_good and asked.good is not None:
            other = about.with_setup(setup_of(car, "good", asked.good))
    track = getattr(asked, "track", None)
    subject = Subject(
        car=getattr(asked, "car", None),
        about=about,
        other=other,
        track=track,
        on=None if track is None else shop.notebook.tracks.read(track),
        events=getattr(asked, "events", {}),
    )
    given = {name: getattr(asked, name) for name in model.model_fields if name not in model.files}
    return model.model_construct(**given), subject


def _as_json(command: str, answer: Answer) -> JSONResponse:
    return JSONResponse({"command": command, "fourpatch": __version__, **answer.content()})


def _as_page(command: str, answer: Answer) -> HTMLResponse:
    return HTMLResponse(page(answer.title, answer.blocks))
