"""An event as a film: what is shown is what was computed."""

from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from numpy.testing import assert_allclose

import fourpatch as fp
from fourpatch.cli.film import RATE
from fourpatch.errors import EventError, FileError
from fourpatch.face.filmed_event import event_film
from fourpatch.picture.event_film import EventFilm
from fourpatch.picture.film import save_film
from fourpatch.picture.moving_sheet import HEIGHT, WIDTH


@pytest.fixture(scope="module")
def film() -> EventFilm:
    car = fp.car("gt")
    return event_film([car, car.turn(front_bar=-3)], ["A", "B (front bar=-3)"], "step-steer")


def test_frames_are_as_many_and_large_as_asked_and_move(film: EventFilm) -> None:
    frames = list(film.frames(start=0.4, seconds=0.2, rate=RATE))
    assert [one.shape for one in frames] == [(HEIGHT, WIDTH, 3)] * 5
    assert np.abs(frames[0].astype(float) - frames[-1]).mean() > 0.05


def test_the_way_from_above_is_the_integral_of_speed_and_turning(film: EventFilm) -> None:
    run = film._runs[0]
    x, y, heading = run.plan()
    # Length of the way is the speed's integral; 2 ms steps.
    assert_allclose(
        np.hypot(np.diff(x), np.diff(y)).sum(), np.trapezoid(run.row("speed"), run.time), rtol=2e-3
    )
    assert_allclose(heading[-1], np.trapezoid(run.row("yaw_rate"), run.time), rtol=1e-2)


def test_a_still_is_drawn_as_vectors(film: EventFilm, tmp_path: Path) -> None:
    path = tmp_path / "step.svg"
    save_film(film.frames(start=0.5, seconds=0.1, rate=RATE), path, of=film, rate=RATE)
    drawn = ElementTree.parse(path).getroot()
    assert drawn.tag.endswith("svg")
    # 12.8 x 7.2 inches of 72 points.
    assert drawn.get("viewBox") == "0 0 921.6 518.4"
    # The film goes on as before.
    assert_allclose(*(next(film.frames(start=0.5, seconds=0.1, rate=RATE)) for _ in range(2)))


def test_what_is_no_event_or_does_not_move_is_refused() -> None:
    car = fp.car("gt")
    with pytest.raises(FileError, match="kerb-strike"):
        event_film([car], ["A"], "loop")
    with pytest.raises(FileError, match="write an event file"):
        event_film([car], ["A"], "measured-road")
    with pytest.raises(EventError, match="nothing moves"):
        event_film([car], ["A"], "steady-circle")
