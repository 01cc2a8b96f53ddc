"""What the drive says of a base set-up before it is shown, and how far it is taken back for that."""

from dataclasses import dataclass, replace

from fourpatch.advice.base_lap import Course, Laps, standard_course
from fourpatch.advice.occasion import Occasion
from fourpatch.advice.turns_held import TurnCheck, TurnHeld, away, half_back
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.errors import CarError, EventError, SolveError, TrackError
from fourpatch.long_work import Cancelled, Progress, never, unwatched
from fourpatch.track.track import Track

_TRIES = 3  # laps driven, of a set-up taken back by halves, before the given one is shown

_STOPPED = "it was stopped before the laps were driven"


@dataclass(frozen=True, slots=True, kw_only=True)
class DriveWord:
    """What the drive says of a set-up beside the one that was given."""

    turns: tuple[TurnHeld, ...]
    """Steady turns of the corners it was made for."""
    not_asked: tuple[str, ...]
    """Corners in which the given car finds no steady turn to ask in."""
    laps: Laps | None
    """None if it was stopped before they were driven, or the course cannot be laid."""
    why_no_laps: str
    """Empty if they were driven."""
    unstable: tuple[str, ...]
    """Corners in which the search's own set-up would have swung round."""
    slower: bool
    """Whether the search's set-up, borne in the turns, was slower on the course or not driven at all."""
    put_back: tuple[str, ...]
    """Adjusters that were taken back towards the given set-up for either."""
    given_back: bool
    """Whether nothing on the way was borne: the set-up is the given one."""


def borne(
    car: Car,
    given: Setup,
    found: Setup,
    occasion: Occasion,
    check: TurnCheck,
    *,
    track: Track | None = None,
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> tuple[Setup, DriveWord]:
    """Return the set-up nearest to one found that the drive bears, and what the drive says of it.

    Parameters
    ----------
    given : what it is compared with.
    found : of the search on the rig.
    check : of the occasion and the given set-up.
    track : to drive a lap of; a road of the occasion's corners if left out.
    progress, cancelled : as `long_work`; stopped, the steady turns are asked and the laps left out.

    Notes
    -----
    First the steady turns (`TurnCheck`), then the lap (`Course`): slower than as given beyond what can be
    told apart, or refused, every adjuster is taken half its way back, and both are asked again. After three
    such the given set-up is returned, which is never worse than itself.
    """
    progress(0.0, "steady turns by the drive")
    unstable = _unborne(check.held(found))
    setup = check.brought_back(found, given, car.adjusters)
    course, why = (None, _STOPPED) if cancelled() else _course(car, given, occasion, track)
    laps, slower = None, False
    for attempt in range(_TRIES if course else 0):
        assert course is not None
        if cancelled():
            laps, why = None, _STOPPED
            break
        progress((1.0 + attempt) / (1.0 + _TRIES), f"driven lap, {course.name}")
        here = away(setup, given, car.adjusters)
        laps = course.beside(apply_setup(car, setup)) if here else course.unchanged()
        if not laps.slower or not here:
            break
        slower = True
        back = half_back(setup, given, car.adjusters) if attempt + 1 < _TRIES else given
        setup = check.brought_back(back, given, car.adjusters)
    if course and laps and laps.slower:
        setup, laps = given, course.unchanged()
    return setup, DriveWord(
        turns=check.held(setup),
        not_asked=check.not_asked,
        laps=laps,
        why_no_laps=why,
        unstable=unstable,
        slower=slower,
        put_back=tuple(one.name for one in away(found, setup, car.adjusters)),
        given_back=not away(setup, given, car.adjusters),
    )


def all_given(car: Car, given: Setup, found: Setup, check: TurnCheck, word: DriveWord) -> DriveWord:
    """Return what the drive says of the given set-up, after one found was taken back to no avail."""
    return replace(
        word,
        turns=check.held(given),
        laps=word.laps and replace(word.laps, found=word.laps.given),
        put_back=tuple(one.name for one in away(found, given, car.adjusters)),
        given_back=True,
    )


def _course(car: Car, given: Setup, occasion: Occasion, track: Track | None) -> tuple[Course | None, str]:
    standing = apply_setup(car, given)
    try:
        return Course(standing, track or standard_course(occasion, standing)), ""
    except (CarError, EventError, SolveError, TrackError) as error:
        return None, str(error)


def _unborne(turns: tuple[TurnHeld, ...]) -> tuple[str, ...]:
    """Corners in which a set-up swings round, or is thrown out, where the given one does not."""
    names = [one.corner for one in turns if one.found is None or one.found > max(one.given, 0.0)]
    return tuple(dict.fromkeys(names))
