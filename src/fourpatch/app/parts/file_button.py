"""A button that reads files of the user's machine."""

import base64
import inspect
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from nicegui import events
from nicegui.element import Element

LARGEST = 4_000_000
"""Bytes of a file that are taken; a measured track or aero map stays far below."""


@dataclass(frozen=True, slots=True)
class GivenFile:
    """A file as it was chosen."""

    name: str
    content: bytes


class FileButton(Element, component="file_button.js"):
    """Tells which files were chosen, read whole."""

    def __init__(
        self,
        text: str,
        on_read: Callable[[list[GivenFile]], Any],
        *,
        tell: str,
        accept: str,
        several: bool = False,
    ) -> None:
        """Draw the button.

        Parameters
        ----------
        on_read : told the files; may be a coroutine function.
        tell : what it does, shown on hovering.
        accept : endings that are offered: ".toml,.csv".
        """
        super().__init__()
        self._props |= {"text": text, "tell": tell, "accept": accept, "largest": LARGEST, "several": several}

        async def read(event: events.GenericEventArguments) -> None:
            files = [
                GivenFile(str(one["name"]), base64.b64decode(one["content"])) for one in event.args["files"]
            ]
            done = on_read(files)
            if inspect.isawaitable(done):
                await done

        self.on("read", read)
