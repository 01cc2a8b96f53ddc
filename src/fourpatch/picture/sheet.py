"""The sheet every figure is drawn on: size, type, title, source line, and how it is written to a file."""

import io
import itertools
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, cast

import matplotlib
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine

from fourpatch.document.saving import whole_file
from fourpatch.errors import FileError
from fourpatch.events.phase import Phase
from fourpatch.picture.formats import refuse_other_formats
from fourpatch.picture.palette import GROUND, INK, QUIET, RULE, SHADE

_STYLE: dict[str, Any] = {
    "figure.facecolor": GROUND,
    "axes.facecolor": GROUND,
    "axes.edgecolor": QUIET,
    "axes.labelcolor": INK,
    "axes.titlesize": 10.0,
    "axes.titleweight": "bold",
    "axes.titlelocation": "left",
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.grid": True,
    "axes.axisbelow": True,
    "grid.color": RULE,
    "grid.linewidth": 0.6,
    "font.size": 9.0,
    "text.color": INK,
    "xtick.color": INK,
    "ytick.color": INK,
    "legend.frameon": False,
    "svg.hashsalt": "fourpatch",  # the same figure is the same file
    "savefig.dpi": 160,
}


@contextmanager
def styled() -> Iterator[None]:
    """Draw in our style, whatever the user's own settings of matplotlib are."""
    with matplotlib.rc_context():
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(cast(Any, _STYLE))
        yield


class Sheet(Figure):
    """A figure that a notebook shows as it is written to a file."""

    def _repr_png_(self) -> bytes:
        with styled():
            drawn = io.BytesIO()
            self.savefig(drawn, format="png")
        return drawn.getvalue()


def new_sheet(width: float, height: float, *, question: str, source: str) -> Sheet:
    """Return an empty figure with its title, the question it answers, and a line that says what is computed.

    Parameters
    ----------
    width, height : [in]
    """
    left, top = 0.12 / width, 0.62 / height
    layout = ConstrainedLayoutEngine(rect=(left, 0.0, 1.0 - 2.0 * left, 1.0 - top), wspace=0.04)
    figure = Sheet(figsize=(width, height), layout=layout)
    FigureCanvasAgg(figure)
    figure.text(left, 1.0 - 0.12 / height, question, fontsize=13, fontweight="bold", va="top")
    figure.text(left, 1.0 - 0.40 / height, source, fontsize=8.5, color=QUIET, va="top")
    return figure


_NARROWEST = 0.02
"""Part of the time axis in which a name can stand upright. [1]"""


def shade_phases(axes: Axes, phases: Sequence[Phase], *, named: bool) -> None:
    """Shade every other phase and, if ``named``, write its name over the axes, upright where it is narrow.

    A phase too narrow even for that goes without its name.
    """
    start, end = axes.get_xlim()
    for phase, shaded in zip(phases, itertools.cycle((False, True))):
        low, high = max(phase.start, start), min(phase.end, end)
        if high <= low:
            continue
        if shaded:
            axes.axvspan(low, high, color=SHADE, linewidth=0.0, zorder=0)
        if not named or (high - low) / (end - start) < _NARROWEST:
            continue
        room = (high - low) / (end - start) >= 0.013 * len(phase.name)  # else the names would collide
        axes.annotate(
            phase.name,
            (0.5 * (low + high), 1.0),
            xycoords=("data", "axes fraction"),
            xytext=(0, 2 if room else -3),
            textcoords="offset points",
            ha="center",
            va="bottom" if room else "top",
            rotation=0 if room else 90,
            fontsize=8 if room else 7,
            color=QUIET,
        )


def save(figure: Figure, path: Path) -> None:
    """Write a figure, whole or not at all, as SVG, PNG or PDF, by the ending of the name.

    Raises
    ------
    FileError
        If the ending is another one or the file cannot be written.
    """
    refuse_other_formats(path)
    undated: dict[str, Any] = {} if path.suffix.lower() == ".png" else {_DATES[path.suffix.lower()]: None}
    try:
        drawn = io.BytesIO()  # a writer of PDF that meets a full disk does not say so
        with styled():
            figure.savefig(drawn, format=path.suffix.lower()[1:], metadata=undated)
        with whole_file(path) as unfinished:
            unfinished.write_bytes(drawn.getbuffer())
    except OSError as error:
        raise FileError(f"{path}: cannot be written ({error.strerror}); choose another place.") from None


_DATES = {".svg": "Date", ".pdf": "CreationDate"}
