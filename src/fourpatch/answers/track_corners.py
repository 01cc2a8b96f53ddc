"""The phases of a track's corners."""

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Annotated, ClassVar

if TYPE_CHECKING:
    import xarray as xr


from fourpatch.analysis import phase_balance
from fourpatch.analysis.lap_summary import LapCorner
from fourpatch.analysis.track_corners import CORNERS_USE, UNITS
from fourpatch.answers.answer import Answer
from fourpatch.answers.lap import USE, lap_content
from fourpatch.answers.question import SPEED, About, Asked, Found, Question
from fourpatch.document.content import settings_content
from fourpatch.picture.blocks import Block, Picture, Table, means
from fourpatch.picture.head import Head

_ALIKE = 0.5  # balance within which neither axle is said to be nearer to its limit [points]


class TrackCorners(Question):
    """Phases of every corner of a lap of CAR: who runs out of grip first, and how stable the car is."""

    command: ClassVar[str] = "analyse corners"
    question: ClassVar[str] = "Which axle runs out first in each corner, and is the car stable there?"
    finds: ClassVar[dict[str, Found]] = {"corners": LapCorner, "phases": UNITS | phase_balance.UNITS}
    of: ClassVar[About] = "car on a track"
    drawn: ClassVar[bool] = True

    use: Annotated[float, USE] = CORNERS_USE
    """How much of the worse axle's grip the lap uses."""
    start_speed: Annotated[float, SPEED] | None = None
    """At the start of an open track; as fast as its first place allows if left out."""

    def answer(self, asked: Asked) -> Answer:
        """Compute it."""
        found = asked.car.lap(asked.on, use=self.use, start_speed=self.start_speed)
        phases, corners = found.phases(), found.summary.corners
        about = lap_content(asked, found)
        return Answer(
            title=phases.title,
            about={**about, "mode": "quasi-steady, then rig", **settings_content(self)},
            found={"corners": corners, "phases": phases.dataset},
            blocks=[
                *corners_blocks(phases.dataset, corners),
                Picture(draw=phases.plot, says=self.question),
            ],
        )


def corners_blocks(found: "xr.Dataset", corners: Sequence[LapCorner]) -> list[Block]:
    """Return balance, use and stability of each corner, a column for each phase."""
    names = [str(name) for name in found.phase.values]
    balance = [Head(text=f"{name}\nbalance", unit="points") for name in names]
    use = [Head(text=f"{name}\npeak use", unit="%") for name in names]
    heads = [*_CORNER, *balance, *use]
    first = Table(heads=heads, rows=list(_balance_rows(found, corners)), title="Who runs out first")
    reserve = [Head(text=f"{name}\nreserve", unit="1/s") for name in names]
    tyre = [Head(text=f"{name}\ntyre", unit="%") for name in names]
    stability = Table(
        heads=[*_CORNER, *reserve, *tyre],
        rows=list(_stability_rows(found, corners)),
        title="Stability reserve, above 0 it swings round; use of the busiest tyre",
    )
    return [first, stability, means(corners_meaning(found))]


_CORNER = (Head(text="corner"), Head(text="slowest", unit="km/h"))


def _named(corner: LapCorner) -> tuple[str, str]:
    return f"{corner.corner} {corner.direction}", f"{corner.slowest_speed * 3.6:.0f}"


def _balance_rows(found: "xr.Dataset", corners: Sequence[LapCorner]) -> Iterator[tuple[str, ...]]:
    for corner in corners:
        one = found.sel(track_corner=corner.corner)
        yield (
            *_named(corner),
            *(_number(value, "+.1f") for value in one.balance.values),
            *(_number(100.0 * value, ".0f") for value in one.peak_use.max("axle").values),
        )


def _stability_rows(found: "xr.Dataset", corners: Sequence[LapCorner]) -> Iterator[tuple[str, ...]]:
    for corner in corners:
        one = found.sel(track_corner=corner.corner)
        yield (
            *_named(corner),
            *(_number(value, "+.1f") for value in one.stability_reserve.values),
            *(_busiest(one.tyre_use.sel(phase=name)) for name in one.phase.values),
        )


def _number(value: float, form: str) -> str:
    return "-" if math.isnan(value) else format(value, form)


def _busiest(use: "xr.DataArray") -> str:
    if bool(use.isnull().all()):
        return "-"
    most = use.isel(corner=int(use.argmax("corner")))
    share = float(most)
    return f"{most.corner.item()} {100.0 * share:.0f}" if share <= 1.0 else f"{most.corner.item()} > 100"


def corners_meaning(found: "xr.Dataset") -> str:
    """Say by phase in how many corners which axle is nearer to its limit, and where the car diverges."""
    said = []
    for name in map(str, found.phase.values):
        balance = found.balance.sel(phase=name).dropna("track_corner")
        if balance.size == 0:
            continue
        front, rear = int((balance > _ALIKE).sum()), int((balance < -_ALIKE).sum())
        said.append(
            f"{name}: the front is nearer to its limit in {front}, the rear in {rear} of {balance.size}"
        )
    worst = found.stability_reserve.fillna(-math.inf)
    place = worst.isel(worst.argmax(...))
    if float(place) > 0.0:
        said.append(
            f"left alone the car would swing round fastest in {place.phase.item()} of corner "
            f"{place.track_corner.item()}, twice as far every {math.log(2.0) / float(place):.2f} s"
        )
    else:
        said.append("in the middle of every phase a disturbance dies away by itself")
    return "; ".join(said) + "."
