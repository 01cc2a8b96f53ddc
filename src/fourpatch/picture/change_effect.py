"""Laps before and after a change as they were driven, and what they tell of it."""

from collections.abc import Sequence

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from fourpatch.advice.change_design import places_of
from fourpatch.advice.change_effect import ChangeEffect
from fourpatch.picture.palette import FRONT, GROUND, QUIET, REAR, Pen
from fourpatch.picture.sheet import new_sheet, styled
from fourpatch.recording.timed_laps import TimedLap

_ROW = 0.32  # height of a part's interval [in]


def change_effect_figure(laps: Sequence[TimedLap], found: ChangeEffect, *, source: str) -> Figure:
    """Draw every lap in the order driven, and beside it the change of the lap and of its parts."""
    height = max(4.2, 1.6 + _ROW * (1 + len(found.parts)))
    with styled():
        figure = new_sheet(10.0, height, question="Did it help?", source=source)
        times, changes = figure.subplots(1, 2, width_ratios=(3, 2))
        _draw_laps(times, laps, found)
        _draw_changes(changes, found)
    return figure


def _draw_laps(axes: Axes, laps: Sequence[TimedLap], found: ChangeEffect) -> None:
    little = {(one.run, one.lap) for one in found.spoiled}
    for setup, pen in ((found.before, FRONT), (found.after, REAR)):
        own = [(place, one) for place, one in zip(places_of(laps), laps, strict=True) if one.setup == setup]
        for counts in (True, False):
            shown = [
                (place + 1, one.time)
                for place, one in own
                if (one.left_out or (one.run, one.lap) in little) != counts
            ]
            if shown:
                _draw_points(axes, shown, pen, label=setup if counts else "", counts=counts)
    axes.set_xlabel("lap of the day")
    axes.set_title("lap time [s]; crossed out: counts little or nothing")
    axes.legend(loc="upper right", ncols=2)
    axes.margins(y=0.18)


def _draw_points(
    axes: Axes, shown: Sequence[tuple[int, float]], pen: Pen, *, label: str, counts: bool
) -> None:
    axes.plot(
        [place for place, _ in shown],
        [time for _, time in shown],
        linestyle="none",
        marker=pen.marker if counts else "x",
        color=pen.color,
        markerfacecolor=pen.color if counts and pen.filled else GROUND,
        label=label or "_",
    )


def _draw_changes(axes: Axes, found: ChangeEffect) -> None:
    rows = [found.lap, *found.parts]
    for place, one in enumerate(rows):
        told = one.verdict in ("quicker", "slower")
        axes.plot([one.low, one.high], [place, place], color=FRONT.color if told else QUIET, linewidth=2.0)
        axes.plot(
            one.change,
            place,
            marker="o" if told else "d",
            color=FRONT.color if told else QUIET,
            markerfacecolor=FRONT.color if told else GROUND,
        )
    axes.axvline(0.0, color=QUIET, linewidth=0.9)
    axes.set_yticks(
        range(len(rows)), [one.name if len(one.name) <= 30 else f"{one.name[:28]}…" for one in rows]
    )
    axes.set_ylim(len(rows) - 0.4, -0.6)
    axes.grid(visible=False, axis="y")
    axes.set_title("change [s], 9 of 10 cases; filled: told")
    axes.set_xlabel(f"{found.after} quicker  |  {found.after} slower")
