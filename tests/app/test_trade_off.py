"""The trade-off in a real browser."""

import re

import pytest
from playwright.sync_api import Page, expect

LONG = 240_000
"""Forty-nine set-ups take some seconds; a test machine may have other things to do. [ms]"""


@pytest.fixture
def computed(page: Page) -> Page:
    page.goto("/trade-off")
    page.get_by_role("button", name="Compute").click()
    expect(page.get_by_text("all of 49")).to_be_visible(timeout=LONG)
    return page


def test_a_point_is_walked_to_by_keys_and_tried(computed: Page) -> None:
    jobs = [job for job in computed.request.get("/api/jobs").json() if job["kind"] == "advise trade-off"]
    answer = computed.request.get(f"/api/jobs/{jobs[-1]['id']}").json()["result"]["trade_off"]
    plot = computed.get_by_role("group", name="against calmness")
    plot.locator("[tabindex='0']").focus()
    computed.keyboard.press("End")
    told = computed.locator(".fp-trade-told")
    calmest = max(answer["front"], key=lambda one: one["calmness"]["value"])
    expect(told).to_contain_text(f"pace {calmest['pace']['value']:.2f}")
    expect(told).to_contain_text(f"calmness {calmest['calmness']['value']:.1f}")
    told.get_by_role("button", name="Try it").click()
    expect(told.get_by_role("button", name="B stands here")).to_be_disabled()
    bar = computed.get_by_role("slider", name="Front bar")
    expect(bar).to_have_value(f"{calmest['positions']['front bar']:g}")
    computed.get_by_role("button", name="Undo").click()
    expect(told.get_by_role("button", name="Try it")).to_be_enabled()
    expect(bar).to_have_value(f"{answer['present']['positions']['front bar']:g}")


def test_the_answer_survives_a_reload_and_says_when_b_has_moved_on(computed: Page) -> None:
    computed.reload()
    expect(computed.locator(".fp-trade")).to_be_visible()
    computed.get_by_role("slider", name="Brake bias").press("ArrowRight")
    expect(computed.get_by_text("B has changed since in brake bias")).to_be_visible()
    computed.get_by_role("button", name="Undo").click()
    expect(computed.get_by_text("B has changed since")).to_be_hidden()


def test_too_many_adjusters_cannot_be_asked_for(page: Page) -> None:
    page.goto("/trade-off")
    page.get_by_text("To turn:").click()
    boxes = page.get_by_role("checkbox")
    expect(page.get_by_text("49 set-ups: all are computed")).to_be_visible()
    for place in range(6):
        boxes.nth(place).check()
    expect(page.get_by_text("choose at most 6")).to_be_visible()
    expect(page.get_by_role("button", name="Compute")).to_be_disabled()


def test_what_counts_and_what_is_plotted_can_be_chosen(computed: Page) -> None:
    front = computed.locator(".fp-trade-point")
    all_five = front.count()
    for name in ("bumps", "calmness", "scatter", "tyre work"):
        computed.get_by_role("checkbox", name=name).uncheck()
    # By pace alone what is left is the quickest, the present set-up and the pick.
    expect(computed.get_by_text("Bumps, calmness, scatter, tyre work do not count.")).to_be_visible()
    assert front.count() <= 3 < all_five
    computed.get_by_role("checkbox", name="pace").uncheck()
    expect(computed.get_by_text("Let at least one of")).to_be_visible()
    expect(computed.get_by_role("button", name="Compute")).to_be_disabled()
    computed.get_by_role("checkbox", name="pace").check()
    computed.get_by_role("checkbox", name="tyre work").check()
    computed.get_by_label("To the right:").select_option("tyre work")
    expect(computed.get_by_role("group", name="against tyre work")).to_be_visible()
    jobs = [job for job in computed.request.get("/api/jobs").json() if job["kind"] == "advise trade-off"]
    answer = computed.request.get(f"/api/jobs/{jobs[-1]['id']}").json()["result"]["trade_off"]
    computed.get_by_role("group", name="against tyre work").locator("[tabindex='0']").focus()
    computed.keyboard.press("End")
    least = min(one["tyre_work"]["value"] for one in answer["points"])
    expect(computed.locator(".fp-trade-told")).to_contain_text(f"tyre work {least:.0f} kJ/km")


def test_stopped_it_shows_what_is_known_and_goes_on(page: Page) -> None:
    page.goto("/trade-off")
    page.get_by_text("To turn:").click()
    page.get_by_role("checkbox", name="front spring").check()
    page.get_by_role("checkbox", name="rear spring").check()
    page.get_by_role("button", name="Compute").click()
    expect(page.get_by_role("status").filter(has_text="of 512 set-ups")).to_be_visible(timeout=LONG)
    page.get_by_role("button", name="Stop", exact=True).click()
    expect(page.get_by_text("You stopped it")).to_be_visible(timeout=LONG)
    page.get_by_role("button", name="Go on computing").click()
    expect(page.get_by_role("button", name="Stop", exact=True)).to_be_visible()
    page.get_by_role("button", name="Stop", exact=True).click()
    expect(page.get_by_text("You stopped it")).to_be_visible(timeout=LONG)


def test_the_plot_grows_while_it_computes(page: Page) -> None:
    page.goto("/trade-off")
    page.get_by_text("To turn:").click()
    page.get_by_role("checkbox", name="front toe").check()
    page.get_by_role("checkbox", name="rear toe").check()
    page.get_by_role("button", name=re.compile("Compute|Go on computing")).click()  # by what ran before
    stop = page.get_by_role("button", name="Stop", exact=True)
    points = page.locator(".fp-trade-plot circle.fp-trade-beaten, .fp-trade-plot .fp-trade-point")
    expect(page.get_by_text("so far, of")).to_be_visible(timeout=LONG)
    expect(points.nth(1)).to_be_attached(timeout=LONG)
    few = points.count()
    page.locator(".fp-trade-point").last.focus()
    expect(points.nth(few)).to_be_attached(timeout=LONG)
    expect(stop).to_be_visible()  # it has not ended: the plot grew meanwhile
    expect(page.locator(".fp-trade-point:focus")).to_have_count(1)  # and what had the focus kept it
    stop.click()
    expect(page.get_by_text("You stopped it")).to_be_visible(timeout=LONG)
