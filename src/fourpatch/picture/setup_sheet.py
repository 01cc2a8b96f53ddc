"""A set-up as a sheet for the garage: every adjuster in order, changes marked, room to write."""

from collections.abc import Iterator
from typing import Final

from fourpatch.car.adjusters import Adjuster
from fourpatch.car.car import Car
from fourpatch.car.scale_words import standing_at
from fourpatch.car.setup import Setup
from fourpatch.picture.blocks import Block, Heading, Sentence, Table
from fourpatch.picture.head import Head

MARK: Final = "▶"
"""Before what was changed: seen without colour."""
_FRONT, _REAR = "front ", "rear "
_TO_WRITE: Final = (
    ("date, track", "", "driver", ""),
    ("tyres, laps on them", "", "fuel", ""),
    ("pressures hot, FL / FR", "", "RL / RR", ""),
    ("weights, FL / FR", "", "RL / RR", ""),
    ("remarks", "", "", ""),
)


def setup_sheet(car: Car, setup: Setup, against: Setup | None = None) -> list[Block]:
    """Return the blocks of a set-up's sheet.

    Parameters
    ----------
    against : the set-up that changes are marked against; none are marked if left out.
    """
    both, single = _parted(car)
    blocks: list[Block] = []
    if setup.note:
        blocks.append(Sentence(setup.note))
    if against is not None:
        count = sum(setup.position(one) != against.position(one) for one in car.adjusters)
        what = f"{count} adjusters stand" if count != 1 else "one adjuster stands"
        blocks.append(
            Sentence(f"Against {against.name}: {what} elsewhere, marked {MARK} with where it stood.")
        )
    if both:
        rows = [
            (rest, _stands(front, setup, against), _stands(rear, setup, against))
            for rest, (front, rear) in both.items()
        ]
        blocks.append(Table(heads=_heads("adjuster", "front", "rear"), rows=rows))
    if single:
        others = [(one.name, _stands(one, setup, against)) for one in single]
        blocks.append(Table(heads=_heads("adjuster", "stands at"), rows=others))
    blocks += [Heading("To write in"), Table(heads=_heads("", "", "", ""), rows=_TO_WRITE)]
    return blocks


def _heads(*texts: str) -> list[Head]:
    return [Head(text=text, right=False) for text in texts]


def _stands(one: Adjuster, setup: Setup, against: Setup | None) -> str:
    now = standing_at(setup.position(one), one.unit)
    if against is None or against.position(one) == setup.position(one):
        return now
    return f"{MARK} {now} (was {against.position(one):g})"


def _parted(car: Car) -> tuple[dict[str, tuple[Adjuster, Adjuster]], list[Adjuster]]:
    """Return adjusters that both axles have, by the name without the axle, and all others."""
    named = {one.name: one for one in car.adjusters}
    both = {
        rest: (named[_FRONT + rest], named[_REAR + rest])
        for rest in _rests(named)
        if _FRONT + rest in named and _REAR + rest in named
    }
    paired = {one.name for pair in both.values() for one in pair}
    return both, [one for one in car.adjusters if one.name not in paired]


def _rests(names: dict[str, Adjuster]) -> Iterator[str]:
    for name in names:
        if name.startswith(_FRONT):
            yield name.removeprefix(_FRONT)
