"""What is known of the real car, said on the page in seconds."""

from collections.abc import Iterator
from urllib.parse import urlencode

import pytest
from playwright.sync_api import Page, expect

BRIEF = {
    "name": "Observed",
    "mass": "950 kg",
    "front_weight_share": "48 %",
    "wheelbase": "2.4 m",
    "driven": "rear",
    "power": "150 kW",
    "front_tyre": "205/50R16",
    "rear_tyre": "205/50R16",
    "grip": "semi-slick",
    "body": "sports",
}


@pytest.fixture
def opened(page: Page) -> Iterator[Page]:
    made = page.request.post("/api/cars/estimate", data=BRIEF, timeout=300_000).json()
    page.goto(f"/evidence?{urlencode({'setup': made['setup']['setup_id'], 'a': made['setup']['id']})}")
    yield page
    for one in page.request.get("/api/cars").json():
        if one["name"] in ("Observed", "By program"):
            page.request.delete(f"/api/cars/{one['id']}")


def test_said_kept_with_what_it_taught_and_taken_back(opened: Page) -> None:
    page = opened
    page.get_by_label("In your words").fill("a little loose on exit in slow corners")
    page.get_by_role("button", name="Keep what it does").click()
    kept = page.get_by_role("region", name="Kept with the car")
    expect(kept.get_by_role("listitem")).to_have_count(1)
    page.get_by_text("I read a number").click()
    page.get_by_label("It was").fill("255 kg")
    page.get_by_role("button", name="Keep the number").click()
    expect(kept.get_by_role("listitem")).to_have_count(2)
    expect(kept).to_contain_text("FL corner weight: 255 kg")
    page.get_by_role("button", name="What did it teach?").click()
    told = page.get_by_role("region", name="What it taught")
    expect(told.get_by_role("table").first).to_contain_text("a little loose", timeout=120_000)
    expect(told).to_contain_text("in 100 plausible cars")
    kept.get_by_role("button", name="Take back 1").click()
    expect(kept.get_by_role("listitem")).to_have_count(1)
    expect(kept).not_to_contain_text("loose")


def test_what_cannot_be_meant_is_said_and_what_was_typed_stays(opened: Page) -> None:
    page = opened
    page.get_by_label("In your words").fill("purple")
    page.get_by_role("button", name="Keep what it does").click()
    expect(page.get_by_role("alert").filter(has_text="does not say")).to_be_visible()
    expect(page.get_by_label("In your words")).to_have_value("purple")
    page.get_by_text("I changed something").click()
    page.get_by_label("Against").fill("pushes on entry")
    page.get_by_role("button", name="Keep what came of it").click()
    expect(page.get_by_role("alert").filter(has_text="A and B are alike")).to_be_visible()


def test_a_change_turned_on_the_page_is_a_comparison(opened: Page) -> None:
    page = opened
    page.get_by_role("slider", name="Front bar", exact=True).press("ArrowRight")
    page.get_by_text("I changed something").click()
    page.get_by_label("Against").fill("pushes on entry in slow corners")
    page.get_by_label("It got").select_option("worse")
    page.get_by_role("button", name="Keep what came of it").click()
    expect(page.get_by_role("listitem").filter(has_text="worse at")).to_be_visible()


def test_the_api_keeps_lists_and_takes_back(opened: Page) -> None:
    api = opened.request
    made = api.post("/api/cars/estimate", data={**BRIEF, "name": "By program"}).json()
    path, revision = f"/api/cars/{made['car']['id']}/evidence", made["car"]["revision"]
    item = {"kind": "reading", "quantity": "top speed", "value": "212"}
    kept = api.post(path, data={"revision": revision, "item": item})
    assert kept.status == 201, kept.text()
    assert kept.json()["about"] == "top speed"
    assert api.get(path).json() == {"items": ["top speed: 212 km/h"]}
    stale = api.post(path, data={"revision": revision, "item": item})
    assert stale.status == 409
    refused = api.post(path, data={"revision": revision + 1, "item": {**item, "value": "5 kg"}})
    assert refused.status == 422
    back = api.post(f"{path}/take-back", data={"revision": revision + 1, "number": 1})
    assert back.ok, back.text()
    assert api.get(path).json() == {"items": []}
