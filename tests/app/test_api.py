"""The running server, asked what its own description allows, and more: no answer is a fault of the server.

Requests are made from the OpenAPI description by a general-purpose library for it; what the description
does not say (half a surrogate pair, NaN, numbers beyond a float) is written here.
"""

from typing import Any

import pytest
import requests
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis.errors import Unsatisfiable
from schemathesis import Case, GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import response_schema_conformance

EXAMPLES = 2
"""Requests of each kind for every operation; the whole takes about half a minute."""

PATIENCE = 300
"""How long the first answer of a kind may take where the engine is not compiled yet. [s]"""

FEW = settings(
    max_examples=EXAMPLES,
    derandomize=True,
    database=None,
    deadline=None,
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)


@pytest.fixture(scope="module")
def description(spare_address: str) -> Any:
    address = f"{spare_address}/api/openapi.json"
    requests.get(address, timeout=PATIENCE)  # the API is loaded when it is first asked for
    return schemathesis.openapi.from_url(address)


@pytest.mark.parametrize("mode", list(GenerationMode), ids=lambda mode: mode.value)
def test_whatever_the_description_allows_is_answered_as_described(
    spare_address: str, description: Any, mode: GenerationMode
) -> None:
    session = requests.Session()
    told: list[str] = []
    operations = [result.ok() for result in description.get_all_operations()]
    assert len(operations) > 50
    for operation in operations:

        @FEW
        @given(case=operation.as_strategy(generation_mode=mode))
        def ask(case: Case) -> None:
            answer = case.call(session=session, timeout=PATIENCE)
            if answer.status_code == 202:  # long work; that it begins is what is asked here
                session.delete(f"{spare_address}/api/jobs/{answer.json()['id']}", timeout=PATIENCE)
            case.validate_response(answer, checks=[not_a_server_error, response_schema_conformance])

        try:
            ask()
        except Unsatisfiable:  # nothing can be sent there that is not as described
            continue
        except Exception as error:  # all operations are asked before the first is complained of
            causes = error.exceptions if isinstance(error, ExceptionGroup) else (error,)
            told += [f"{operation.label}: {cause!r}" for cause in causes]
    assert not told, "\n\n".join(told)


TEXTS = ("\\ud800", "a\\u0000b", "\\u202e", "'; DROP TABLE document; --", "../../x", "x" * 100_000, " ")
NUMBERS = ("NaN", "-Infinity", "1e999", "9" * 400, "-1", "0.5", "true", "null", '"1"', "[]", "[" * 3000)

BODIES = {
    ("POST", "/api/cars/1/name"): '{{"name": "{text}", "revision": {number}}}',
    ("POST", "/api/cars/1/copy"): '{{"name": "{text}"}}',
    ("POST", "/api/cars/1/parameters"): '{{"revision": {number}, "values": {{"chassis.mass": "{text}"}}}}',
    ("POST", "/api/tracks"): '{{"files": {{"{text}.toml": "name = \'{text}\'"}}, "name": "{text}"}}',
    (
        "POST",
        "/api/styles",
    ): '{{"files": {{"x.toml": "[a]\\nfile = \\"{text}\\"", "{text}": ""}}, "name": "x"}}',
    ("POST", "/api/cars/1/setups"): '{{"name": "{text}", "steps": {{"front bar": {number}}}}}',
    (
        "POST",
        "/api/setups/1/versions",
    ): '{{"head": 1, "note": "{text}", "steps": {{"front bar hole": {number}}}}}',
    ("POST", "/api/complaints"): '{{"version": 1, "text": "{text}", "answer": {{"{text}": {number}}}}}',
    ("POST", "/api/complaints/1/trials"): '{{"changes": {{"{text}": {number}}}, "note": "{text}"}}',
    ("POST", "/api/cars/1/bench"): '{{"setup": {{"{text}": {number}}}}}',
    ("POST", "/api/cars/estimate"): '{{"name": "{text}", "mass": {number}, "front_weight_share": 0.5, '
    '"wheelbase": 2.5, "driven": "rear", "power": 1e5, "front_tyre": "{text}", "rear_tyre": "205/50R16", '
    '"grip": "slick", "body": "saloon"}}',
    ("POST", "/api/complaint/read"): '{{"text": "{text}"}}',
}
"""By method and address, what is sent."""


@pytest.mark.parametrize("operation", BODIES, ids=lambda operation: operation[1].removeprefix("/api/"))
def test_what_no_text_or_number_can_be_is_refused_in_words(
    spare_address: str, operation: tuple[str, str]
) -> None:
    method, path = operation
    pairs = [(text, "1") for text in TEXTS] + [("a", number) for number in NUMBERS]
    for text in dict.fromkeys(BODIES[operation].format(text=t, number=n) for t, n in pairs):
        answer = requests.request(
            method,
            spare_address + path,
            data=text.encode(),
            headers={"Content-Type": "application/json"},
            timeout=PATIENCE,
        )
        assert answer.status_code < 500, (text[:200], answer.text)
        if answer.status_code >= 400:
            assert answer.json()["message"], text[:200]


def test_a_zip_that_is_none_is_refused_in_words(spare_address: str) -> None:
    for content in (b"", b"PK\x03\x04", b"\x00" * 1000, b"PK\x05\x06" + b"\x00" * 18):
        answer = requests.post(f"{spare_address}/api/notebook/zip", files={"zip": content}, timeout=PATIENCE)
        assert answer.status_code == 422, content
        assert answer.json()["message"]
