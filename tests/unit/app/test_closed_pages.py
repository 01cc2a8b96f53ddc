"""What a closed page held goes."""

import gc
import weakref
from collections.abc import Callable, Mapping

import pytest
from httpx import Response
from nicegui import Client

from fourpatch.app.frame import PLACES
from fourpatch.app.shop import Shop
from fourpatch.app.state import Desk

Open = Callable[[str], Response]


def test_nothing_of_a_page_outlives_it(served: tuple[Shop, Open], monkeypatch: pytest.MonkeyPatch) -> None:
    shop, opened = served
    desks: list[weakref.ref[Desk]] = []
    make = shop.desk

    def noted(open_: Mapping[str, str]) -> Desk:
        desk = make(open_)
        desks.append(weakref.ref(desk))
        return desk

    monkeypatch.setattr(shop, "desk", noted)
    paths = [place.path for place in PLACES] + ["/notebook"]  # the last request is held until the next
    for path in paths:
        assert opened(path).status_code == 200
    for client in list(Client.instances.values()):
        client.delete()
    gc.collect()
    assert len(desks) == len(paths)
    assert [path for path, desk in zip(paths[:-1], desks[:-1], strict=True) if desk() is not None] == []
