"""The car's and the notebook's page in a real browser."""

import re
from pathlib import Path

import pytest
import requests
from playwright.sync_api import FilePayload, Page, expect

_INK = "(one) => getComputedStyle(one).color"

BRIEF = {
    "Name": "Mine",
    "Mass": "1180",
    "Front weight share": "61",
    "Wheelbase": "2540",
    "Power": "125",
    "Front tyre": "205/50R16",
    "Rear tyre": "205/50R16",
}


def fill_brief(page: Page, brief: dict[str, str]) -> None:
    form = page.locator(".fp-brief")
    for label, text in brief.items():
        form.get_by_label(label, exact=True).fill(text)


def copy_car(page: Page) -> None:
    """Copy the car that is open and wait for the page of the copy."""
    expect(page.get_by_label("The car is called")).to_be_visible()
    before = page.evaluate("new URL(location).searchParams.get('setup')")
    page.get_by_role("button", name="Copy as a new car").click()
    page.wait_for_url(lambda url: f"setup={before}&" not in f"{url}&" and "setup=" in url)
    expect(page.get_by_label("The car is called")).to_have_value(re.compile("copy"))


def test_a_car_of_ten_numbers_opens_on_its_garage_screen(page: Page, address: str) -> None:
    page.goto("/car?new")
    fill_brief(page, BRIEF | {"Mass": "9000"})
    page.get_by_role("button", name="Make the car").click()
    expect(page.get_by_role("alert").filter(has_text="250 to 4000 kg")).to_be_visible()
    fill_brief(page, {"Mass": "1180"})
    page.get_by_role("button", name="Make the car").click()
    page.wait_for_url(re.compile(r"/garage\?setup=\d+"))
    expect(page.get_by_text("The settings of Mine as its garage screen shows them")).to_be_visible()
    page.get_by_role("link", name="to the bench").click()
    expect(page.get_by_role("heading", name="Mine")).to_be_visible()
    cars = requests.get(f"{address}/api/cars", timeout=60).json()
    (mine,) = (car for car in cars if car["name"] == "Mine")
    sheet = requests.get(f"{address}/api/cars/{mine['id']}/parameters", timeout=60).json()
    assert {row["source"] for row in sheet["parameters"]} == {"given", "estimated"}


def test_a_number_is_changed_saved_and_taken_back(page: Page, address: str) -> None:
    page.goto("/car")
    field = page.get_by_label("Whole car: Mass")
    before = field.input_value()
    field.fill("12 kg")
    field.press("Tab")
    expect(page.get_by_role("alert").filter(has_text="outside 50 to 5000 kg")).to_be_visible()
    expect(page.get_by_role("button", name="Save 1 change")).to_be_disabled()
    field.fill("1234 kg")
    field.press("Tab")
    page.get_by_role("button", name="Save 1 change").click()
    expect(page.get_by_text("1 value saved.")).to_be_visible()
    expect(page.get_by_text(f"chassis.mass {before} → 1234 kg")).to_be_visible()
    query = requests.get(f"{address}/api/cars", timeout=60).json()
    name = page.get_by_label("The car is called").input_value()
    (car,) = (one for one in query if one["name"] == name)
    sheet = requests.get(f"{address}/api/cars/{car['id']}/parameters", timeout=60).json()
    row = next(one for one in sheet["parameters"] if one["path"] == "chassis.mass")
    assert (row["value"], row["text"], row["source"]) == (1234.0, field.input_value(), "given")
    page.get_by_label("Search", exact=True).fill("inertia")
    inertia = page.get_by_label(re.compile("Whole car: .*inertia", re.IGNORECASE)).first
    expect(inertia).to_have_value(re.compile(r"^[\d.]+ kg·m²$"))
    page.get_by_label("Search", exact=True).fill("")
    page.get_by_role("button", name="Back to this").last.click()
    expect(field).to_have_value(before)


def test_a_bad_car_file_is_refused_with_what_to_do(page: Page) -> None:
    page.goto("/car?new")
    bad = FilePayload(
        name="bad.toml", mimeType="application/toml", buffer=b'name = "x"\n[chassis]\nmass = 5\n'
    )
    page.get_by_label("Read a car file").set_input_files([bad])
    expect(page.get_by_role("alert").filter(has_text="The file was not taken.")).to_be_visible()


def test_the_choice_at_the_top_follows_what_is_deleted_restored_and_read_in(
    page: Page, tmp_path: Path
) -> None:
    page.goto("/notebook")
    choice, bad = page.locator(".fp-open"), page.locator(".fp-notice-bad")
    with page.expect_download() as download:
        page.get_by_role("button", name="Write all to a zip").click()
    packed = tmp_path / "all.zip"
    download.value.save_as(packed)
    page.get_by_title("Put Demo hatchback away").click()
    expect(choice.locator("option", has_text="Demo hatchback")).to_have_count(0)
    page.get_by_title("Bring back car: Demo hatchback").click()
    expect(choice.locator("option", has_text="Demo hatchback")).not_to_have_count(0)
    page.get_by_label("Read a zip").set_input_files(packed)
    expect(page.get_by_text("were here already")).to_be_visible()
    expect(bad).to_have_count(0)


def test_what_is_deleted_comes_back_and_all_goes_to_a_zip(page: Page, tmp_path: Path) -> None:
    page.goto("/notebook")
    page.get_by_title("Put Usual style away").click()
    gone = page.get_by_role("button", name="Restore")
    expect(gone).to_have_count(1)
    gone.click()
    expect(page.get_by_title("Put Usual style away")).to_be_visible()
    with page.expect_download() as download:
        page.get_by_role("button", name="Write all to a zip").click()
    packed = tmp_path / "all.zip"
    download.value.save_as(packed)
    page.get_by_label("Read a zip").set_input_files(packed)
    expect(page.get_by_text("Nothing new.")).to_be_visible()


@pytest.mark.parametrize("path", ["/car", "/notebook"])
def test_nothing_needs_sideways_scrolling_on_a_phone(page: Page, path: str) -> None:
    page.set_viewport_size({"width": 390, "height": 844})
    page.goto(path)
    expect(page.get_by_role("heading", name=re.compile("Its numbers|Where it is"))).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390


def test_an_adjuster_is_changed_added_and_taken_out(page: Page, address: str) -> None:
    page.goto("/car")
    copy_car(page)
    cars = requests.get(f"{address}/api/cars", timeout=60).json()
    name = page.get_by_label("The car is called").input_value()
    (car,) = (one["id"] for one in cars if one["name"] == name)

    def adjusters() -> dict[str, dict[str, object]]:
        sheet = requests.get(f"{address}/api/cars/{car}/parameters", timeout=60).json()
        return {one["name"]: one for one in sheet["adjusters"]}

    page.get_by_label("Change", exact=True).select_option(label="front tyre pressure")
    form = page.get_by_role("form", name="Change front tyre pressure")
    form.get_by_label("Highest", exact=True).fill("0.1")
    form.get_by_role("button", name="Save the adjuster").click()
    expect(form.get_by_role("alert").filter(has_text="Highest")).to_contain_text("is not above lowest")
    form.get_by_label("Highest", exact=True).fill("3")
    form.get_by_role("button", name="Save the adjuster").click()
    expect(page.get_by_text("The adjuster is saved.")).to_be_visible()
    assert adjusters()["front tyre pressure"]["highest"] == 3.0
    expect(page.get_by_text(re.compile(r"adjuster front tyre pressure: highest .* → 3"))).to_be_visible()

    before = len(adjusters())
    page.get_by_role("button", name="Add an adjuster").click()
    form = page.get_by_role("form", name="A new adjuster")
    form.get_by_role("button", name="Save the adjuster").click()
    expect(form.get_by_role("alert").first).to_be_visible()
    for label, text in {
        "Name": "rear lever",
        "Acts on": "rear.lever_nobody_has",
        "Lowest": "1",
        "Highest": "5",
        "Car as written at": "3",
        "A higher number": "stiffer",
        "Change per one on the scale": "5 %",
    }.items():
        if label.startswith("Change per"):
            form.get_by_label("A step", exact=True).select_option("rate")
            form.get_by_label("Sets", exact=True).select_option("factor")
        form.get_by_label(label, exact=True).fill(text)
    form.get_by_role("button", name="Save the adjuster").click()
    expect(form.get_by_role("alert").filter(has_text="Acts on")).to_be_visible()
    form.get_by_label("Acts on", exact=True).fill("rear.bar.rate")
    form.get_by_label("Axle", exact=True).select_option("rear")
    form.get_by_role("button", name="Save the adjuster").click()
    expect(page.get_by_label("Change", exact=True).locator("option", has_text="rear lever")).to_have_count(1)
    assert len(adjusters()) == before + 1
    page.get_by_label("Change", exact=True).select_option(label="rear lever")
    page.get_by_role("button", name="Take it out").click()
    expect(page.get_by_text("The adjuster is taken out.")).to_be_visible()
    assert len(adjusters()) == before

    page.get_by_label("Note", exact=True).fill("Two sets of springs in the van")
    page.get_by_label("Note", exact=True).press("Tab")
    expect(page.get_by_text("The note is saved.")).to_be_visible()
    page.reload()
    expect(page.get_by_label("Note", exact=True)).to_have_value("Two sets of springs in the van")


def test_a_car_a_set_up_a_track_and_a_style_get_another_name(page: Page, address: str) -> None:
    page.goto("/car")
    copy_car(page)
    car = page.get_by_label("The car is called").input_value()
    page.goto("/notebook")

    def rename(old: str, new: str) -> None:
        page.get_by_title(f"Give {old} another name", exact=True).last.click()
        field = page.get_by_label(f"New name of {old}", exact=True)
        expect(field).to_be_visible()
        field.fill(new)
        field.press("Enter")
        expect(page.get_by_text(new, exact=True).first).to_be_visible()

    rename(car, "Renamed car")
    expect(page.locator(".fp-open option", has_text="Renamed car").first).to_be_attached()
    (kept,) = (
        c for c in requests.get(f"{address}/api/cars", timeout=60).json() if c["name"] == "Renamed car"
    )
    for kind in ("tracks", "styles"):
        one = requests.get(f"{address}/api/{kind}", timeout=60).json()[-1]
        rename(one["name"], f"Renamed {kind}")
        assert f"Renamed {kind}" in [
            other["name"] for other in requests.get(f"{address}/api/{kind}", timeout=60).json()
        ]
        rename(f"Renamed {kind}", one["name"])
    setups = requests.get(f"{address}/api/cars/{kept['id']}/setups", timeout=60).json()
    rename(setups[0]["head"]["name"], "twin")
    requests.post(f"{address}/api/cars/{kept['id']}/setups", json={"name": "twin"}, timeout=60)
    page.reload()
    expect(page.get_by_role("link", name="twin (2)", exact=True)).to_be_visible()
    expect(page.locator(".fp-open option", has_text="twin (2)")).to_have_count(1)


def test_a_name_that_cannot_be_is_refused_without_a_sign_read_aloud(page: Page) -> None:
    page.goto("/notebook")
    page.get_by_role("button", name="Rename").first.click()
    field = page.get_by_label(re.compile("New name of"))
    field.fill("  ")
    field.press("Enter")
    told = page.get_by_role("alert").filter(has_text="name")
    expect(told).to_be_visible()
    assert "priority_high" not in told.inner_text()
    expect(page.locator(".q-notification i")).to_have_count(0)
    assert page.locator(".q-notification__message").evaluate(_INK) == page.locator("body").evaluate(_INK)


def test_a_backup_comes_back_at_a_press(page: Page, spare_address: str) -> None:
    page.goto(f"{spare_address}/notebook")
    page.get_by_role("button", name="Back up now").click()
    back = page.get_by_role("button", name="Go back to it")
    expect(back).to_have_count(1)
    page.get_by_title("Put Usual style away").click()
    expect(page.get_by_title("Put Usual style away")).to_have_count(0)
    back.click()
    expect(page.get_by_title("Put Usual style away")).to_be_visible()
