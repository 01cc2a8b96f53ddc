"""Films decoded again: size, length, frames, and what is seen in them."""

import re
import subprocess
from pathlib import Path

import imageio_ffmpeg
import numpy as np
import pytest
from numpy.testing import assert_allclose
from PIL import Image

import fourpatch as fp
from fourpatch.cli.film import RATE
from fourpatch.errors import FileError
from fourpatch.picture.film import save_film
from fourpatch.picture.lap_film import Filmed, LapFilm
from fourpatch.picture.moving_sheet import HEIGHT, WIDTH


@pytest.fixture(scope="module")
def laps() -> tuple[Filmed, Filmed]:
    """A car as it is, and with a wing that costs it time."""
    car = fp.car("gt")
    slow = car.turn(fuel=2)
    track = fp.track("chicanes")
    return Filmed(name="A", study=car.lap(track).study), Filmed(name="B", study=slow.lap(track).study)


@pytest.fixture(scope="module")
def film(laps: tuple[Filmed, Filmed]) -> LapFilm:
    return LapFilm(laps, title="A car", source="computed")


def decoded(path: Path) -> tuple[str, list[np.ndarray]]:
    """Return what the decoder says of a film, and its frames."""
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-i", str(path), "-f", "rawvideo", "-pix_fmt", "rgb24", "-"]
    done = subprocess.run(command, capture_output=True, check=True)
    frames = np.frombuffer(done.stdout, dtype=np.uint8).reshape(-1, HEIGHT, WIDTH, 3)
    return next(line for line in done.stderr.decode().splitlines() if "Video:" in line), list(frames)


@pytest.mark.parametrize(("ending", "codec"), [(".mp4", "h264"), (".webm", "vp9")])
def test_a_film_is_as_long_and_large_as_asked(film: LapFilm, tmp_path: Path, ending: str, codec: str) -> None:
    path = tmp_path / f"lap{ending}"
    save_film(film.frames(start=5.0, seconds=0.8, rate=RATE), path, of=film, rate=RATE)
    about, frames = decoded(path)
    assert re.search(rf"Video: {codec}\b.*\b{WIDTH}x{HEIGHT}\b.*\b{RATE} fps", about), about
    assert len(frames) == 20
    made = list(film.frames(start=5.0, seconds=0.8, rate=RATE))
    # What encoders lose is mostly at edges of letters: a few of 255 on the mean.
    assert np.abs(frames[-1].astype(float) - made[-1]).mean() < 3.0
    assert np.abs(made[0].astype(float) - made[-1]).mean() > 0.05  # it moves


def test_a_gif_has_every_other_frame_and_a_still_the_first(film: LapFilm, tmp_path: Path) -> None:
    save_film(film.frames(start=0.0, seconds=0.4, rate=RATE), tmp_path / "lap.gif", of=film, rate=RATE)
    with Image.open(tmp_path / "lap.gif") as gif:
        assert (gif.size, gif.n_frames, gif.info["duration"]) == ((WIDTH, HEIGHT), 5, 80)  # type: ignore[attr-defined]
    save_film(film.frames(start=0.0, seconds=0.4, rate=RATE), tmp_path / "lap.png", of=film, rate=RATE)
    with Image.open(tmp_path / "lap.png") as still:
        assert_allclose(np.asarray(still), next(film.frames(start=0.0, seconds=0.4, rate=RATE)))


def test_the_gap_at_the_end_is_the_difference_of_lap_times(
    film: LapFilm, laps: tuple[Filmed, Filmed]
) -> None:
    a, b = (one.study.profile.time[-1] for one in laps)
    for alike in ("time", "place"):
        times = film._times(np.array([a]), alike)  # type: ignore[arg-type]
        rows = [one.at(time) for one, time in zip(laps, times, strict=True)]
        assert_allclose(film._gaps(rows, times), b - a, atol=1e-9)  # rounding
    assert b > a


def test_at_the_same_place_both_are_there(film: LapFilm, laps: tuple[Filmed, Filmed]) -> None:
    times = film._times(np.linspace(0.0, 60.0, 50), "place")
    (xa, ya, *_), (xb, yb, *_) = (one.at(time) for one, time in zip(laps, times, strict=True))
    # One line for both; between its places, 1 to 2 m apart, each is read by its own time.
    assert_allclose(np.hypot(xa - xb, ya - yb), 0.0, atol=0.1)


def test_slow_motion_is_the_same_way_in_more_frames(film: LapFilm) -> None:
    quick = list(film.frames(start=3.0, seconds=0.2, rate=RATE))
    slow = list(film.frames(start=3.0, seconds=0.4, rate=RATE, slow=2.0))
    assert len(slow) == 2 * len(quick)
    assert_allclose(slow[4], quick[2])


def test_another_kind_of_file_is_refused(film: LapFilm, tmp_path: Path) -> None:
    with pytest.raises(FileError, match=r"\.mp4, \.webm or \.gif"):
        save_film(film.frames(start=0.0, seconds=0.1, rate=RATE), tmp_path / "lap.avi", of=film, rate=RATE)
    with pytest.raises(FileError, match="cannot be written"):
        save_film(
            film.frames(start=0.0, seconds=0.1, rate=RATE), tmp_path / "none" / "lap.gif", of=film, rate=RATE
        )
