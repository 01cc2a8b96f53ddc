"""A complaint in a real browser: read back, answered, tried, confirmed, planned."""

import re
from typing import Any

from playwright.sync_api import Page, expect

from fourpatch.app.words import true_minus

PUSHES = "pushes at mid-corner in medium corners"
ANSWER = 180_000
"""Longest wait for an answer: the first one on a machine may compile the drive. [ms]"""

COUNT_ARTICLES = """() => {
  window.articles = 0;
  const within = (node) => (node.matches("article") ? 1 : node.querySelectorAll("article").length);
  const count = (node) => { if (node.nodeType === Node.ELEMENT_NODE) window.articles += within(node); };
  const watch = (changes) => changes.forEach((one) => one.addedNodes.forEach(count));
  new MutationObserver(watch).observe(document.body, { childList: true, subtree: true });
}"""


def test_a_complaint_is_read_back_while_it_is_typed(page: Page) -> None:
    page.goto("/cure")
    typed = page.get_by_label("What does the car do that it should not?")
    asking = page.get_by_role("button", name="Find a cure")
    expect(asking).to_be_disabled()
    typed.fill("loose on exit in slow corners")
    expect(page.get_by_text("Read as: oversteer on exit in slow corners.")).to_be_visible()
    expect(page.get_by_role("combobox", name="Phase")).to_have_value("exit")
    expect(asking).to_be_enabled()
    typed.fill("purple")
    expect(page.get_by_text("Did you mean")).to_be_visible()
    expect(asking).to_be_disabled()


def test_a_complaint_can_be_chosen(page: Page) -> None:
    page.goto("/cure")
    page.get_by_role("combobox", name="What it does").select_option("understeer")
    page.get_by_role("combobox", name="Where").select_option("fast corner")
    typed = page.get_by_label("What does the car do that it should not?")
    expect(typed).to_have_value("understeer in fast corners")
    expect(page.get_by_text("Read as: understeer in fast corners.")).to_be_visible()


def test_a_cure_is_found_tried_confirmed_and_planned(page: Page) -> None:
    page.goto("/cure")
    typed = page.get_by_label("What does the car do that it should not?")
    typed.fill(PUSHES)
    typed.press("Enter")  # at once: nothing has been read back yet
    expect(page.get_by_role("button", name="Stop", exact=True)).to_be_visible()
    page.reload()  # the work belongs to the app and is found again
    page.evaluate(COUNT_ARTICLES)
    said = page.get_by_role("group", name=f"Said: {PUSHES}").first
    said.evaluate("(group) => { group.marked = true; }")
    sets = page.get_by_role("article")
    expect(page.get_by_role("heading", name="Why the first set does it")).to_be_visible(timeout=ANSWER)
    expect(page.get_by_text("is still being computed")).to_have_count(0, timeout=ANSWER)
    # Each drawn once while the answer grew: a press on one that is drawn anew meets nothing.
    assert page.evaluate("window.articles") == sets.count()
    expect(said.get_by_text("Advised first: ")).to_be_visible()
    assert said.evaluate("(group) => group.marked")

    job = [one for one in page.request.get("/api/jobs").json() if one["kind"] == "advise cure"][-1]
    result = page.request.get(f"/api/jobs/{job['id']}").json()["result"]
    first = result["first_read"]
    expect(page.locator(".fp-first-said")).to_have_text(true_minus(first["sentence"]))
    the_first_answer_fits_one_screen(page)
    page.get_by_role("heading", name="What one step of each adjuster does").click()
    for lever in result["levers"][:3]:
        named = page.get_by_role(
            "rowheader", name=re.compile(rf"{re.escape(lever['adjuster'])}, .* {lever['direction']}$")
        )
        row = page.get_by_role("row").filter(has=named).first
        expect(row.get_by_role("cell").first).to_have_text(f"{lever['cures'][0]['value']:+.2f}")

    change = result["sets"][0]["changes"][0]
    sets.first.get_by_role("button", name="Try it").click()
    stepper = page.get_by_role("slider", name=change["adjuster"].capitalize(), exact=True)
    expect(stepper).to_have_value(f"{change['to']:g}")
    what_is_said_and_tried_is_kept(page, result["sets"][0])
    page.get_by_role("button", name="Confirm").click()
    expect(page.get_by_text("Run again on the rig")).to_be_visible(timeout=ANSWER)
    expect(page.get_by_text("Run again by the drive")).to_be_visible()

    page.get_by_label("Your laps scatter by").fill("0.05")
    page.get_by_role("button", name="Plan the test").click()
    expect(page.get_by_role("heading", name="Plan for the next session")).to_be_visible(timeout=ANSWER)
    expect(page.get_by_role("heading", name="Stop", exact=True)).to_be_visible()
    page.emulate_media(media="print")
    expect(page.get_by_role("slider").first).to_be_hidden()
    expect(page.get_by_role("heading", name="Plan for the next session")).to_be_visible()
    page.emulate_media(media="screen")

    page.get_by_label("Try and confirm").get_by_role("button", name="Undo").click()
    expect(stepper).to_have_value(f"{change['from']:g}")


def the_first_answer_fits_one_screen(page: Page) -> None:
    """Look whether sentence, mark and picture are in the window, nothing scrolled."""
    for part in (".fp-first-said", ".fp-first-mark", ".fp-bars"):
        expect(page.locator(part)).to_be_in_viewport(ratio=1)


def what_is_said_and_tried_is_kept(page: Page, tried: dict[str, Any]) -> None:
    """Write what came of it, and look at it as this page, the notebook's own and the API show it."""
    said = page.get_by_role("group", name=f"Said: {PUSHES}").first
    expect(
        said.get_by_text(re.compile(f"Advised first: {re.escape(tried['changes'][0]['adjuster'])} "))
    ).to_be_visible()
    named = re.compile(f"What came of {re.escape(tried['changes'][0]['adjuster'])} to ")
    said.get_by_role("combobox", name=named).select_option("worse")
    note = said.get_by_role("textbox", name=re.compile("Note on"))
    note.fill("at once, in the wet")
    note.press("Tab")

    setup = page.get_by_label("Open").input_value()
    head = page.request.get(f"/api/setups/{setup}").json()["head"]
    address = f"/api/cars/{head['car_id']}/complaints"
    page.wait_for_function(
        "async (address) => (await (await fetch(address)).json())[0].trials[0].note", arg=address
    )
    kept = page.request.get(address).json()[0]
    (trial,) = kept["trials"]
    assert (kept["text"], trial["outcome"], trial["note"]) == (PUSHES, "worse", "at once, in the wet")
    assert trial["changes"] == {one["adjuster"]: one["to"] for one in tried["changes"]}
    assert trial["version_id"] == head["id"]  # the version that it became
    assert kept["version_id"] == head["parent_id"]  # and the one that was complained of

    book = page.context.new_page()
    book.goto("/notebook")
    there = book.get_by_role("group", name=f"Said: {PUSHES}").first
    expect(there.get_by_role("combobox", name=named)).to_have_value("worse")
    expect(there.get_by_role("textbox", name=re.compile("Note on"))).to_have_value("at once, in the wet")
    book.close()


def test_what_no_setup_cures_is_answered_while_it_is_typed(page: Page) -> None:
    page.goto("/cure")
    typed = page.get_by_label("What does the car do that it should not?")
    typed.fill("overheats its tyres")
    expect(page.get_by_text("tyres have no temperature")).to_be_visible()
    expect(page.get_by_role("button", name="Find a cure")).to_be_disabled()


def test_a_search_for_a_base_is_stopped_and_keeps_its_best(page: Page) -> None:
    page.goto("/base")
    page.get_by_role("button", name="Find a sound base").click()
    expect(page.get_by_text(re.compile("from the targets"))).to_be_visible(timeout=ANSWER)
    page.get_by_role("button", name="Stop", exact=True).click()
    expect(page.get_by_text("You stopped it")).to_be_visible(timeout=ANSWER)
    expect(page.get_by_role("heading", name="What to change, and why")).to_be_visible()
    the_first_answer_fits_one_screen(page)
    page.get_by_role("button", name="Try all of it").click()
    expect(page.get_by_role("button", name="Undo").first).to_be_enabled()
