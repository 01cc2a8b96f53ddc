"""What the API says to what it was not described to take: where, what was found, what is allowed."""

import asyncio
import json
from collections.abc import Callable, Iterator
from typing import Any

import httpx
import pytest
from fastapi import FastAPI

from fourpatch.app.api.faults import answer_faults
from fourpatch.app.api.questions import question_routes
from fourpatch.app.api.service import make_api
from fourpatch.app.api.setups import setup_routes
from fourpatch.app.shop import Shop
from fourpatch.notebook.notebook import open_notebook


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    opened = Shop(open_notebook(tmp_path_factory.mktemp("faults") / "notebook.sqlite"))
    yield opened
    opened.close()


@pytest.fixture(scope="module")
def ask(shop: Shop) -> Callable[..., httpx.Response]:
    """Ask a server of two resources as over the network."""
    server = FastAPI()
    answer_faults(server)
    for routes in (question_routes, setup_routes):
        server.include_router(routes(shop))

    async def asked(method: str, address: str, **sent: Any) -> httpx.Response:
        transport = httpx.ASGITransport(app=server, raise_app_exceptions=False)
        async with httpx.AsyncClient(transport=transport, base_url="http://here") as client:
            return await client.request(method, address, **sent)

    return lambda *arguments, **sent: asyncio.run(asked(*arguments, **sent))


@pytest.mark.parametrize(
    ("body", "fields"),
    [
        ({}, {"car": "is missing; it must be given", "complaint": "is missing; it must be given"}),
        (
            {"car": 0, "complaint": "loose", "draws": "many"},
            {
                "car": "is 0; it must be greater than or equal to 1",
                "draws": 'is "many"; it must be a valid integer, unable to parse string as an integer',
            },
        ),
        (
            {"car": 1, "complaint": ["loose"]},
            {"complaint": "is a list of 1; it must be a valid string"},
        ),
        (
            {"car": 1, "complaint": "loose", "setup": {"front bar": "4 mm"}},
            {"setup.front bar": 'is "4 mm"; it must be a valid number, unable to parse string as a number'},
        ),
        ([], {"body": "is a list of 0; it must be a valid dictionary or object to extract fields from"}),
    ],
)
def test_a_body_is_refused_by_field_value_and_what_is_allowed(
    ask: Callable[..., httpx.Response], body: Any, fields: dict[str, str]
) -> None:
    answer = ask("POST", "/api/advise/cure", json=body)
    assert answer.status_code == 422
    told = answer.json()
    assert told["fields"] == fields
    assert told["message"] == "\n".join(f"{name} {text}." for name, text in fields.items())


def test_a_body_that_is_no_json_is_refused_at_its_place(ask: Callable[..., httpx.Response]) -> None:
    answer = ask(
        "POST", "/api/advise/cure", content='{"car": 1,', headers={"Content-Type": "application/json"}
    )
    assert answer.status_code == 422
    assert answer.json()["message"].startswith("body is no JSON at sign ")


def test_a_long_value_is_cut(ask: Callable[..., httpx.Response]) -> None:
    answer = ask("POST", "/api/advise/cure", json={"car": "x" * 10_000, "complaint": "loose"})
    assert len(answer.json()["message"]) < 200


def test_a_wrong_part_of_an_address_is_refused_alike(ask: Callable[..., httpx.Response]) -> None:
    answer = ask("GET", "/api/setups/none")
    assert answer.status_code == 422
    assert 'is "none"; it must be a valid integer' in answer.json()["message"]


def test_every_route_describes_its_refusals_as_they_are(shop: Shop) -> None:
    described = make_api(shop).openapi()
    assert "HTTPValidationError" not in json.dumps(described)
    for path, operations in described["paths"].items():
        for method, operation in operations.items():
            for status in ("404", "422"):
                schema = operation["responses"][status]["content"]["application/json"]["schema"]
                assert schema == {"$ref": "#/components/schemas/Fault"}, (method, path, status)
