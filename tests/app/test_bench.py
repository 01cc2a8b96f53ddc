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


def test_keys_play_and_step_from_anywhere_on_the_page(page: Page) -> None:
    page.emulate_media(reduced_motion="reduce")  # it does not play by itself
    page.goto("/")
    page.locator(".fp-cell").first.wait_for()
    play = page.locator(".fp-car-play")
    expect(play).to_have_text("Play")
    time = page.get_by_role("slider", name="Time in the event")
    expect(time).to_have_value("0")
    page.keyboard.press("ArrowRight")
    expect(time).not_to_have_value("0")
    page.keyboard.press("Space")
    expect(play).to_have_text("Pause")
    page.keyboard.press("Space")
    expect(play).to_have_text("Play")
    # Keys that a control in hand waits for are its own; Space is no slider's.
    bar = page.get_by_role("slider", name="Front bar", exact=True)
    bar.focus()
    there = time.input_value()
    bar.press("ArrowRight")
    bar.press("ArrowLeft")
    expect(time).to_have_value(there)
    bar.press("Space")
    expect(play).to_have_text("Pause")


def test_a_legend_shows_each_line_and_none_is_dimmed_while_it_plays(page: Page) -> None:
    page.emulate_media(reduced_motion="no-preference")
    page.goto("/")
    page.locator(".fp-cell").first.wait_for()
    rows = page.locator(".fp-chart .u-legend .u-series")
    expect(rows).to_have_count(9)  # time, and four tyres with A and with B
    samples = rows.locator(".u-marker").evaluate_all("all => all.map((one) => one.style.background)")
    assert len(set(samples[1:])) == 8
    time = page.get_by_role("slider", name="Time in the event")
    seen = {time.input_value()}
    for _ in range(4):  # wherever it plays
        page.keyboard.press("]")
        seen.add(time.input_value())
        assert rows.evaluate_all("all => all.map((one) => one.style.opacity || '1')") == ["1"] * 9
    assert len(seen) == 5
