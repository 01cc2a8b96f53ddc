"""The garage screen in a real browser: 25 settings in at most 60 interactions, faults in their row."""

import re
from itertools import count

from playwright.sync_api import Page, expect

CAR = {
    "Name": "Of the garage",
    "Mass": "1180",
    "Front weight share": "48",
    "Wheelbase": "2540",
    "Power": "200 hp",
    "Front tyre": "225/45R17",
    "Rear tyre": "245/45R17",
}
STANDS = {
    **{f"{end} {moves}, {speed} speed": str(4 + place)
       for place, (end, moves, speed) in enumerate(
           (end, moves, speed) for end in ("front", "rear") for moves in ("bump", "rebound")
           for speed in ("low", "high"))},
    "front bar": "3",
    "rear bar": "2",
    "brake bias": "about 54",
    "front ride height": "6",
    "rear ride height": "7",
    "front camber": "4",
    "rear camber": "5",
    "front toe": "5",
    "rear toe": "6",
    "front spring": "6",
    "rear spring": "5",
    "front tyre pressure": "6",
    "rear tyre pressure": "5",
    "final drive": "3",
    "gear 1": "2",
    "gear 2": "3",
    "fuel": "5",
}  # fmt: skip
"""25 settings of an invented garage screen, none with a unit, and where they stand."""


def made(page: Page) -> None:
    page.goto("/car?new")
    form = page.locator(".fp-brief")
    for label, text in CAR.items():
        form.get_by_label(label, exact=True).fill(text)
    form.get_by_label("Driven wheels").select_option("rear")
    page.get_by_role("button", name="Make the car").click()
    page.wait_for_url(re.compile(r"/garage\?setup=\d+"))
    expect(page.get_by_role("form", name="Garage screen")).to_be_visible()


def test_25_settings_take_at_most_60_interactions(page: Page) -> None:
    made(page)
    done = count()

    def fill(label: str, text: str) -> None:
        next(done)
        page.get_by_label(label, exact=True).fill(text)

    def choose(label: str, value: str) -> None:
        next(done)
        page.get_by_label(label, exact=True).select_option(value)

    for group in ("tyres", "camber and toe", "ride height", "springs", "anti-roll bars", "fuel"):
        choose(f"All of {group}: unit", "not known")
        fill(f"All of {group}: lowest", "1")
        fill(f"All of {group}: highest", "5" if group == "anti-roll bars" else "10")
        fill(f"All of {group}: step", "1")
    for field, text in (("lowest", "45"), ("highest", "65"), ("step", "0.5")):
        fill(f"brake bias {field}", text)
    fill("All of dampers: highest", "11")
    fill("All of dampers: lowest", "1")
    for key, text in STANDS.items():
        fill(f"{key} stands at", text)
    next(done)
    page.get_by_role("button", name="Keep these settings").click()
    expect(page.get_by_text(re.compile(r"^Kept: \d+ settings"))).to_be_visible()
    assert next(done) <= 60
    setup = re.search(r"setup=(\d+)", page.url)[1]  # type: ignore[index]
    values = page.request.get(f"/api/setups/{setup}").json()["head"]["values"]
    assert values["front bump, low speed"] == 4.0
    assert values["brake bias"] == 54.0
    assert values["front bar"] == 3.0


def test_faults_stand_in_their_row_and_nothing_typed_is_lost(page: Page) -> None:
    made(page)
    page.get_by_label("Paste lines instead").or_(page.get_by_text("Paste lines instead")).first.click()
    page.get_by_label(re.compile("A setting and its number a line")).fill(
        "front bump low speed 7 of 11\nrear bar 2 of 5\nseat 3"
    )
    fuel = page.get_by_label("fuel stands at")
    page.get_by_role("button", name="Put them in").evaluate(  # and typed on before the answer is there
        "(press, field) => { press.click(); field.value = '35'; field.dispatchEvent(new Event('input')); }",
        fuel.element_handle(),
    )
    expect(page.get_by_text("1 of them fit no setting and stay here.")).to_be_visible()
    expect(page.get_by_label("front bump, low speed highest")).to_have_value("11")
    expect(fuel).to_have_value("35")
    page.get_by_label("rear spring lowest").fill("900")
    page.get_by_label("rear bar step").fill("3")
    page.get_by_role("button", name="Keep these settings").click()
    expect(page.get_by_role("alert").filter(has_text="rear spring, highest is")).to_be_visible()
    expect(page.get_by_label("front bump, low speed stands at")).to_have_value("7")
    expect(page.get_by_label("rear spring lowest")).to_have_value("900")
