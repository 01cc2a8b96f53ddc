"""An item of evidence as it is typed, checked before it is kept."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from pydantic import TypeAdapter, ValidationError

from fourpatch.advice.plausible import PlausibleCar
from fourpatch.car.car import Car
from fourpatch.car.evidence import OBSERVABLES, Item, Reading, evidence_faults
from fourpatch.errors import AdviceError
from fourpatch.evidence.believed import believed
from fourpatch.evidence.observed import Tracks, observed
from fourpatch.evidence.unknowns import Unknowns
from fourpatch.long_work import Cancelled, Progress, never, unwatched
from fourpatch.track.track import Track
from fourpatch.units import FROM_FILE

_ITEM: TypeAdapter[Item] = TypeAdapter(Item)


def checked_item(car: Car, said: Mapping[str, Any], tracks: Tracks) -> tuple[Item, str]:
    """Return an item of evidence and the number it is about, in words.

    Parameters
    ----------
    said : as in a car file.

    Raises
    ------
    AdviceError, CarError
        If it cannot be read, or is of something the model has no number for.
    """
    try:
        item = _ITEM.validate_python(dict(said), context=FROM_FILE)
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"][1:])
        raise AdviceError(f"{where} {first['msg'].removeprefix('Value error, ')}".strip()) from None
    faults = evidence_faults(car.model_copy(update={"evidence": [item]}))
    if faults:
        raise AdviceError("\n".join(f"{' '.join(map(str, one.key[2:]))} {one.text}" for one in faults))
    if isinstance(item, Reading):
        unit = OBSERVABLES[item.quantity].unit
        item = item.model_copy(update={"value": unit.completed(item.value)})
    return item, observed(car, item, tracks).meaning


def cars_to_ask(
    car: Car, count: int, *, seed: int = 1, progress: Progress = unwatched, cancelled: Cancelled = never
) -> list[PlausibleCar] | None:
    """Return plausible cars that show what was observed; None if nothing was, or nothing can be learnt.

    Raises
    ------
    AdviceError
        If an item of the car's evidence cannot be read.
    Stopped
        If it is cancelled.
    """
    unknowns = Unknowns.of(car)
    if not car.evidence or not (unknowns.groups or unknowns.adjusters):
        return None
    tracks = demo_tracks(tracks_named(car.evidence))
    return believed(car, tracks=tracks, seed=seed, progress=progress, cancelled=cancelled).plausible(count)


def tracks_named(items: Iterable[Item]) -> Sequence[str]:
    """Return the tracks whose corners items name."""
    return sorted({item.track for item in items if not isinstance(item, Reading) and item.track})


def demo_tracks(names: Sequence[str]) -> dict[str, Track]:
    """Return those demo tracks that are named."""
    if not names:
        return {}
    from fourpatch.track.demo import demo_track, demo_track_names

    return {name: demo_track(name) for name in names if name in demo_track_names()}
