"""The bench in a real browser."""

from playwright.sync_api import Page, expect


def test_a_step_shows_at_once_in_the_table(page: Page) -> None:
    page.goto("/")
    cell = page.locator(".fp-cell-change").first
    expect(cell).to_have_text("·")
    page.get_by_role("slider", name="Front bar").press("ArrowRight")
    expect(page.locator(".fp-change-front, .fp-change-rear").first).to_be_visible()
    page.get_by_role("button", name="Undo").click()
    expect(page.locator(".fp-change-front, .fp-change-rear")).to_have_count(0)
