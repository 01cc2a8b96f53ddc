"""A track of one's own in a real browser: told in words, from a file, changed by clicking, undone, lapped."""

import re
from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import Page, expect


def kept(page: Page) -> int:
    """Keep the track that is shown, and return its id."""
    page.get_by_role("button", name="Keep this track").click()
    page.wait_for_url(re.compile("track="))
    return int(re.search(r"track=(\d+)", page.url)[1])  # type: ignore[index]


def text_of(page: Page, track: int) -> str:
    return str(page.request.get(f"/api/tracks/{track}").json()["written"]["text"])


def test_a_track_told_in_words_is_mended_laid_kept_and_lapped(page: Page) -> None:
    page.goto("/tracks")
    page.get_by_text("Make a new track").click()
    words = page.get_by_label(re.compile("One straight or corner a line"))
    good = words.input_value()
    words.fill("straight 300 m\nrigth, 40 m")
    page.get_by_role("button", name="Lay it out").click()
    expect(page.get_by_role("alert").filter(has_text="Did you mean right")).to_be_visible()
    words.fill("straight 300 m\nright, 40 m\nleft, 40 m")
    page.get_by_role("button", name="Lay it out").click()
    expect(page.get_by_role("alert").filter(has_text="turn by 0 deg")).to_be_visible()
    expect(page.get_by_role("img", name="Where the pieces lead")).to_be_visible()
    words.fill(good)
    page.get_by_label("It is called").first.fill("Told")
    page.get_by_role("button", name="Lay it out").click()
    expect(page.get_by_text(re.compile(r"^Told: 19\d\d m, 5 corners"))).to_be_visible()
    expect(page.get_by_text("Straight 1 is 484 m long instead of 400 m.")).to_be_visible()
    track = kept(page)
    page.goto(f"/lap?track={track}")
    expect(page.get_by_label("Lap time B")).to_have_text(re.compile(r"\d"), timeout=60_000)


def test_a_lap_of_noisy_positions_is_a_track_on_which_things_are_put(
    page: Page, lap_file: Callable[[float], Path]
) -> None:
    page.goto("/tracks")
    page.get_by_text("Make a new track").click()
    chosen = page.get_by_label("Choose a file")
    chosen.set_input_files(lap_file(440.0))
    expect(page.get_by_role("alert").filter(has_text="from point 900 to point 901")).to_be_visible()
    expect(page.get_by_role("img", name="The points as they were given")).to_be_visible()
    chosen.set_input_files(lap_file(0.0))
    expect(page.get_by_text("closes by itself")).to_be_visible()
    track = kept(page)
    # A kerb where the map is clicked: on the upper edge of the road above the middle.
    page.get_by_label("What", exact=True).select_option("kerb")
    road = page.locator(".fp-map-placing .fp-map-road").first.bounding_box()
    assert road is not None
    page.get_by_role("region", name="Map").scroll_into_view_if_needed()
    page.locator(".fp-map-placing").click(position={"x": 40, "y": 200})
    expect(page.get_by_text(re.compile(r"^It begins at \d+ m"))).to_be_visible()
    page.get_by_role("button", name="Lay the kerb there").click()
    expect(page.get_by_text(re.compile(r"^Kerb 1: (left|right), flat topped, 40 mm high"))).to_be_visible()
    assert "flat-topped" in text_of(page, track)
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_text("There is no kerb and no bump on it.")).to_be_visible()
    assert "flat-topped" not in text_of(page, track)
    page.get_by_role("button", name="Redo").click()
    expect(page.get_by_text(re.compile("^Kerb 1: (left|right), flat"))).to_be_visible()
    # A bump too high is refused beside its field; a corner has a name; the way round can be the other.
    page.get_by_label("What", exact=True).select_option("bump")
    page.get_by_role("group", name="Bump").get_by_label("Height").fill("90")
    page.get_by_role("group", name="Bump").get_by_label("Height").press("Tab")
    expect(page.get_by_role("alert").filter(has_text="outside 1 to 30 mm")).to_be_visible()
    page.get_by_role("textbox", name=re.compile("^Corner 1, left")).fill("The Elm")
    page.get_by_role("textbox", name=re.compile("^Corner 1, left")).press("Tab")
    expect(page.get_by_text("Corner 1 is called The Elm.")).to_be_visible()
    page.get_by_role("button", name="Drive it the other way round").click()
    expect(page.get_by_role("button", name=re.compile("^Corner [16], The Elm, right"))).to_be_visible()
