"""Tracks made over HTTP: from words, from a file, and refused with the reason."""

import asyncio
import base64
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from httpx import ASGITransport, AsyncClient, Response

from fourpatch.app.api.service import make_api
from fourpatch.app.shop import Shop
from fourpatch.notebook.notebook import open_notebook

OVAL = "straight 400 m; left hairpin, 40 m; straight 400 m; left hairpin, 40 m"


class Client:
    """Asks the API without a server."""

    def __init__(self, shop: Shop) -> None:
        self._api = make_api(shop)

    def ask(self, method: str, path: str, **about: Any) -> Response:
        async def answer() -> Response:
            async with AsyncClient(transport=ASGITransport(self._api), base_url="http://127.0.0.1") as client:
                return await client.request(method, path, **about)

        return asyncio.run(answer())

    def post(self, path: str, **about: Any) -> Response:
        return self.ask("POST", path, **about)


@pytest.fixture
def client(tmp_path: Path) -> Iterator[Client]:
    shop = Shop(open_notebook(tmp_path / "notebook.sqlite"))
    yield Client(shop)
    shop.close()


def test_words_make_a_track_that_is_kept(client: Client) -> None:
    answer = client.post("/api/tracks/from-sketch", json={"sketch": OVAL, "name": "Oval", "width": 12.0})
    assert answer.status_code == 201, answer.text
    assert answer.json()["entry"]["name"] == "Oval"
    kept = client.ask("GET", f"/api/tracks/{answer.json()['entry']['id']}").json()
    assert "left = " in kept["written"]["text"]
    refused = client.post("/api/tracks/from-sketch", json={"sketch": "straight; lft"})
    assert refused.status_code == 422
    assert "Did you mean left" in refused.text


def test_a_file_makes_a_track_that_is_kept(client: Client) -> None:
    angle = np.linspace(0.0, 2.0 * np.pi, 200, endpoint=False)
    rows = (f"{80.0 * np.cos(one):.3f},{80.0 * np.sin(one):.3f}" for one in angle)
    content = base64.b64encode(("x [m],y [m]\n" + "\n".join(rows)).encode()).decode()
    answer = client.post("/api/tracks/from-line", json={"file": "ring.csv", "content": content})
    assert answer.status_code == 201, answer.text
    assert "closes by itself" in answer.json()["told"][0]
    refused = client.post("/api/tracks/from-line", json={"file": "ring.csv", "content": "no base64!"})
    assert "is no base64" in refused.text
