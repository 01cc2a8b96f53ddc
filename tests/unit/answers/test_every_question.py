"""What holds for every question: its answer is as described, and every way to it says the same."""

import asyncio
import json
import re
import threading
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import httpx
import pytest
from click.testing import CliRunner

from fourpatch.advice import base_borne
from fourpatch.analysis.quantity import Findings, quantities
from fourpatch.answers.listing import QUESTIONS, question
from fourpatch.answers.question import Asked
from fourpatch.answers.schema import answer_schema
from fourpatch.app.api.service import make_api
from fourpatch.app.shop import Shop
from fourpatch.car.demo import demo_car
from fourpatch.car.files import save_car
from fourpatch.cli.root import root
from fourpatch.document.content import json_unit
from fourpatch.document.fields import choices_of
from fourpatch.document.meaning import meaning
from fourpatch.face.standing_car import car
from fourpatch.notebook.notebook import open_notebook
from fourpatch.picture.blocks import Picture, Sentence

CAR, TRACK = "gt", "chicanes"


SETTINGS: dict[str, dict[str, Any]] = {
    "advise cure": {"complaint": "pushes at mid-corner", "draws": "2"},
    "advise rules": {"rule": "more-rake-frees"},
    "advise trade-off": {"adjusters": ["rear bar"]},
    "run lap": {"pace": "80 %"},
    "run laps": {"pace": "80 %", "laps": "3"},
    "analyse stint": {"laps": "3", "plausible": "1"},
}
"""Of questions that cannot be asked, or would take longer, without."""
CHANGED = {"front bar": 5.0}
FEW = {"advise base": ("front bar", "fuel"), "advise cure": ("front bar", "rear bar")}
"""Of questions that try every adjuster, those that the car has."""


def needed(command: str) -> dict[str, Any]:
    """Settings to give: those that must be, the first word of each, and those that make it short."""
    if command in SETTINGS:
        return SETTINGS[command]
    fields = question(command).model_fields.items()
    return {name: choices_of(field)[0] for name, field in fields if field.is_required()}


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    made = Shop(open_notebook(tmp_path_factory.mktemp("notebook") / "notebook.sqlite"))
    yield made
    made.close()


@pytest.fixture
def cars(shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Cars with few adjusters, as files by the command and in the notebook; no lap is driven for a base."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(base_borne, "_course", lambda *_: (None, "not driven in this test"))
    for command, few in FEW.items():
        whole = demo_car(CAR)
        kept = [one for one in whole.adjusters if one.name in few]
        made = whole.model_copy(update={"name": command, "adjusters": kept})
        save_car(made, f"{command}.toml")
        if command not in {one.name for one in shop.notebook.cars.listed()}:
            shop.notebook.cars.add(made, by="a test")


def typed(command: str) -> list[str]:
    words = command.split()
    of = question(command).of
    words += [TRACK] if of == "track" else [f"{command}.toml" if command in FEW else CAR]
    words += ["--track", TRACK] if of == "car on a track" else []
    if question(command).of_a_change:
        words += [part for name, at in CHANGED.items() for part in ("--change", f"{name}=to {at:g}")]
    for name, value in needed(command).items():
        for one in [value] if isinstance(value, str) else value:
            words += [one] if name in question(command).arguments else [f"--{name}", one]
    return words


@pytest.mark.parametrize("command", QUESTIONS)
@pytest.mark.usefixtures("cars")
def test_command_line_and_http_say_the_same_under_the_same_keys(command: str, shop: Shop) -> None:
    result = CliRunner().invoke(root, [*typed(command), "--json"])
    assert result.exit_code == 0, result.stderr
    by_command = json.loads(result.stdout)
    of = question(command).of
    body: dict[str, Any] = dict(needed(command))
    if of != "track":
        body["car"] = next(one.id for one in shop.notebook.cars.listed() if one.name == by_command["car"])
    if question(command).of_a_change:
        body["changed"] = CHANGED
    if of in ("track", "car on a track"):
        body["track"] = next(
            one.id for one in shop.notebook.tracks.listed() if one.name == by_command["track"]
        )
    answer = asyncio.run(asked(shop, "POST", f"/api/{command.replace(' ', '/')}", body))
    assert answer.status_code == 200, answer.text
    by_http = worked_out(shop, answer.json()) if question(command).takes_long else answer.json()
    assert by_http.keys() == by_command.keys()
    by_http["setup"] = by_command.get("setup")  # called as the request calls it
    by_command.setdefault("setup", None)
    assert {**by_http, "said": ""} == {**by_command, "said": ""}
    schema = answer_schema(question(command))["properties"]
    found = {key: by_command[key] for key in schema if key != "said"}
    assert any(found.values())
    for key, content in found.items():
        by_event = question(command).by_event
        for one in content.values() if by_event else [content]:
            described = schema[key]["additionalProperties"] if by_event else schema[key]
            assert list(undescribed(one, described)) == []


async def asked(shop: Shop, method: str, path: str, body: Mapping[str, Any] | None = None) -> httpx.Response:
    transport = httpx.ASGITransport(app=make_api(shop))
    async with httpx.AsyncClient(transport=transport, base_url="http://app") as client:
        return await client.request(method, path, json=body)


def worked_out(shop: Shop, begun: Mapping[str, Any]) -> Any:
    """Return what comes of a job, and see that its page is there."""
    job, over = shop.jobs.get(begun["id"]), threading.Event()
    assert job is not None
    job.when_over(lambda ended: over.set())
    assert over.wait(240.0)
    page = asyncio.run(asked(shop, "GET", f"/api/jobs/{begun['id']}/page"))
    assert "What this means" in page.text
    return asyncio.run(asked(shop, "GET", f"/api/jobs/{begun['id']}")).json()["result"]


def undescribed(content: Any, schema: Mapping[str, Any], at: str = "") -> Iterator[str]:
    """Numbers of an answer that its schema does not know, or knows with another unit."""
    if "anyOf" in schema:
        schema = next(one for one in schema["anyOf"] if (one["type"] == "array") == isinstance(content, list))
    if isinstance(content, list):
        for one in content:
            yield from undescribed(one, schema.get("items", {}), f"{at}[]")
    elif isinstance(content, dict):
        if "unit" in content and content.keys() <= {"value", "unit", "dimensions"}:
            known = schema.get("properties", {}).get("unit", {})
            if known not in ({"const": content["unit"]}, {"type": "string"}):
                yield f"{at}: {content['unit']} instead of {known}"
        else:
            others = schema.get("additionalProperties", {})
            for name, one in content.items():
                if name != "coordinates":
                    yield from undescribed(
                        one, schema.get("properties", {}).get(name, others), f"{at}.{name}"
                    )


@pytest.mark.parametrize("command", [one for one in QUESTIONS if one not in FEW])
def test_a_page_needs_nothing_from_outside_and_has_its_picture(command: str, tmp_path: Path) -> None:
    path = tmp_path / "answer.html"
    result = CliRunner().invoke(root, [*typed(command), "--page", str(path)])
    assert result.exit_code == 0, result.stderr
    text = path.read_text(encoding="utf-8")
    outside = re.findall(r'(?:src|href)="([^"#][^"]*)"', text)
    assert not [one for one in outside if not one.startswith("data:")]
    assert ("<svg" in text) == question(command).drawn
    assert "licensed practice" in text
    assert "What this means" in text


@pytest.mark.parametrize("command", QUESTIONS)
def test_every_setting_and_every_finding_has_a_meaning(command: str) -> None:
    model = question(command)
    assert model.command == command
    assert model.__doc__
    assert all(meaning(model, name) for name in model.model_fields)
    assert model.question.endswith("?")


def test_blocks_and_findings_are_of_the_same_numbers() -> None:
    answer = question("analyse statics")().answer(Asked(about=car(CAR)))
    found = answer.found["statics"]
    assert isinstance(found, Findings)
    shown = str(answer)
    for quantity in quantities(found):
        assert all(quantity.measure.text(value) in shown for value in quantity.values)
        assert json_unit(quantity.measure.si) in json.dumps(answer.content()["statics"])
    assert answer.content()["said"] == [
        block.whole() for block in answer.blocks if isinstance(block, Sentence)
    ]
    assert not any(isinstance(block, Picture) for block in answer.blocks)


def test_a_bad_page_name_is_refused_before_anything_is_computed(tmp_path: Path) -> None:
    result = CliRunner().invoke(root, ["analyse", "statics", CAR, "--page", str(tmp_path / "answer.txt")])
    assert result.exit_code == 2
    assert "written as .html" in result.stderr
