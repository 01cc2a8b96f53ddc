"""Whole journeys of a driver who coaches, in a real browser: what each page promises, one after the other."""

import re
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Literal

import pytest
from playwright.sync_api import FilePayload, Page, expect
from pypdfium2 import PdfDocument

SMALL_CAR = {
    "Mass": "1180",
    "Front weight share": "61",
    "Wheelbase": "2540",
    "Power": "125",
    "Front tyre": "205/50R16",
    "Rear tyre": "205/50R16",
}

ANSWER = 180_000
"""Longest wait for an answer on a busy machine that compiles first. [ms]"""

NewSetup = Callable[[Page], tuple[int, int]]


def opened(page: Page, setup_id: int, path: str = "/") -> None:
    """Open a set-up on a page and wait for its numbers."""
    page.goto(f"{path}?setup={setup_id}")
    expect(page.get_by_role("slider", name="Front bar", exact=True)).to_be_visible()


def kept_bar(page: Page, setup_id: int) -> float:
    """Return where the notebook has the front bar."""
    return float(page.request.get(f"/api/setups/{setup_id}").json()["head"]["values"]["front bar"])


def wait_for_bar(page: Page, setup_id: int, position: float) -> None:
    deadline = time.monotonic() + 30.0
    while kept_bar(page, setup_id) != position:
        assert time.monotonic() < deadline, f"the notebook has {kept_bar(page, setup_id)}, not {position}"
        page.wait_for_timeout(100)


def test_a_new_car_gets_a_base(page: Page) -> None:
    page.goto("/car?new")
    form = page.locator(".fp-brief")
    form.get_by_label("Name", exact=True).fill("Of a journey")
    for label, text in SMALL_CAR.items():
        form.get_by_label(label, exact=True).fill(text)
    page.get_by_role("button", name="Make the car").click()
    page.wait_for_url(re.compile(r"/garage\?setup=\d+"))
    page.get_by_role("link", name="to the bench").click()
    expect(page.locator(".fp-cell").first).to_be_visible()

    page.get_by_role("navigation", name="Pages").get_by_role("link", name="Base").click()
    expect(page.get_by_role("heading", name="Of a journey")).to_be_visible()
    page.get_by_role("button", name="Find a sound base").click()
    expect(page.get_by_text(re.compile("from the targets"))).to_be_visible(timeout=ANSWER)
    page.get_by_role("button", name="Stop", exact=True).click()
    page.get_by_role("button", name="Try all of it").click(timeout=ANSWER)
    expect(page.get_by_role("button", name="Undo").first).to_be_enabled()


SLIDERS = """\
front bump low speed 7 of 11
front bump high speed 5 of 11
front rebound low speed 6 of 11
front rebound high speed 4 of 11
rear bump low speed 5 of 11
rear bump high speed 5 of 11
rear rebound low speed 7 of 11
rear rebound high speed 6 of 11
front bar 3 of 5
rear bar 2 of 5
brake bias 54 %
front ride height 6 of 10
rear ride height 7 of 10
front camber 4 of 10
rear camber 5 of 10
front toe 5 of 10
rear toe 6 of 10
front spring 6 of 10
rear spring 5 of 10
front tyre pressure 6 of 10
rear tyre pressure 5 of 10
final drive 3 of 5
gear 1 2 of 5
gear 2 3 of 5
fuel 5 of 10
"""
"""An invented garage screen: 25 settings, none with a unit."""

OWN_CAR = {
    "Name": "With sliders",
    "Mass": "1180",
    "Front weight share": "about 48",
    "Wheelbase": "2540",
    "Power": "200 hp",
    "Front tyre": "225/45R17",
    "Rear tyre": "245/45R17",
}
MOST_DONE = 34
"""Fields filled, choices and presses from the first page to paper; at 20 s each a newcomer, who reads first,
has some three of fifteen minutes left for what the machine computes."""


class Hands:
    """Does what a driver does, and counts it."""

    def __init__(self, page: Page) -> None:
        self.page, self.done = page, 0

    def press(self, role: Literal["button", "link", "slider"], name: str | re.Pattern[str]) -> None:
        """Press what is called so."""
        self.done += 1
        self.page.get_by_role(role, name=name).first.click()

    def fill(self, label: str | re.Pattern[str], text: str) -> None:
        """Write into a field."""
        self.done += 1
        self.page.get_by_label(label, exact=isinstance(label, str)).first.fill(text)

    def choose(self, label: str, **option: str) -> None:
        """Choose from a list."""
        self.done += 1
        self.page.get_by_label(label, exact=True).select_option(**option)

    def open(self, text: str) -> None:
        """Open what is folded."""
        self.done += 1
        self.page.get_by_text(text, exact=True).first.click()


def own_car(hands: Hands) -> None:
    """Make a car of what its driver knows, with 25 sliders that have no units."""
    page = hands.page
    page.goto("/start")
    hands.press("link", re.compile("^My own car"))
    for label, text in OWN_CAR.items():
        hands.fill(label, text)
    hands.choose("Driven wheels", value="rear")
    hands.press("button", "Make the car")
    page.wait_for_url(re.compile(r"/garage\?setup=\d+"))
    hands.open("Paste lines instead")
    hands.fill(re.compile("A setting and its number a line"), SLIDERS)
    hands.press("button", "Put them in")
    expect(page.get_by_text("All of them are in their rows.")).to_be_visible()
    hands.press("button", "Keep these settings")
    expect(page.get_by_text(re.compile("^Kept: 2[5-9] settings|^Kept: 3"))).to_be_visible()


def own_tracks(hands: Hands, driven: Path) -> None:
    """Make a track from a sketch, then another from a lap that was driven."""
    page = hands.page
    hands.press("link", "to the bench")
    hands.press("link", "Track and lap")
    hands.press("link", re.compile("^Make a track of your own"))
    hands.open("Make a new track")
    hands.press("button", "Lay it out")
    hands.press("button", "Keep this track")
    page.wait_for_url(re.compile("track="))
    hands.open("Make a new track")
    hands.fill("It is called", "Driven")
    hands.done += 1
    page.get_by_label("Choose a file").set_input_files(driven)
    hands.press("button", "Keep this track")
    expect(page.get_by_text(re.compile("^Put something on the road"))).to_be_visible()


def cured(hands: Hands) -> None:
    """Say sloppily what is wrong, turn what helps in one's own clicks, and confirm it."""
    page = hands.page
    hands.press("link", "Complaint")
    hands.fill("What does the car do that it should not?", "thing washes out on me mid turn")
    expect(page.get_by_text("Read as: understeer at mid-corner.")).to_be_visible()
    hands.press("button", "Find a cure")
    hands.press("button", re.compile("^Try it: "))
    job = [one for one in page.request.get("/api/jobs").json() if one["kind"] == "advise cure"][-1]
    change = page.request.get(f"/api/jobs/{job['id']}").json()["result"]["sets"][0]["changes"][0]
    name = f"{change['adjuster'][0].upper()}{change['adjuster'][1:]}"
    expect(page.get_by_role("slider", name=name, exact=True)).to_have_value(f"{change['to']:g}")
    assert change["to"] == round(change["to"])  # of positions that have no unit, as his garage counts them
    hands.press("button", "Confirm")
    expect(page.get_by_text("Run again on the rig")).to_be_visible(timeout=ANSWER)


def printed(hands: Hands, folder: Path) -> None:
    """Have the answer on paper."""
    with hands.page.expect_download(timeout=ANSWER) as sheet:
        hands.press("button", "PDF, A4")
    sheet.value.save_as(folder / "sheet.pdf")
    text = "".join(one.get_textpage().get_text_range() for one in PdfDocument(folder / "sheet.pdf"))
    assert "washes out" in text
    assert OWN_CAR["Name"] in text


@pytest.mark.parametrize("width", [1024], ids=lambda width: f"{width} px")
def test_from_nothing_to_a_cure_on_paper(
    page: Page, lap_file: Callable[[float], Path], tmp_path: Path, width: int
) -> None:
    page.set_viewport_size({"width": width, "height": 768})
    page.set_default_timeout(ANSWER)
    hands = Hands(page)
    for part in (
        own_car,
        partial(own_tracks, driven=lap_file(0.0)),
        cured,
        partial(printed, folder=tmp_path),
    ):
        part(hands)
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert hands.done <= MOST_DONE


def test_a_from_the_first_page_stands_beside_b_on_the_next_and_after_a_reload(
    page: Page, new_setup: NewSetup
) -> None:
    _, setup = new_setup(page)
    opened(page, setup, "/bumps")
    bump = page.get_by_role("slider", name="Front bump, low speed", exact=True)
    start = bump.input_value()
    bump.press("ArrowRight")
    change = page.locator(".fp-numbers-change", has_text=re.compile(r"\d")).first
    expect(change).to_be_visible()
    page.get_by_role("navigation", name="Pages").get_by_role("link", name="Corner").click()
    expect(page.get_by_role("heading", name="Corner")).to_be_attached()
    expect(page.get_by_role("button", name="B back to A")).to_be_enabled()
    page.get_by_role("navigation", name="Pages").get_by_role("link", name="Bumps and kerbs").click()
    expect(change).to_be_visible()
    page.reload()
    expect(change).to_be_visible()
    page.get_by_role("button", name="B back to A").click()
    expect(bump).to_have_value(start)
    expect(change).to_have_count(0)


@pytest.mark.parametrize(
    ("name", "spoil", "said"),
    [
        ("cut_off.toml", lambda good: good[: len(good) // 2], "cannot be read"),
        ("unit.toml", lambda good: re.sub(rb"(?m)^mass = .*$", b'mass = "1200 km"', good, count=1), "Use kg"),
        ("empty.toml", lambda good: b"", "the file is empty"),
        ("picture.png", lambda good: b"\x89PNG\r\n\x1a\n\xff\xff", "not UTF-8 text"),
    ],
)
def test_a_file_that_is_no_car_is_refused_with_what_to_do(
    page: Page, name: str, spoil: Callable[[bytes], bytes], said: str
) -> None:
    good = page.request.get("/api/cars/1/file").body()
    cars = page.request.get("/api/cars").json()
    page.goto("/car?new")
    bad = FilePayload(name=name, mimeType="application/octet-stream", buffer=spoil(good))
    page.get_by_label("Read a car file").set_input_files([bad])
    refusal = page.get_by_role("alert").filter(has_text="The file was not taken.")
    expect(refusal).to_contain_text(said)
    assert "Traceback" not in refusal.inner_text()
    assert page.request.get("/api/cars").json() == cars


def test_a_bar_is_turned_and_taken_back_by_keys_alone(page: Page, new_setup: NewSetup) -> None:
    _, setup = new_setup(page)
    opened(page, setup)
    expect(page.locator(".fp-cell").first).to_be_visible()
    start = kept_bar(page, setup)
    focused = "document.activeElement.getAttribute('aria-label')"
    for _ in range(80):
        page.keyboard.press("Tab")
        if page.evaluate(focused) == "Front bar":
            break
    assert page.evaluate(focused) == "Front bar"
    page.keyboard.press("ArrowRight")
    bar = page.get_by_role("slider", name="Front bar", exact=True)
    expect(bar).to_have_value(f"{start + 1:g}")
    wait_for_bar(page, setup, start + 1)
    page.keyboard.press("Control+z")
    expect(bar).to_have_value(f"{start:g}")
    wait_for_bar(page, setup, start)
    page.keyboard.press("Control+y")
    expect(bar).to_have_value(f"{start + 1:g}")
    page.keyboard.press("Shift+Tab")
    page.keyboard.type(f"{start + 2:g}")
    page.wait_for_timeout(1500)  # what a step does is told meanwhile, and must not undo the typing
    page.keyboard.press("Enter")
    expect(bar).to_have_value(f"{start + 2:g}")
    wait_for_bar(page, setup, start + 2)


def test_two_tabs_that_turn_the_same_set_up_lose_nothing(page: Page, new_setup: NewSetup) -> None:
    _, setup = new_setup(page)
    other = page.context.new_page()
    opened(page, setup, "/setup")
    opened(other, setup, "/setup")
    start = kept_bar(page, setup)
    page.get_by_role("slider", name="Front bar", exact=True).press("ArrowRight")
    wait_for_bar(page, setup, start + 1)
    other.get_by_role("slider", name="Front bar", exact=True).press("ArrowLeft")
    expect(other.get_by_text("was changed meanwhile by")).to_be_visible()
    other.get_by_role("button", name="Keep mine as a set-up of its own").click()
    other.wait_for_url(lambda url: f"setup={setup}&" not in url)
    expect(other.get_by_role("slider", name="Front bar", exact=True)).to_have_value(f"{start - 1:g}")
    assert kept_bar(page, setup) == start + 1
    page.reload()
    expect(page.get_by_role("slider", name="Front bar", exact=True)).to_have_value(f"{start + 1:g}")
    other.close()


def test_three_tabs_do_not_see_what_another_has_not_kept(page: Page, new_setup: NewSetup) -> None:
    tabs = [page, page.context.new_page(), page.context.new_page()]
    setups = [new_setup(page)[1] for _ in tabs]
    for tab, setup in zip(tabs, setups, strict=True):
        opened(tab, setup, "/setup")
    start = kept_bar(page, setups[0])
    for tab, turned in zip(tabs, (1, 2, 0), strict=True):
        for _ in range(turned):
            tab.get_by_role("slider", name="Front bar", exact=True).press("ArrowRight")
    for tab, setup, turned in zip(tabs, setups, (1, 2, 0), strict=True):
        expect(tab.get_by_role("slider", name="Front bar", exact=True)).to_have_value(f"{start + turned:g}")
        wait_for_bar(tab, setup, start + turned)
    assert kept_bar(page, setups[2]) == start
    for tab in tabs[1:]:
        tab.close()


@pytest.mark.parametrize("name", ["</script><script>alert(1)</script>", '<b>"it\'s"</b> &amp; 🏁', "W" * 80])
def test_a_name_is_shown_as_it_was_typed_and_breaks_nothing(
    page: Page, new_setup: NewSetup, name: str
) -> None:
    _, setup = new_setup(page)
    opened(page, setup, "/setup")
    field = page.get_by_label("B is called")
    field.fill(name)
    field.press("Tab")
    expect(page.get_by_text(f"B: {name}, kept in the notebook")).to_be_visible()
    expect(field).to_have_value(name)
    page.reload()
    expect(field).to_have_value(name)
    assert page.evaluate("document.documentElement.scrollWidth") <= 1440


def test_the_head_has_the_new_name_and_the_history_says_which_tab(page: Page, new_setup: NewSetup) -> None:
    _, setup = new_setup(page)
    opened(page, setup, "/setup")
    field = page.get_by_label("B is called")
    field.fill("Another name")
    field.press("Tab")
    expect(page.locator(f'.fp-open option[value="{setup}"]')).to_have_text(re.compile("Another name"))
    expect(page.get_by_role("cell", name="this tab", exact=True)).to_be_visible()
    page.reload()
    expect(page.get_by_role("cell", name="this tab", exact=True)).to_be_visible()  # the same, loaded again
    other = page.context.new_page()
    opened(other, setup, "/setup")
    expect(other.get_by_role("cell", name=re.compile(r"^another tab, opened \d"))).to_be_visible()
    other.close()


def test_what_was_turned_on_one_page_is_undone_on_the_next(page: Page, new_setup: NewSetup) -> None:
    _, setup = new_setup(page)
    opened(page, setup, "/setup")
    start = kept_bar(page, setup)
    page.get_by_role("slider", name="Front bar", exact=True).press("ArrowRight")
    wait_for_bar(page, setup, start + 1)
    page.get_by_role("link", name="Corner", exact=True).click()
    page.wait_for_url("**/corner?**")
    undo = page.get_by_role("button", name="Undo", exact=True)
    expect(undo).to_be_enabled()
    undo.click()
    expect(page.get_by_role("slider", name="Front bar", exact=True)).to_have_value(f"{start:g}")
    wait_for_bar(page, setup, start)
