"""Rules of thumb in a real browser."""

import re

import pytest
from playwright.sync_api import Page, expect

LONG = 240_000
"""A check takes some seconds; a test machine may have other things to do. [ms]"""


@pytest.fixture
def checked(page: Page) -> Page:
    page.goto("/rules")
    page.get_by_role("button", name="Check the rules on B").click()
    expect(page.locator(".fp-rule").first).to_be_visible(timeout=LONG)
    return page


def test_rules_are_checked_when_asked_and_say_what_the_api_says(checked: Page) -> None:
    jobs = [job for job in checked.request.get("/api/jobs").json() if job["kind"] == "advise rules"]
    rules = checked.request.get(f"/api/jobs/{jobs[-1]['id']}").json()["result"]["rules"]
    expect(checked.locator(".fp-rule")).to_have_count(len(rules))
    for rule in rules[::6]:
        row = checked.locator(".fp-rule", has_text=rule["saying"])
        expect(row.locator(".fp-rule-verdict")).to_have_text(rule["verdict"])
        cells = [one for one in rule["claims"][0]["cells"] if not one["back"]] if rule["claims"] else []
        if cells and cells[0]["unit"] == "points":
            size = max(abs(one["value"]["value"]) for one in cells)
            expect(row.locator(".fp-rule-size")).to_contain_text(f"{size:.2f}" if round(size, 2) else "0")


def test_what_is_read_first_fits_one_screen(checked: Page) -> None:
    expect(checked.locator(".fp-first-said")).to_have_text(re.compile(r"^Of \d+ rules of thumb \d+ "))
    for part in (".fp-first-said", ".fp-first-mark", ".fp-bars"):
        expect(checked.locator(part)).to_be_in_viewport(ratio=1)


def test_rules_are_chosen_by_verdict_and_system(checked: Page) -> None:
    every = checked.locator(".fp-rule").count()
    for verdict in ("depends", "disagrees"):
        checked.get_by_role("checkbox", name=re.compile(rf"^{verdict}")).uncheck()
    expect(checked.locator(".fp-rule-verdict", has_text="depends")).to_have_count(0)
    assert 0 < checked.locator(".fp-rule").count() < every
    checked.get_by_label("System").select_option("aero")
    expect(checked.locator(".fp-rule", has_text="More rear wing steadies the car")).to_be_visible()
    expect(checked.locator(".fp-rule", has_text="Softer front springs give")).to_have_count(0)


def test_rules_stand_by_what_they_promise_what_moves_most_first(checked: Page) -> None:
    part = checked.get_by_role("region", name="At mid-corner")
    sizes = [text.split(" ")[0] for text in part.locator(".fp-rule-size b").all_inner_texts()]
    points = [abs(float(size.replace("−", "-"))) for size in sizes if size not in ("", "–")]
    assert len(points) > 3
    heads = checked.locator(".fp-rules-system").all_inner_texts()
    assert heads.index("On entry") < heads.index("At mid-corner") < heads.index("On exit")


def test_a_rule_opens_by_key_and_a_term_tells_what_it_is(checked: Page) -> None:
    row = checked.locator(".fp-rule", has_text="A stiffer front bar makes the car push")
    row.locator("summary").focus()
    checked.keyboard.press("Enter")
    expect(row.get_by_text("Why.")).to_be_visible()
    expect(row.get_by_text("common practice, no published source")).to_be_visible()
    expect(row.get_by_role("row").nth(1)).to_contain_text("slow corner, mid")
    word = checked.get_by_role("button", name="kerbs", exact=True)
    told = checked.get_by_text("A raised edge under the left wheels")
    expect(told).to_be_hidden()
    word.hover()
    expect(told).to_be_visible()
    checked.mouse.move(0, 0)
    expect(told).to_be_hidden()
    checked.get_by_role("button", name="roads", exact=True).focus()
    checked.keyboard.press("Tab")
    expect(told).to_be_visible()
    checked.keyboard.press("Escape")
    expect(told).to_be_hidden()


def test_what_was_computed_of_another_setup_says_so(checked: Page) -> None:
    stale = checked.get_by_text("B has changed since")
    checked.get_by_role("button", name="Check the rules on B").click()  # another test may have turned it
    expect(stale).to_be_hidden(timeout=LONG)
    expect(checked.get_by_role("progressbar")).to_be_hidden(timeout=LONG)
    checked.get_by_role("slider", name="Front bar").press("ArrowRight")
    expect(stale).to_be_visible()
    checked.get_by_role("button", name="Undo").click()
    expect(stale).to_be_hidden()
