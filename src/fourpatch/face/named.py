"""Cars and tracks by name: those of the demo, or anybody's own from a file.

What reads a track is imported when one is asked for, so that who reads a car does not wait for it.
"""

import difflib
import os
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car, demo_names
from fourpatch.car.files import load_car
from fourpatch.errors import FileError

if TYPE_CHECKING:
    from fourpatch.track.track import Track

NamedT = TypeVar("NamedT")
Name = str | os.PathLike[str]


def car_by_name(name: Name) -> Car:
    """Return a demo car by its name, or a car from its file.

    Raises
    ------
    FileError
        If there is neither; as `load_car` for what is wrong in a file.
    """
    return _by_name(name, "car", demo_names(), demo_car, load_car)


def track_by_name(name: Name) -> "Track":
    """Return a demo track by its name, or a track from its file.

    Raises
    ------
    FileError
        If there is neither; as `load_track` for what is wrong in a file.
    """
    from fourpatch.track.demo import demo_track, demo_track_names
    from fourpatch.track.files import load_track

    return _by_name(name, "track", demo_track_names(), demo_track, load_track)


def _by_name(
    name: Name,
    what: str,
    demos: Sequence[str],
    demo: Callable[[str], NamedT],
    load: Callable[[Path], NamedT],
) -> NamedT:
    if isinstance(name, str) and name in demos:
        return demo(name)
    if Path(name).suffix or Path(name).exists():
        return load(Path(name))
    near = difflib.get_close_matches(str(name), demos, n=1)
    meant = f" Did you mean {near[0]}?" if near else ""
    raise FileError(
        f"{name}: there is no demo {what} of that name and no such file.{meant} Demo {what}s are "
        f"{', '.join(demos)}; a file is named with its ending, {name}.toml."
    )
