"""Where the app listens: on this machine only, on a port of its own."""

import socket

from fourpatch.errors import FourpatchError

HOST = "127.0.0.1"


def listen(port: int | None) -> tuple[socket.socket, str]:
    """Return a listening place on the loopback and its address, as a browser takes it.

    Parameters
    ----------
    port : to listen at; any free one if None.

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
        place.bind((HOST, port or 0))
        place.listen()
    except OSError as error:
        place.close()
        raise FourpatchError(
            f"--port {port}: cannot be used ({error.strerror}). Leave it out to take a free one."
        ) from None
    return place, f"http://{HOST}:{place.getsockname()[1]}/"
