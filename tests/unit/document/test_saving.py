"""A file is written whole or not at all: on a full disk what stood there stands there still."""

import signal
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from matplotlib.figure import Figure

from fourpatch.document.saving import whole_file, write_texts
from fourpatch.errors import FileError
from fourpatch.picture.sheet import save
from fourpatch.runs.history import write_history

resource = pytest.importorskip("resource", reason="no limit on the size of a file can be set here")

ROOM = 2000
"""What the disk still takes of a file. [byte]"""


@pytest.fixture
def full_disk() -> Iterator[None]:
    """A disk that takes no more than a little."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    handler = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (ROOM, before[1]))
    yield
    resource.setrlimit(resource.RLIMIT_FSIZE, before)
    signal.signal(signal.SIGXFSZ, handler)


def history(path: Path) -> None:
    """Write a history."""
    time = np.linspace(0.0, 10.0, 2000)
    speed = xr.DataArray(time[None], dims=("setup", "time"), attrs={"units": "m/s"})
    along = xr.DataArray(time, dims="time", attrs={"units": "s"})
    write_history(xr.Dataset({"speed": speed}, coords={"time": along, "setup": ["base"]}), path)


def figure(path: Path) -> None:
    """Write a figure."""
    drawn = Figure()
    drawn.add_subplot().plot(np.random.default_rng(1).normal(size=2000))
    save(drawn, path)


def texts(path: Path) -> None:
    """Write texts."""
    write_texts({path: "x" * 10_000})


WRITERS: list[tuple[Callable[[Path], None], str]] = [
    (history, "a.csv"),
    (history, "a.nc"),
    (figure, "a.svg"),
    (figure, "a.png"),
    (figure, "a.pdf"),
    (texts, "a.toml"),
]


@pytest.mark.parametrize(("write", "name"), WRITERS)
def test_on_a_full_disk_what_was_there_is_there(
    tmp_path: Path, full_disk: None, write: Callable[[Path], None], name: str
) -> None:
    path = tmp_path / name
    path.write_bytes(b"of last week")
    with pytest.raises(FileError, match="cannot be written"):
        write(path)
    assert path.read_bytes() == b"of last week"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize(("write", "name"), WRITERS)
def test_with_room_it_is_written(tmp_path: Path, write: Callable[[Path], None], name: str) -> None:
    write(tmp_path / name)
    assert (tmp_path / name).stat().st_size > ROOM
    assert list(tmp_path.iterdir()) == [tmp_path / name]


def test_a_link_goes_on_leading_to_the_file(tmp_path: Path) -> None:
    (tmp_path / "there").mkdir()
    real, link = tmp_path / "there" / "a.csv", tmp_path / "a.csv"
    real.write_bytes(b"old")
    link.symlink_to(real)
    with whole_file(link) as unfinished:
        unfinished.write_bytes(b"new")
    assert link.is_symlink()
    assert real.read_bytes() == b"new"
