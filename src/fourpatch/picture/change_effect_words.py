"""What laps tell of a change, in sentences: the command line and the app both show these."""

from collections.abc import Iterator, Sequence

from fourpatch.advice.change_effect import (
    CONFIDENCE,
    MOST_MORE,
    ChangeEffect,
    PartEffect,
    RunDriven,
    Spoiled,
)
from fourpatch.picture.shown import lap_time_text, rounded

_VERDICTS = {
    "quicker": "quicker",
    "slower": "slower",
    "alike": "no difference that matters",
    "open": "not told",
}

_NAMED = 4
"""Parts that a sentence names."""


def effect_sentences(found: ChangeEffect) -> Iterator[str]:
    """Yield the answer, and what to do next if it is open."""
    yield _answer(found)
    if found.lap.verdict == "open":
        yield _to_settle(found)
    if found.back == "no" and found.allowance > 0.0:
        yield (
            f"You did not go back to {found.before}, so what the track did meanwhile cannot be told from the "
            f"change; {found.allowance:.2f} s either way is allowed for it. Drive {found.before} once more."
        )


def _answer(found: ChangeEffect) -> str:
    lap, after, before = found.lap, found.after, found.before
    where = _where(found)
    if lap.verdict == "alike":
        return f"No difference that matters between {before} and {after}: {_at_most(lap)} a lap.{where}"
    if lap.verdict == "open":
        return (
            f"Not settled: {after} may be anything from {_amount(-lap.low, lap)} s quicker to "
            f"{_amount(lap.high, lap)} s slower a lap than {before}.{where}"
        )
    return f"{after} is probably {_between(lap)} a lap {lap.verdict} than {before}{where or '.'}"


def _where(found: ChangeEffect) -> str:
    """Return where it is, as the end of a sentence, or as one if the lap itself says nothing."""
    told = [one for one in found.parts if one.verdict in ("quicker", "slower")]
    if not found.parts:
        return ""
    if found.lap.verdict in ("quicker", "slower"):
        with_it = [one for one in told if one.verdict == found.lap.verdict]
        against = [one for one in told if one.verdict != found.lap.verdict]
        first = f", {_places(with_it)}" if with_it else ""
        other = f", but {_places_said(against)}" if against else ""
        rest = "" if len(told) == len(found.parts) else "; nothing to see elsewhere"
        if told:
            return f"{first}{other}{rest}."
        likely = [one for one in found.parts if one.low > 0.0 or one.high < 0.0]
        return f"; it may be {_places(likely)}." if likely else "; no single part of the lap shows it."
    return f" But it is {_places_said(told)}." if told else " Nor does any part of the lap show one."


def _places(parts: Sequence[PartEffect]) -> str:
    named = [_place(one) for one in _largest(parts)]
    more = f" and {len(parts) - len(named)} more parts" if len(parts) > len(named) else ""
    return f"in {' and '.join([', '.join(named[:-1]), named[-1]] if len(named) > 1 else named)}{more}"


def _places_said(parts: Sequence[PartEffect]) -> str:
    return ", ".join(f"{_between(one)} {one.verdict} in {_place(one)}" for one in _largest(parts))


def _largest(parts: Sequence[PartEffect]) -> list[PartEffect]:
    return sorted(parts, key=lambda one: -abs(one.change))[:_NAMED]


def _place(part: PartEffect) -> str:
    kinds = ("slow corner", "medium corner", "fast corner")
    return f"the {part.name}" if part.name.startswith(kinds) else part.name


def _between(part: PartEffect) -> str:
    """Return an interval that does not hold 0: ``0.2 to 0.4 s``."""
    near, far = sorted((abs(part.low), abs(part.high)))
    return f"{_amount(near, part)} to {_amount(far, part)} s"


def _amount(seconds: float, part: PartEffect) -> str:
    """Write a time to as many decimals as its interval is worth."""
    width = part.high - part.low
    near = min(abs(part.low), abs(part.high))
    return rounded(seconds, 1 if width >= 0.2 and near >= 0.1 else 2 if width >= 0.02 else 3)


def _at_most(part: PartEffect) -> str:
    return f"at most {_amount(max(abs(part.low), abs(part.high)), part)} s"


def _to_settle(found: ChangeEffect) -> str:
    if not found.more:
        return (
            f"{MOST_MORE} more laps would tell {found.finest:.2f} s, and it looks smaller than that: judge "
            "by what the driver feels, or try a larger change."
        )
    more = found.more[0]
    return (
        f"If it really is {more.tells:.2f} s, {more.laps} more laps would tell it with 80 % chance: "
        f"{runs_text(more.runs)}."
    )


def runs_text(runs: Sequence[RunDriven]) -> str:
    """Return runs in their order: ``A 5, B 5, A 5``."""
    return ", ".join(f"{one.setup} {one.laps}" for one in runs)


def expectation_sentence(
    found: ChangeEffect, *, effect: float, computed_by: str, timed: str, on_a_track: bool
) -> str:
    """Return what was computed beside what was observed.

    Parameters
    ----------
    effect, computed_by, timed : as of `advice.trial_plan.SessionPlan`. [s]
    on_a_track : whether it is of a lap, and not of the standard corners.
    """
    way = "quicker" if effect < 0.0 else "slower"
    nothing = abs(effect) < 0.0005
    said = "no difference" if nothing else f"{abs(effect):.3f} s {way}"
    computed = f"Computed ({computed_by}): {said} on {timed}."
    if not on_a_track:
        if found.lap.verdict not in ("quicker", "slower") or nothing:
            return f"{computed} That is no lap time: with the track named it can be compared."
        agrees = "same way" if way == found.lap.verdict else "other way"
        return f"{computed} That is no lap time, but it points the {agrees} as the laps do."
    if found.lap.low <= effect <= found.lap.high:
        sure = ", which leave much open" if found.lap.verdict == "open" else ""
        return f"{computed} The laps agree with it{sure}."
    return (
        f"{computed} The laps say otherwise: what they saw is not what this car's description says. Look for "
        "what else changed, or for a number of the car that is not so."
    )


def effect_row(one: PartEffect) -> tuple[str, ...]:
    """Return the cells of a table's row under `EFFECT_HEADS`."""
    numbers = (rounded(number, 3, signed=True) for number in (one.change, one.low, one.high))
    return one.name, *numbers, rounded(one.scatter, 3), _VERDICTS[one.verdict]


EFFECT_HEADS = ("of", "change [s]", "from [s]", "to [s]", "one time scatters [s]", "")


def effect_details(found: ChangeEffect) -> Iterator[str]:
    """Yield what the answer rests on."""
    lap = found.lap
    yield (
        f"Driven: {runs_text(found.runs)}; usual lap with {found.before} {lap_time_text(found.usual)}, one "
        f"lap scatters by {lap.scatter:.2f} s. Change {rounded(lap.change, 3, signed=True)} s, between "
        f"{rounded(lap.low, 3, signed=True)} and {rounded(lap.high, 3, signed=True)} s in "
        f"{100.0 * CONFIDENCE:.0f} of 100 such days."
    )
    if found.trends:
        rates = "; ".join(f"{rounded(one.rate, 3, signed=True)} s {one.name}" for one in found.trends)
        yield f"Taken off as a straight trend: {rates}."
    if found.marked:
        yield f"Left out as you marked them: {found.marked}."
    if found.spoiled:
        yield f"Far from the others, so they count little or nothing: {'; '.join(map(_lap, found.spoiled))}."


def _lap(one: Spoiled) -> str:
    way = "slower" if one.off > 0.0 else "quicker"
    return f"run {one.run}, lap {one.lap} ({lap_time_text(one.time)}, {abs(one.off):.1f} s {way})"
