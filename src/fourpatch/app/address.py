"""Where the app listens: on this machine only, or also in the network of the house, on a port of its own."""

import socket
from ipaddress import ip_address

from fourpatch.errors import FourpatchError

HOST = "127.0.0.1"


_NOWHERE = ("192.0.2.1", 9)
"""An address that is kept for documentation (RFC 5737): a way to it is asked for, nothing is sent."""


def house_host() -> str:
    """Return this machine's address in the network of the house.

    Raises
    ------
    FourpatchError
        If it is in no network, or in one that the whole world reaches.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            asked.connect(_NOWHERE)
        except OSError:
            raise FourpatchError(
                "--tablet: this machine is in no network. Join the Wi-Fi of the house, or leave it out."
            ) from None
        host = str(asked.getsockname()[0])
    if not ip_address(host).is_private:
        raise FourpatchError(
            f"--tablet: this machine's address, {host}, can be reached from outside the house. Join a "
            "network behind a router of your own, or leave it out."
        )
    return host


def listen(port: int | None, host: str = HOST) -> tuple[socket.socket, str]:
    """Return a listening place and its address, as a browser takes it.

    Parameters
    ----------
    port : to listen at; any free one if None.
    host : address of this machine: whoever reaches that is answered.

    Raises
    ------
    FourpatchError
        If the port is taken or not ours to take.

    Notes
    -----
    Whoever calls before the server is loaded waits in the queue of the system, and is answered.
    """
    place = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    # On Windows SO_REUSEADDR would let a second server take the port from under the first (Microsoft, Using
    # SO_REUSEADDR and SO_EXCLUSIVEADDRUSE); elsewhere it only lets a port be used again at once.
    exclusive = getattr(socket, "SO_EXCLUSIVEADDRUSE", None)
    place.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR if exclusive is None else exclusive, 1)
    try:
        place.bind((host, port or 0))
        place.listen()
    except OSError as error:
        place.close()
        raise FourpatchError(
            f"--port {port}: cannot be used at {host} ({error.strerror}). Leave it out to take a free one."
        ) from None
    return place, f"http://{host}:{place.getsockname()[1]}/"
