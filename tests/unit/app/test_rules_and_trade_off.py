"""Rules and trade-off as the app answers them: the numbers of the core, with nothing lost on the way."""

import asyncio
from collections.abc import Iterator
from pathlib import Path
from time import monotonic, sleep

import httpx
import pytest
from fastapi import FastAPI

from fourpatch.advice import trade_off as core
from fourpatch.advice.rules.catalogue import rule_named
from fourpatch.advice.rules.check import check_rules
from fourpatch.answers.rules import rule_found
from fourpatch.answers.trade_off import TradeOffs
from fourpatch.app.api.faults import answer_faults
from fourpatch.app.api.questions import question_routes
from fourpatch.app.api.words import words_routes
from fourpatch.app.asking import Answered, Subject, ask
from fourpatch.app.jobs import Job
from fourpatch.app.pages.trade_off import setups_words
from fourpatch.app.parts import rule_list
from fourpatch.app.shop import Shop
from fourpatch.car.demo import demo_car, demo_names
from fourpatch.car.setup import baseline_setup
from fourpatch.face.standing_car import car as standing
from fourpatch.notebook.notebook import open_notebook
from fourpatch.picture.trade_off_words import moved_from

NAMES = ["front bar", "rear bar"]


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    opened = Shop(open_notebook(tmp_path / "notebook.sqlite"))
    yield opened
    opened.close()


class Client:
    """Asks the API without a server."""

    def __init__(self, shop: Shop) -> None:
        self._app = FastAPI()
        answer_faults(self._app)
        for routes in (question_routes, words_routes):
            self._app.include_router(routes(shop))

    def ask(self, method: str, path: str, body: object = None) -> httpx.Response:
        async def asked() -> httpx.Response:
            transport = httpx.ASGITransport(self._app)
            async with httpx.AsyncClient(transport=transport, base_url="http://127.0.0.1") as client:
                return await client.request(method, path, json=body)

        return asyncio.run(asked())


@pytest.fixture
def client(shop: Shop) -> Client:
    return Client(shop)


def ended(job: Job) -> Job:
    until = monotonic() + 120.0
    while not job.over:
        assert monotonic() < until
        sleep(0.02)
    return job


def test_a_rules_answer_has_the_numbers_of_the_check() -> None:
    car = demo_car("gt")
    (checked,) = check_rules(car, baseline_setup(car), rules=[rule_named("stiffer-front-bar-pushes")])
    found, row = rule_found(checked).content(), rule_list._row(checked)
    largest = checked.claims[0].largest
    assert found["verdict"] == row["verdict"] == checked.verdict
    assert row["size"] == f"{largest.value:+.2f} points".replace("-", "−")
    cells = found["claims"][0]["cells"]
    assert [cell["value"]["value"] for cell in cells] == [cell.value for cell in checked.claims[0].cells]
    assert {cell["value"]["unit"] for cell in cells} == {"points"}
    assert "front's share" in row["why"]  # a bar acts through nothing else
    assert len(row["why"]) < len(row["full"])


@pytest.mark.parametrize("name", demo_names())
def test_every_demo_car_has_something_to_trade(name: str) -> None:
    car = demo_car(name)
    usual = core.usual_adjusters(car)
    assert 1 <= len(usual) <= 2
    assert "all are computed" in setups_words(car, usual, core.MOST_SETUPS)


def test_how_many_setups_there_are_is_said_before_they_are_computed() -> None:
    car = demo_car("gt")
    assert setups_words(car, NAMES, core.MOST_SETUPS).startswith("7 × 7 = 49 set-ups: all")
    assert "at most 96" in setups_words(car, [*NAMES, "rear wing"], core.MOST_LAPS)


def traded(shop: Shop, *names: str, counted: tuple[str, ...] = ()) -> Job:
    """Ask the GT as it stands what adjusters give for each other."""
    subject = Subject(car=1, about=standing(demo_car("gt")))
    return ask(shop.jobs, TradeOffs(adjusters=names, objectives=counted), subject)


def found_by(job: Job) -> core.TradeOff:
    assert isinstance(job.result, Answered)
    found = job.result.answer.source
    assert isinstance(found, core.TradeOff)
    return found


def test_a_stopped_trade_off_keeps_what_it_found_and_goes_on_from_there(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(core, "BATCH", 8)
    first = traded(shop, *NAMES)
    while first.share < 0.3:
        sleep(0.005)
    first.cancel()
    half = found_by(ended(first))
    assert half.stopped
    assert first.state == "cancelled"
    assert first.result.answer.stopped
    assert 8 < len(half.points) < 49
    again = ended(traded(shop, *NAMES))
    whole = found_by(again)
    assert whole.exhaustive
    assert not whole.stopped
    known = {one.positions: one.pace for one in half.points[1:]}
    after = {one.positions: one.pace for one in whole.points}
    assert known.items() <= after.items()  # the very same numbers: they were not computed again
    assert moved_from(whole, whole.present) == ""
    assert traded(shop, *NAMES) is again


def test_what_counts_can_be_changed_without_computing_again(shop: Shop) -> None:
    whole = found_by(ended(traded(shop, "front bar")))
    two = found_by(ended(traded(shop, "front bar", counted=("pace, tyre work",))))
    assert two.objectives == ("pace", "tyre work")
    assert core.recounted(whole, two.objectives).front == two.front
    assert [one.pace for one in whole.points] == [one.pace for one in two.points]  # the very same numbers


def test_while_it_runs_the_job_has_what_is_known(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(core, "BATCH", 8)
    job = traded(shop, *NAMES)
    seen: list[Answered] = []
    until = monotonic() + 120.0
    while not job.over:
        assert monotonic() < until
        if isinstance(job.result, Answered) and (not seen or job.result is not seen[-1]):
            seen.append(job.result)
        sleep(0.001)
    assert not seen[0].answer.source.finished
    assert any("so far" in said for said in seen[0].content()["said"])
    assert len(seen[0].answer.source.points) < len(found_by(job).points) == 49
    assert found_by(job).finished


@pytest.mark.parametrize(
    ("path", "body", "status", "said"),
    [
        ("advise/rules", {"car": 999}, 404, "999"),
        ("advise/rules", {"car": 1, "setup": {"front bra": 1.0}}, 422, "front bra"),
        ("advise/rules", {"car": 1, "rule": "stiff-front-bar"}, 422, "stiffer-front-bar-pushes"),
        ("advise/test-plan", {"car": 1, "changed": {"front bra": 1.0}}, 422, "front bra"),
        ("advise/trade-off", {"car": 999, "adjusters": ["front bar"]}, 404, "999"),
        ("advise/trade-off", {"car": 1, "adjusters": ["front bra"]}, 422, "front bra"),
        ("advise/trade-off", {"car": 1, "adjusters": ["fuel", "fuel"]}, 422, "twice"),
        ("advise/trade-off", {"car": 1, "adjusters": ["fuel"], "track": 999}, 404, "999"),
        ("advise/trade-off", {"car": 1, "adjusters": []}, 422, "adjusters"),
        ("advise/trade-off", {"car": 1, "adjusters": ["fuel"], "objectives": ["comfort"]}, 422, "comfort"),
    ],
)
def test_what_cannot_be_asked_is_refused(
    client: Client, path: str, body: object, status: int, said: str
) -> None:
    answer = client.ask("POST", f"/api/{path}", body)
    assert answer.status_code == status
    assert said in answer.text


def test_words_are_explained(client: Client) -> None:
    words = {one["key"]: one for one in client.ask("GET", "/api/words").json()}
    assert words["front.spring.rate"]["unit"] == "N/mm"
    assert "rear.spring.rate" not in words
    assert client.ask("GET", "/api/words/calmness").json() == words["calmness"]
    missing = client.ask("GET", "/api/words/calmnes")
    assert missing.status_code == 404
    assert "calmness" in missing.json()["message"]
    for one in words.values():
        assert one["meaning"].endswith((".", "]")), one
