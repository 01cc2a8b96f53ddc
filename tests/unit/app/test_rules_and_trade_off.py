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
from fourpatch.app.answers.rules import rule_answer
from fourpatch.app.answers.trade_off import (
    TradeOffAnswer,
    recounted_answer,
    setups_words,
    start_trade_off,
    usual_adjusters,
)
from fourpatch.app.api.faults import answer_faults
from fourpatch.app.api.rules import rules_routes
from fourpatch.app.api.trade_off import trade_off_routes
from fourpatch.app.api.words import words_routes
from fourpatch.app.jobs import Job
from fourpatch.app.shop import Shop
from fourpatch.car.demo import demo_car, demo_names
from fourpatch.car.setup import baseline_setup
from fourpatch.errors import FourpatchError
from fourpatch.notebook.notebook import open_notebook

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
        for routes in (rules_routes, trade_off_routes, words_routes):
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
    answer = rule_answer(checked)
    largest = checked.claims[0].largest
    assert answer.verdict == checked.verdict
    assert answer.size == largest.value
    assert answer.size_told == f"{largest.value:+.2f} points"
    assert [cell.value for cell in answer.claims[0].cells] == [cell.value for cell in checked.claims[0].cells]
    assert "front's share" in answer.why  # a bar acts through nothing else
    assert len(answer.why) < len(answer.why_in_full)


@pytest.mark.parametrize("name", demo_names())
def test_every_demo_car_has_something_to_trade(name: str) -> None:
    car = demo_car(name)
    usual = usual_adjusters(car)
    assert 1 <= len(usual) <= 2
    assert "all are computed" in setups_words(car, usual, with_track=False)


def test_how_many_setups_there_are_is_said_before_they_are_computed() -> None:
    car = demo_car("gt")
    assert setups_words(car, NAMES, with_track=False).startswith("7 × 7 = 49 set-ups: all")
    assert "at most 96" in setups_words(car, [*NAMES, "rear wing"], with_track=True)


def test_a_stopped_trade_off_keeps_what_it_found_and_goes_on_from_there(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(core, "BATCH", 8)
    car = demo_car("gt")

    def ask() -> Job:
        return start_trade_off(shop.jobs, 1, car, baseline_setup(car), NAMES)

    first = ask()
    while first.share < 0.3:
        sleep(0.005)
    first.cancel()
    half = ended(first).result
    assert isinstance(half, TradeOffAnswer)
    assert half.stopped
    assert first.state == "cancelled"
    assert 8 < len(half.setups) < 49
    whole = ended(ask()).result
    assert whole.exhaustive
    assert not whole.stopped
    known = {tuple(one.positions.values()): one.pace for one in half.setups[1:]}
    after = {tuple(one.positions.values()): one.pace for one in whole.setups}
    assert known.items() <= after.items()  # the very same numbers: they were not computed again
    assert whole.setups[0].moved == ""
    assert ask().result is whole


def test_what_counts_can_be_changed_without_computing_again(shop: Shop) -> None:
    car = demo_car("gt")

    def ask(objectives: list[str]) -> TradeOffAnswer:
        job = ended(
            start_trade_off(shop.jobs, 1, car, baseline_setup(car), ["front bar"], objectives=objectives)
        )
        assert isinstance(job.result, TradeOffAnswer)
        return job.result

    whole, two = ask(list(core.OBJECTIVES)), ask(["pace", "tyre work"])
    assert two.objectives == ["pace", "tyre work"]
    assert recounted_answer(whole, two.objectives).setups == two.setups
    assert [one.pace for one in whole.setups] == [one.pace for one in two.setups]  # the very same numbers


def test_while_it_runs_the_job_has_what_is_known(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(core, "BATCH", 8)
    car = demo_car("gt")
    job = start_trade_off(shop.jobs, 1, car, baseline_setup(car), NAMES)
    seen: list[TradeOffAnswer] = []
    until = monotonic() + 120.0
    while not job.over:
        assert monotonic() < until
        if isinstance(job.result, TradeOffAnswer) and (not seen or job.result is not seen[-1]):
            seen.append(job.result)
        sleep(0.001)
    assert not seen[0].finished
    assert "so far" in seen[0].how
    assert len(seen[0].setups) < len(job.result.setups) == 49
    assert job.result.finished


def test_too_many_adjusters_are_refused(shop: Shop) -> None:
    car = demo_car("gt")
    names = [one.name for one in car.adjusters[:7]]
    with pytest.raises(FourpatchError, match="more than 6"):
        start_trade_off(shop.jobs, 1, car, baseline_setup(car), names)


@pytest.mark.parametrize(
    ("path", "body", "status", "said"),
    [
        ("rules", {"car": 999}, 404, "999"),
        ("rules", {"car": 1, "setup": {"front bra": 1.0}}, 422, "front bra"),
        ("trade-off", {"car": 999, "adjusters": ["front bar"]}, 404, "999"),
        ("trade-off", {"car": 1, "adjusters": ["front bra"]}, 422, "front bra"),
        ("trade-off", {"car": 1, "adjusters": ["fuel", "fuel"]}, 422, "twice"),
        ("trade-off", {"car": 1, "adjusters": ["fuel"], "track": 999}, 404, "999"),
        ("trade-off", {"car": 1, "adjusters": []}, 422, "adjusters"),
        ("trade-off", {"car": 1, "adjusters": ["fuel"], "objectives": ["comfort"]}, 422, "comfort"),
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
