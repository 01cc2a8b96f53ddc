"""A port belongs to one server at a time."""

import socket

import pytest

from fourpatch.app import address
from fourpatch.app.address import house_host, listen
from fourpatch.errors import FourpatchError


def test_a_port_that_is_taken_is_refused() -> None:
    place, _ = listen(None)
    with place, pytest.raises(FourpatchError, match="cannot be used"):
        listen(place.getsockname()[1])


def test_where_a_port_can_be_kept_for_one_it_is(monkeypatch: pytest.MonkeyPatch) -> None:
    # Windows has such an option, and there SO_REUSEADDR would let a second server take the port. An option
    # of this system that can be read back stands for it.
    monkeypatch.setattr(address.socket, "SO_EXCLUSIVEADDRUSE", socket.SO_KEEPALIVE, raising=False)
    place, _ = listen(None)
    with place:
        assert place.getsockopt(socket.SOL_SOCKET, socket.SO_KEEPALIVE)
        assert not place.getsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR)


def test_the_house_is_answered_where_it_cannot_be_reached_from_outside(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    class Way(socket.socket):
        """Finds a way out that begins at an address, or none."""

        host = ""

        def connect(self, place: object) -> None:
            if not self.host:
                raise OSError("Network is unreachable")

        def getsockname(self) -> tuple[str, int]:
            return self.host, 1

    monkeypatch.setattr(address.socket, "socket", Way)
    with pytest.raises(FourpatchError, match="is in no network"):
        house_host()
    Way.host = "8.8.8.8"
    with pytest.raises(FourpatchError, match="can be reached from outside the house"):
        house_host()
    Way.host = "192.168.1.7"
    assert house_host() == "192.168.1.7"
