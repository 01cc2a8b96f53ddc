"""What a driver reads first of a cure: what to turn, what will be felt, what it costs, how sure."""

from collections.abc import Iterator, Sequence

from fourpatch.advice.because import step_words
from fourpatch.advice.change_set import ChangeSet
from fourpatch.advice.cure import Cure
from fourpatch.advice.draws import Sureness
from fourpatch.advice.drive_check import DriveNumber
from fourpatch.advice.guard import Guard
from fourpatch.picture.base_words import listed
from fourpatch.picture.cure_words import NO_LEVER, NO_SET, unit_text, value_text
from fourpatch.picture.first_answer import MANY_CARS, MOST_CARS, FirstAnswer, Grade
from fourpatch.picture.first_change_words import TOLD, look_for
from fourpatch.picture.shown import measure_of, pretty

_UNFELT = 0.1  # share of what is tolerated below which a side effect is not named


def first_of_cure(
    found: Cure,
    *,
    drive: Sequence[DriveNumber] | None = None,
    sure: Sureness | None = None,
    complete: bool = False,
) -> FirstAnswer | None:
    """Return what a driver reads first; None where only a ranking is known.

    Parameters
    ----------
    drive : what the drive says of every set; None if it was not asked.
    sure : what plausible cars say; None if none was asked.
    complete : whether nothing more will be known.
    """
    if found.first or (found.stopped and not found.sets):
        return None
    if not found.sets:
        sentence = NO_SET if found.levers else NO_LEVER
        return FirstAnswer(sentence=sentence, grade="open", because="")
    one = found.sets[0]
    grade, because = _grade(found, drive, sure) if complete else ("computing", "")
    return FirstAnswer(
        sentence=f"{_turned(found, one)}: {_felt(found, one)}; {_cost(one)}.", grade=grade, because=because
    )


def _turned(found: Cure, one: ChangeSet) -> str:
    adjusters = found.table.adjusters
    return f"Turn the {listed([step_words(adjusters[k], found.setup, steps) for k, steps in one.changes])}"


def _felt(found: Cure, one: ChangeSet) -> str:
    said = []
    for target, after, share in zip(found.targets, one.confirmed, one.progress, strict=True):
        numbers = (
            f"{value_text(found.present(target), target)} to {value_text(after, target)} {unit_text(target)}"
        )
        if share >= TOLD:
            said.append(f"{look_for(target.complaint)} ({numbers})")
        else:
            said.append(f"of {target.complaint.text()} it takes hardly anything ({numbers})")
    return "; ".join(said)


def _cost(one: ChangeSet) -> str:
    guard, worse = one.worse[0] if one.worse else (None, 0.0)
    if guard is None or worse < _UNFELT * guard.tolerance:
        return "it costs nothing that you would notice"
    over = "more than a cure should cost" if worse > guard.tolerance else "within what a cure may cost"
    return f"the price: {_guarded(guard, worse)}, {over}"


def _guarded(guard: Guard, worse: float) -> str:
    unit = "points" if guard.unit == "points" else pretty(measure_of(guard.unit).shown)
    size = worse if guard.unit == "points" else worse / measure_of(guard.unit).scale
    amount = f"{size:.2g} {unit}"
    what, *where = guard.label.split(", ")
    if what == "balance":
        phase, place = where
        when = {"mid": "at mid-corner", "braking": "under braking"}.get(phase, f"on {phase}")
        return f"{when} of the {place} {amount} further from neutral"
    return f"{what} ({', '.join(where)}) {amount} {'less' if guard.harm == 'fall' else 'more'}"


def _grade(found: Cure, drive: Sequence[DriveNumber] | None, sure: Sureness | None) -> tuple[Grade, str]:
    """Return the mark and what it rests on: the drive, the plausible cars, and whether the model shows it."""
    asked = [one.agrees[0] for one in drive or () if one.agrees[0] is not None]
    driven = (
        "rig and drive disagree"
        if False in asked
        else "rig and drive agree"
        if asked
        else "the drive has no number for it"
    )
    cars, share = _cars(sure)
    unseen = [target.complaint.text() for target in found.targets if found.shows(target) is False]
    said = [driven, cars, *_shown(found, sure)]
    because = f"{'; '.join(said)}."
    if False in asked:
        return "disputed", because
    if unseen or (share is not None and share < MANY_CARS):
        return "open", because
    if asked and share is not None and share >= MOST_CARS:
        return "sure", because
    return ("likely" if asked or share is not None else "open"), because


def _cars(sure: Sureness | None) -> tuple[str, float | None]:
    if sure is None or not sure.asked:
        return "how unsure this car's own numbers are is not known", None
    holds = sure.set_holds[0]
    return f"it goes the right way in {holds} of {sure.asked} plausible cars", holds / sure.asked


def _shown(found: Cure, sure: Sureness | None) -> Iterator[str]:
    """Yield of each complaint how sure it is that the car does it."""
    counts = sure.shown if sure is not None and sure.asked and sure.shown else (None,) * len(found.targets)
    for target, count in zip(found.targets, counts, strict=True):
        said, shows = target.complaint.text(), found.shows(target)
        if shows is False:
            others = "" if count is None or sure is None else f", {count} of {sure.asked} plausible cars do"
            yield f"the model does not show {said}{others}"
        elif shows and count is not None and sure is not None and count < MOST_CARS * sure.asked:
            yield f"{said} shows in {count} of {sure.asked} plausible cars"
