"""What cures a complaint: the whole answer, computed in one order for all who ask."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fourpatch.advice.because import Reason, reasons
from fourpatch.advice.change_set import ChangeSet
from fourpatch.advice.complaint_text import Reading
from fourpatch.advice.cure import Cure, cure, first_ranking
from fourpatch.advice.draws import Sureness
from fourpatch.advice.drive_check import DriveNumber, drive_check
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.errors import Stopped
from fourpatch.evidence.asked import asked_among_plausible
from fourpatch.face.cure_blocks import cure_blocks
from fourpatch.long_work import Cancelled, Progress, never, stretch, unwatched
from fourpatch.picture.blocks import plain
from fourpatch.picture.cure_first import first_of_cure
from fourpatch.picture.cure_words import changes_text
from fourpatch.picture.first_answer import FirstAnswer
from fourpatch.picture.page import blocks_html
from fourpatch.track.track import Track

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_RANKED, _DRIVEN = 0.6, 0.7  # shares of the work: adjusters ranked and sets found, why and the drive


@dataclass(frozen=True, slots=True, kw_only=True, repr=False, eq=False)
class Cured:
    """Everything that is said about a complaint, as far as it is known."""

    car: Car
    """As written."""
    setup: Setup
    reading: Reading
    cure: Cure
    reasons: Sequence[Reason] = ()
    """Of the first set."""
    drive: Sequence[DriveNumber] = ()
    """What the drive says of every set."""
    sureness: Sureness | None = None
    drawn: bool = False
    """Whether plausible cars were asked."""
    complete: bool = False
    """Whether nothing more is being computed."""
    cut_short: bool = False
    """Whether it was stopped before plausible cars said anything."""

    @property
    def sets(self) -> tuple[ChangeSet, ...]:
        """Changes to make together, best first; each holds its whole set-up."""
        return self.cure.sets

    @property
    def stopped(self) -> bool:
        """Whether something is missing because it was stopped."""
        return self.cure.stopped or self.cut_short or (self.sureness is not None and self.sureness.stopped)

    @property
    def first_read(self) -> FirstAnswer | None:
        """What a driver reads first; None before there are sets."""
        return first_of_cure(self.cure, drive=self.drive, sure=self.sureness, complete=self.complete)

    def plot(self) -> "Figure":
        """Draw what one step of each adjuster does for the complaint, and costs elsewhere."""
        from fourpatch.picture.cure import cure_figure

        return cure_figure(self.cure)

    def among_plausible(
        self, *, draws: int, seed: int, progress: Progress = unwatched, cancelled: Cancelled = never
    ) -> "Cured":
        """Return the same with how sure it is: in how many cars like this one it holds.

        Notes
        -----
        As `asked_among_plausible`.
        """
        sure = asked_among_plausible(
            self.car, self.setup, self.cure, draws=draws, seed=seed, progress=progress, cancelled=cancelled
        )
        return replace(self, sureness=sure, drawn=True)

    def __repr__(self) -> str:
        """Print short."""
        first = f"; first: {changes_text(self.cure, self.sets[0])}" if self.sets else ""
        return f'<what cures "{self.reading.typed}" on {self.car.name}, set-up {self.setup.name}{first}>'

    def __str__(self) -> str:
        """Write all of it."""
        return plain(list(cure_blocks(self)))

    def _repr_html_(self) -> str:
        return blocks_html(list(cure_blocks(self)))


def cured(
    car: Car,
    setup: Setup,
    reading: Reading,
    *,
    track: Track | None = None,
    wanted: float | None = None,
    good: Setup | None = None,
    draws: int = 0,
    seed: int = 1,
    show: Callable[[Cured], object] | None = None,
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> Cured:
    """Return what cures what was read of a complaint, why, and what the drive says of it.

    Parameters
    ----------
    car : as written.
    track, wanted, good, progress, cancelled : as `advice.cure.cure`; `wanted` of the only complaint.
    draws, seed : plausible cars that are asked how sure it is; as `Cured.among_plausible`.
    show : told what is known at every step, a first coarse ranking to begin with.

    Raises
    ------
    AdviceError, EventError, SolveError, TrackError
        If the complaint is beyond the model, or a run does not end in numbers.
    Stopped
        If it is cancelled before adjusters are ranked.
    """
    course = None
    if show is not None:
        first = first_ranking(car, setup, reading.complaints, track=track)
        course = first.course if track else None  # without one it holds what is complained of alone
        show(Cured(car=car, setup=setup, reading=reading, cure=first))
    found = cure(
        car,
        setup,
        reading.complaints,
        track=track,
        course=course,
        wanted=None if wanted is None else [wanted],
        good=good,
        progress=stretch(progress, 0.0, _RANKED),
        cancelled=cancelled,
    )
    answer = Cured(car=car, setup=setup, reading=reading, cure=found)
    if found.stopped:
        return replace(answer, complete=True)
    told = show or _untold
    told(answer)
    if cancelled():
        return replace(answer, complete=True, cut_short=True)
    progress(_RANKED, "why, and what the drive says")
    if found.sets:
        changed = [apply_setup(car, one.setup) for one in found.sets]
        answer = replace(
            answer,
            reasons=reasons(car, setup, found, found.sets[0]),
            drive=drive_check(apply_setup(car, setup), changed, found.targets, found.course, found.driven),
        )
        told(answer)
    if draws:
        watched = stretch(progress, _DRIVEN, 1.0)
        try:
            answer = answer.among_plausible(draws=draws, seed=seed, progress=watched, cancelled=cancelled)
        except Stopped:
            answer = replace(answer, cut_short=True)
    return replace(answer, complete=True)


def _untold(answer: Cured) -> None:
    """Tell nobody."""
