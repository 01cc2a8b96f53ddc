"""Two tracks of our own to try things on. Both are invented; no real circuit was measured or copied."""

from importlib.resources import as_file, files

from fourpatch.errors import TrackError
from fourpatch.track.files import load_track
from fourpatch.track.track import Track


def demo_track_names() -> tuple[str, ...]:
    """Return the names of the demo tracks.

    Examples
    --------
    >>> demo_track_names()
    ('chicanes', 'long-corners')
    """
    return tuple(
        sorted(entry.name[:-5] for entry in files(__name__).iterdir() if entry.name.endswith(".toml"))
    )


def demo_track(name: str) -> Track:
    """Return a fresh demo track.

    Raises
    ------
    TrackError
        If there is none of that name.

    Examples
    --------
    >>> demo_track("long-corners").name
    'Demo long corners'
    """
    if name not in demo_track_names():
        raise TrackError(f'there is no demo track "{name}"; there are {", ".join(demo_track_names())}.')
    with as_file(files(__name__) / f"{name}.toml") as path:
        return load_track(path)
