"""Laps from above as a film: one car, or two side by side by time or by place, with speed and gap."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.lap_summary import LapStudy
from fourpatch.analysis.quantity import SPEED
from fourpatch.picture.moving_sheet import Frame, MovingSheet
from fourpatch.picture.palette import FRONT, INK, QUIET, REAR, SHADE
from fourpatch.picture.sheet import styled
from fourpatch.track.layout import lay_out
from fourpatch.track.plan import beside

Array = NDArray[np.float64]

_PENS = (FRONT, REAR)
Alike = Literal["time", "place"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Filmed:
    """A lap and what its car is called."""

    name: str
    study: LapStudy

    def at(self, moments: Array) -> tuple[Array, Array, Array, Array]:
        """Return x, y, distance and speed at moments of the lap [s]; beyond its end it stands at the end."""
        line, profile = self.study.line, self.study.profile
        rows = (line.x, line.y, line.distance, profile.speed)
        x, y, distance, speed = (np.interp(moments, profile.time, row) for row in rows)
        return x, y, distance, speed

    def when(self, shares: Array) -> Array:
        """Return when it is at shares of its own line, 0 to 1. [s]"""
        line = self.study.line
        return np.asarray(np.interp(shares * line.distance[-1], line.distance, self.study.profile.time))


class LapFilm(MovingSheet):
    """Frames of laps on one track."""

    def __init__(self, laps: tuple[Filmed, ...], *, title: str, source: str, caption: str = "") -> None:
        """Draw what does not move.

        Parameters
        ----------
        laps : one, or two to be seen together; the first is A.
        caption : below the title.
        """
        self._laps = laps
        with styled():
            super().__init__(title, source, caption)
            self._plan = self.figure.add_axes((0.03, 0.12, 0.55, 0.74))
            self._speeds = self.figure.add_axes((0.66, 0.16, 0.31, 0.40))
            self._draw_plan()
            self._draw_speeds()
            self._movers = [self._mover(place) for place in range(len(laps))]
            told = self.figure.text(0.66, 0.86, "", fontsize=17, va="top", linespacing=1.5, color=INK)
            self._told = self.moves(self.figure, told)
            self.stands()

    @property
    def lap_time(self) -> float:
        """Of the slower one. [s]"""
        return max(float(one.study.profile.time[-1]) for one in self._laps)

    def frames(
        self, *, start: float, seconds: float, rate: int, slow: float = 1.0, alike: Alike = "time"
    ) -> Iterator[Frame]:
        """Yield the frames.

        Parameters
        ----------
        start : in the lap of A. [s]
        seconds : how long the film runs. [s]
        rate : frames per second.
        slow : how many times slower than driven: 2 is half speed.
        alike : whether both are shown at the same time since the start line, or at the same place.
        """
        moments = start + np.arange(round(seconds * rate)) / rate / slow
        times = self._times(moments, alike)
        rows = [one.at(time) for one, time in zip(self._laps, times, strict=True)]
        gaps = self._gaps(rows, times)
        for place in range(moments.size):
            self._put(
                [[row[place] for row in of_one] for of_one in rows], float(gaps[place]), times[0][place]
            )
            yield self.drawn()

    def _times(self, moments: Array, alike: Alike) -> list[Array]:
        first = self._laps[0]
        if alike == "time":
            return [moments for _ in self._laps]
        line = first.study.line
        shares = np.interp(moments, first.study.profile.time, line.distance) / line.distance[-1]
        return [moments, *(one.when(shares) for one in self._laps[1:])]

    def _gaps(self, rows: Sequence[tuple[Array, ...]], times: list[Array]) -> Array:
        """Return by how much B is behind A where A is [s]; below 0 ahead; 0 of one lap."""
        if len(self._laps) == 1:
            return np.zeros_like(times[0])
        a, b = self._laps
        behind = b.when(rows[0][2] / a.study.line.distance[-1]) - np.minimum(
            times[0], a.study.profile.time[-1]
        )
        return np.asarray(behind)

    # What does not move

    def _draw_plan(self) -> None:
        axes, layout = self._plan, lay_out(self._laps[0].study.track)
        left, right = beside(layout, layout.left), beside(layout, -layout.right)
        around = np.concatenate((left, right[::-1]))
        axes.fill(around.real, around.imag, color=SHADE, linewidth=0.0)
        for edge in (left, right):
            axes.plot(edge.real, edge.imag, color=QUIET, linewidth=1.0)
        axes.set_aspect("equal", adjustable="datalim")
        axes.margins(0.05)
        axes.axis("off")

    def _draw_speeds(self) -> None:
        axes = self._speeds
        for one, pen in zip(self._laps, _PENS, strict=False):
            line = one.study.line
            axes.plot(
                line.distance, one.study.profile.speed / SPEED.scale, color=pen.color, linestyle=pen.dash
            )
        axes.set_title("speed [km/h]", fontsize=13)
        axes.set_xlabel("distance [m]", fontsize=12)
        axes.tick_params(labelsize=11)

    def _mover(self, place: int) -> tuple[Any, Any]:
        pen = _PENS[place]
        filled = place == 0
        look: dict[str, Any] = {
            "marker": pen.marker,
            "markersize": 15 if filled else 21,
            "color": pen.color,
            "markerfacecolor": pen.color if filled else "none",  # A is seen through B
            "markeredgewidth": 3,
            "linestyle": "none",
        }
        (on_plan,) = self._plan.plot([], [], label=self._laps[place].name, **look)
        (on_speeds,) = self._speeds.plot(
            [], [], **{**look, "markersize": 9 if filled else 13, "markeredgewidth": 2}
        )
        return self.moves(self._plan, on_plan), self.moves(self._speeds, on_speeds)

    # What moves

    def _put(self, rows: list[list[Any]], gap: float, moment: Any) -> None:
        said = [f"{float(moment):6.2f} s"]
        for (on_plan, on_speeds), one, (x, y, distance, speed), sign in zip(
            self._movers, self._laps, rows, "●◻", strict=False
        ):
            on_plan.set_data([x], [y])
            on_speeds.set_data([distance], [speed / SPEED.scale])
            said.append(f"{sign} {one.name}: {speed / SPEED.scale:.0f} km/h")
        if len(self._laps) > 1:
            said.append(f"gap {abs(gap):.2f} s, {'A' if gap >= 0.0 else 'B'} ahead")
        self._told.set_text("\n".join(said))
