"""A track told in words: read, laid, closed by what was least sure, and refused in words."""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.errors import FieldsError, TrackError
from fourpatch.track.builder import StraightSection
from fourpatch.track.checks import track_faults
from fourpatch.track.sketch import (
    GEAR_SPEEDS,
    LATERAL,
    OPENING,
    TURNS,
    Bend,
    Straight,
    lay_sketch,
    read_sketch,
    sketched_track,
)

LAP = (
    "straight 400 m; right, second gear, long, opening; medium straight; left, fourth gear, 45 deg; "
    "straight 150 m; right, 60 km/h, 120 deg; long straight; right, third gear; short straight; "
    "right, 40 m, 60 deg"
)


@pytest.mark.parametrize(
    ("text", "radius", "angle", "shape", "told"),
    [
        ("left, 60 m, 90 deg", 60.0, 90.0, "even", True),
        ("Right R45 75° tightening", 45.0, 75.0, "closing", True),
        (
            "a long right corner in second gear, opening",
            GEAR_SPEEDS[2] ** 2 / LATERAL,
            140.0,
            "opening",
            False,
        ),
        ("left hairpin, 2nd gear", GEAR_SPEEDS[2] ** 2 / LATERAL, 180.0, "even", False),
        ("left, gear 4, short", GEAR_SPEEDS[4] ** 2 / LATERAL, 45.0, "even", False),
        ("left; # what is known of it", GEAR_SPEEDS[3] ** 2 / LATERAL, 90.0, "even", False),
        ("left at about 90 km/h", 25.0**2 / LATERAL, 90.0, "even", False),
        ("left 200 ft, 30 degrees", 60.96, 30.0, "even", True),
        ("left 62,5 m 30 deg", 62.5, 30.0, "even", True),
    ],
)
def test_a_corner_is_read(text: str, radius: float, angle: float, shape: str, told: bool) -> None:
    (bend,) = read_sketch(text)
    assert isinstance(bend, Bend)
    assert_allclose(bend.radius, radius, rtol=1e-12)
    assert_allclose(math.degrees(bend.angle), angle, rtol=1e-12)
    assert (bend.shape, bend.told_angle) == (shape, told)


def test_a_straight_is_read() -> None:
    assert read_sketch("straight 0.5 km\nlong straight") == (
        Straight(length=500.0),
        Straight(length=500.0, told=False),
    )


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("rigth, second gear", "Did you mean right"),
        ("second gear, long", "neither straight nor left nor right"),
        ("left right 40 m", "both left and right"),
        ("left 90", "Write 90 m if a length, 90 deg if an angle"),
        ("left 40 m, 50 m", "two lengths"),
        ("left, ninth gear", '"ninth" is no word'),
        ("left, gear 9", "gear 9 is not known; there are 1 to 6"),
        ("left, 1 m", "outside 4 to 5000 m"),
        ("left, 400 deg", "outside 5 to 330 deg"),
        ("straight left 40 m", "says its length alone"),
        ("straight 400 m, second gear", "says its length alone"),
        (" # nothing", "is empty"),
    ],
)
def test_what_cannot_be_read_is_said_by_piece(text: str, said: str) -> None:
    with pytest.raises(FieldsError) as refused:
        read_sketch(f"straight 300 m; {text}" if "nothing" not in text else text)
    ((field, fault),) = refused.value.fields.items()
    assert said in fault
    assert field == ("sketch" if "nothing" in text else "piece 2")


@pytest.mark.parametrize("shape", ["even", "opening", "closing"])
@pytest.mark.parametrize("angle", [20.0, 90.0, 180.0, 300.0])
def test_a_corner_turns_by_its_angle_and_has_its_radii(shape: str, angle: float) -> None:
    laid = lay_sketch(
        read_sketch(f"straight 50 m; left, 40 m, {angle} deg, {shape}; straight 50 m"), closed=False
    )
    line = laid.line.draw().line
    # eased by clothoids, whose turning is the mean curvature times their length: exact but for rounding
    assert_allclose(math.degrees(line.heading_change), angle, rtol=1e-9)
    at = np.linspace(0.0, line.length, 4001)
    curvature = line.at(at).curvature
    assert_allclose(curvature.max(), 1.0 / 40.0, rtol=1e-9)
    weight = np.average(at[curvature > 0.0], weights=curvature[curvature > 0.0]) - 0.5 * line.length
    # The tight half of an opening corner is the first.
    assert np.sign(np.round(weight, 6)) == {"even": 0.0, "opening": -1.0, "closing": 1.0}[shape]
    if shape != "even":
        assert np.any(np.isclose(curvature, 1.0 / (OPENING * 40.0), rtol=1e-9))


def test_a_lap_closes_and_what_was_told_gives_way_least() -> None:
    pieces = read_sketch(LAP)
    laid = lay_sketch(pieces)
    track = sketched_track(laid, name="Told", width=10.0)
    assert track_faults(track) == []
    drawn = laid.line.draw().line
    ends = drawn.at(np.array([0.0, drawn.length - 1e-9]))
    assert abs(complex(*np.diff(ends.x), *np.diff(ends.y))) < 1e-5
    straights = [one.length for one in laid.line.sections if isinstance(one, StraightSection)]
    wanted = [one for one in pieces if isinstance(one, Straight)]
    off = [abs(math.log(one / piece.length)) for one, piece in zip(straights, wanted, strict=True)]
    told = [change for change, piece in zip(off, wanted, strict=True) if piece.told]
    guessed = [change for change, piece in zip(off, wanted, strict=True) if not piece.told]
    assert max(told) < max(guessed)
    assert any(one.startswith("Straight 2 is") for one in laid.changes)
    assert laid.estimates[0].startswith("Corner 1: long, so 140 deg; gear 2, so 79 km/h")


def test_left_and_right_exchanged_is_the_mirror_image() -> None:
    swapped = LAP.replace("left", "?").replace("right", "left").replace("?", "right")
    here, there = (lay_sketch(read_sketch(text)).line.mirrored().draw().line for text in (LAP, swapped))
    at = np.linspace(0.0, here.length, 200)
    # The least change is unique; lengths are rounded to 1 cm on the way.
    assert_allclose(here.at(at).x, there.at(at).x, atol=0.1)
    assert_allclose(here.at(at).y, -there.at(at).y, atol=0.1)


def test_a_lap_that_closes_is_left_as_it_is() -> None:
    laid = lay_sketch(read_sketch("straight 500 m; left hairpin, 40 m; straight 500 m; left hairpin, 40 m"))
    assert laid.changes == ()
    assert_allclose(laid.line.sections[0].length, 500.0, atol=0.02)  # type: ignore[union-attr]


def test_a_lap_that_cannot_close_says_by_how_much() -> None:
    with pytest.raises(TrackError, match="turn by 0 deg to the right in all, where a lap turns by 360"):
        lay_sketch(read_sketch("straight 400 m; right; left"))
    with pytest.raises(TrackError, match="Look for a corner to the wrong side"):
        lay_sketch(read_sketch("straight 5 km; right, 30 m, 180 deg; straight 20 m; right, 30 m, 180 deg"))


def test_every_word_of_a_turn_is_understood() -> None:
    for word, angle in TURNS.items():
        (bend,) = read_sketch(f"left {word}")
        assert isinstance(bend, Bend)
        assert bend.angle == angle
