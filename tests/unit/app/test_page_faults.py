"""Whatever fails on a page, its frame stays: the other pages can be opened, and it says what can be done."""

from collections.abc import Callable
from typing import Any

import pytest
from httpx import Response

from fourpatch.app.frame import PLACES
from fourpatch.app.pages import notebook as notebook_page
from fourpatch.app.pages import setup as setup_page
from fourpatch.app.shop import Shop
from fourpatch.errors import FileError

Open = Callable[[str], Response]


@pytest.fixture
def shop(served: tuple[Shop, Open]) -> Shop:
    return served[0]


@pytest.fixture
def opened(served: tuple[Shop, Open]) -> Open:
    return served[1]


def breaking(error: Exception) -> Callable[..., Any]:
    def fail(*_: Any, **__: Any) -> Any:
        raise error

    return fail


def leads_on(page: Response) -> bool:
    return all(f'href=\\"{place.path}' in page.text for place in PLACES if place.in_head)


def test_a_page_that_cannot_be_drawn_keeps_the_way_to_the_others(
    opened: Open, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(setup_page, "SetupPanel", breaking(ZeroDivisionError("division by zero")))
    page = opened("/setup")
    assert page.status_code == 200
    assert leads_on(page)
    assert "The page Set-up cannot be shown. This is a fault of Fourpatch" in page.text
    assert "Load the page again" in page.text


def test_a_part_that_fails_leaves_the_rest(opened: Open, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(notebook_page, "notebook_state", breaking(ZeroDivisionError("division by zero")))
    page = opened("/notebook")
    assert page.status_code == 200
    assert "Where it is cannot be shown. This is a fault of Fourpatch" in page.text
    assert "Put Demo GT away" in page.text
    assert "Nothing. What you delete can be brought back from here." in page.text


@pytest.mark.parametrize("path", [place.path for place in PLACES])
def test_while_no_car_can_be_read_every_page_leads_to_the_notebooks(
    opened: Open, shop: Shop, monkeypatch: pytest.MonkeyPatch, path: str
) -> None:
    """The notebook's page names what cannot be read; it looks for that once it is shown."""
    with monkeypatch.context() as broken:
        broken.setattr(shop.notebook.cars, "_read", breaking(FileError("car: line 3 is odd. Mend it.")))
        page = opened(path)
    if page.status_code == 303:
        assert page.headers["location"] == "/notebook"
    else:
        assert page.status_code == 200
        assert leads_on(page)
    assert (page.status_code == 303) == (
        path not in ("/start", "/car", "/tracks", "/notebook")
    )  # where a car can be made or mended


def test_the_notebooks_page_is_whole_while_the_open_car_cannot_be_read(
    opened: Open, shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as broken:
        broken.setattr(shop.notebook.cars, "_read", breaking(FileError("car: line 3 is odd. Mend it.")))
        page = opened("/notebook")
    assert "Put Demo GT away" in page.text
    assert "Where it is cannot be shown" not in page.text


def test_without_a_track_the_lap_page_says_where_one_comes_from(opened: Open, shop: Shop) -> None:
    tracks = shop.notebook.tracks
    there = tracks.listed()
    for one in there:
        tracks.delete(one.id, by="a test")
    try:
        page = opened("/lap")
    finally:
        for one in there:
            tracks.restore(one.id)
    assert page.status_code == 200
    assert leads_on(page)
    assert "There is no track that could be lapped." in page.text


def test_a_track_that_cannot_be_read_is_named_and_the_others_are_there(
    opened: Open, shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    lost, kept = shop.notebook.tracks.listed()[:2]
    read = shop.notebook.tracks.read

    def half(id: int, revision: int | None = None) -> Any:
        if id == lost.id:
            raise FileError("its line is gone. Read the file again.")
        return read(id, revision)

    monkeypatch.setattr(shop.notebook.tracks, "read", half)
    page = opened("/lap")
    assert f'{lost.name}\\" cannot be read and is left out. its line is gone.' in page.text.replace(
        "&quot;", '"'
    )
    assert f"{kept.name}, " in page.text
