"""A share file given, and dropped on a page."""

from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import Page, expect

LONG = 240_000
"""A step takes seconds; a test machine may have other things to do. [ms]"""

DROP = """([text, name]) => {
  const data = new DataTransfer();
  data.items.add(new File([text], name));
  window.dispatchEvent(new DragEvent("drop", { dataTransfer: data, bubbles: true, cancelable: true }));
}"""


def test_a_dropped_share_file_opens_its_car_and_question(
    page: Page, new_setup: Callable[[Page], tuple[int, int]]
) -> None:
    _, setup = new_setup(page)
    given = page.request.get(f"/api/setups/{setup}/share", params={"question": "loose on <b>exit</b>"})
    page.goto("/rules")
    page.locator("#fp-content").wait_for()
    page.evaluate(DROP, [given.text(), "friend.share.toml"])
    page.wait_for_url("**/cure?**")
    expect(page.get_by_label("What does the car do that it should not?")).to_have_value(
        "loose on <b>exit</b>"
    )
    assert f"setup={setup}" in page.url  # it was here already


def test_what_is_no_share_file_is_said_and_the_page_stays(page: Page) -> None:
    page.goto("/rules")
    page.locator("#fp-content").wait_for()
    page.evaluate(DROP, ["x", "holiday.jpg"])
    expect(page.locator("#fp-dropped")).to_contain_text("holiday.jpg is no share file")
    # Asked from here, for a browser's console calls every refusal an error.
    refused = page.request.post("/api/share", data={"text": "share = 1", "name": "broken.share.toml"})
    assert refused.status == 422
    assert "broken.share.toml" in refused.json()["message"]
    assert page.url.split("?")[0].endswith("/rules")


def test_a_lesson_made_here_opens_where_it_is_dropped(page: Page, tmp_path: Path) -> None:
    page.goto("/own-lesson")
    page.get_by_label("A new one").fill("For <b>Anna</b>")
    page.get_by_role("button", name="Begin it").click()
    said = page.get_by_label("What you say")
    said.fill("Watch <b>this</b>.")
    expect(said).to_have_value("Watch <b>this</b>.")
    page.get_by_label("Seen").select_option("numbers")
    page.get_by_role("button", name="Add the step").click()
    expect(page.get_by_text("Step 1 of 1")).to_be_visible()
    expect(page.get_by_role("table", name="As the lesson begins, and in this step")).to_be_visible(
        timeout=LONG
    )
    with page.expect_download() as download:
        page.get_by_role("button", name="Give it away").click()
    download.value.save_as(tmp_path / "given")
    page.goto("/")
    page.evaluate(DROP, [(tmp_path / "given").read_text(encoding="utf-8"), "given.share.toml"])
    page.wait_for_url("**/own-lesson?**", timeout=LONG)
    expect(page.get_by_role("heading", name="For <b>Anna</b>")).to_be_visible(timeout=LONG)
    expect(page.get_by_text("Watch <b>this</b>.", exact=True)).to_be_visible()
