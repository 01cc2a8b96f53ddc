"""The first page: three doors lead on, the key ? leads there, pages, settings and words are found."""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect


@pytest.mark.parametrize(
    ("door", "there"),
    [
        ("My own car", "Make the car"),
        ("A complaint", "Find a cure"),
        ("Look round", "Keep B as A"),
    ],
)
def test_each_door_leads_on(page: Page, door: str, there: str) -> None:
    page.goto("/start")
    page.get_by_role("link", name=re.compile(f"^{door}")).click()
    expect(page.get_by_role("button", name=there)).to_be_visible()


def test_the_help_key_leads_to_the_search_unless_somebody_types(page: Page) -> None:
    page.goto("/car")
    note = page.get_by_label("Note")
    note.press("End")
    note.press("?")
    expect(page).to_have_url(re.compile("/car"))
    page.locator("h2").first.click()
    page.keyboard.press("?")
    page.wait_for_url(re.compile(r"/start\?.*#find"))
    expect(page.get_by_role("searchbox")).to_be_focused()


@pytest.mark.parametrize(
    ("asked", "found", "kind"),
    [
        ("track own", "Tracks", "page"),
        ("garage", "Garage screen", "page"),
        ("front rebound", "Front rebound, low speed", "setting"),
        ("motion ratio", "Motion ratio", "word"),
    ],
)
def test_pages_settings_and_words_are_found(page: Page, asked: str, found: str, kind: str) -> None:
    page.goto("/start")
    search = page.get_by_role("searchbox")
    search.fill(asked)
    row = page.get_by_role("listitem").filter(has_text=re.compile(rf"^{found} {kind}", re.IGNORECASE))
    expect(row.first).to_be_visible()
    search.fill("zzz")
    expect(page.get_by_text("Nothing is called so")).to_be_visible()


def test_the_tour_is_left_and_taken_up_again(page: Page) -> None:
    page.goto("/start")
    page.get_by_role("button", name="A tour of two minutes").click()
    tour = page.get_by_role("complementary", name="Tour")
    expect(tour).to_contain_text("1 of 6")
    page.wait_for_url(re.compile(r"/(\?|$)"))
    tour.get_by_role("button", name="Next").click()
    expect(tour).to_contain_text("2 of 6")
    tour.get_by_role("button", name="Next").click()
    page.wait_for_url(re.compile("/bumps"))
    expect(tour).to_contain_text("3 of 6")
    tour.get_by_role("button", name="Leave the tour").click()
    expect(tour).to_have_count(0)
    page.goto("/start")
    expect(tour).to_have_count(0)
    page.get_by_role("button", name="Go on with the tour, 3 of 6").click()
    page.wait_for_url(re.compile("/bumps"))
    expect(tour).to_contain_text("3 of 6")
    violations = Axe().run(page, context="#fp-tour").response["violations"]
    assert not [one["id"] for one in violations if one["impact"] in ("moderate", "serious", "critical")]
