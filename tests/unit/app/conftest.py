"""The app's pages without a browser."""

import asyncio
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from httpx import ASGITransport, AsyncClient, Response

from fourpatch.app.main import make_server
from fourpatch.app.shop import Shop
from fourpatch.notebook.notebook import open_notebook

PORT = 8080

Open = Callable[[str], Response]


@pytest.fixture(scope="session")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Shop, Open]]:
    """A shop, and what asks its server for a page; the library knows one server a process."""
    shop = Shop(open_notebook(Path(tmp_path_factory.mktemp("served")) / "notebook.sqlite"))
    server = make_server(shop, PORT)

    async def answer(path: str) -> Response:
        async with (
            server.router.lifespan_context(server),
            AsyncClient(transport=ASGITransport(server), base_url=f"http://127.0.0.1:{PORT}") as client,
        ):
            return await client.get(path)

    yield shop, lambda path: asyncio.run(answer(path))
    shop.close()
