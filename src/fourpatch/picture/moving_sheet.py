"""A picture of a film: what stands still is drawn once, what moves for each frame."""

from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from numpy.typing import NDArray

from fourpatch.picture.palette import QUIET
from fourpatch.picture.sheet import styled

Frame = NDArray[np.uint8]
"""Height, width, RGB."""

WIDTH, HEIGHT = 1280, 720
_DPI = 100
_CAUTION = (
    "Computed, not driven. The maker's limits, the rules of your series and licensed practice come first."
)


class MovingSheet:
    """Base of films: a sheet of 1280 x 720 with its title, and artists that are drawn anew for each frame."""

    def __init__(self, title: str, source: str, caption: str = "") -> None:
        self.figure = Figure(figsize=(WIDTH / _DPI, HEIGHT / _DPI), dpi=_DPI)
        self._canvas = FigureCanvasAgg(self.figure)
        self._moving: list[tuple[Axes | Figure, Artist]] = []
        self.figure.text(0.03, 0.965, title, fontsize=20, fontweight="bold", va="top")
        self.figure.text(0.03, 0.895, caption, fontsize=14, va="top")
        self.figure.text(0.03, 0.045, source, fontsize=11, color=QUIET, va="center")
        self.figure.text(0.03, 0.015, _CAUTION, fontsize=9, color=QUIET)

    def moves(self, on: Axes | Figure, artist: Any) -> Any:
        """Return an artist after noting that it is drawn anew for each frame."""
        artist.set_animated(True)
        self._moving.append((on, artist))
        return artist

    def stands(self) -> None:
        """Draw what does not move, once all of it is there."""
        self._canvas.draw()  # type: ignore[no-untyped-call]
        self._still: Any = self._canvas.copy_from_bbox(self.figure.bbox)  # type: ignore[no-untyped-call]

    def drawn(self) -> Frame:
        """Return the frame as it is now."""
        self._canvas.restore_region(self._still)  # type: ignore[no-untyped-call]
        for on, artist in self._moving:
            on.draw_artist(artist)
        return np.asarray(self._canvas.buffer_rgba())[:, :, :3].copy()  # type: ignore[no-untyped-call]

    def save_svg(self, path: Path) -> None:
        """Write the frame as it is now as SVG, its letters as outlines: it looks alike everywhere."""
        for _, artist in self._moving:
            artist.set_animated(False)
        try:
            with styled():
                self.figure.savefig(path, format="svg", metadata={"Date": None})
        finally:
            for _, artist in self._moving:
                artist.set_animated(True)
