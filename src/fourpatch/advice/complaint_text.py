"""How a typed complaint is read.

A sentence is cut into clauses; each gives one complaint, or widens the one before ("pushes on entry and
mid").
"""

import difflib
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from fourpatch.advice.complaint import (
    Behaviour,
    Complaint,
    End,
    PhaseName,
    Place,
    Size,
    Window,
    numbered,
    refuse_contradictions,
)
from fourpatch.advice.complaint_words import (
    BEHAVIOURS,
    CUT,
    DENIAL,
    ENDS,
    EXAMPLES,
    MORE_WORDS,
    NUMBER_WORDS,
    NUMBERED,
    PHASES,
    PLACES,
    SAYS_LITTLE,
    SIZES,
    TURNING_IN,
    WINDOWS,
)
from fourpatch.errors import AdviceError

_MeaningT = TypeVar("_MeaningT", bound=str)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What was understood of a typed text."""

    typed: str
    complaints: tuple[Complaint, ...]
    unread: tuple[str, ...]
    """Words that mean nothing here."""
    denied: tuple[str, ...]
    """Clauses that say what the car does not do, left out."""


def read_complaint(typed: str) -> Reading:
    """Return what a typed sentence complains of.

    Raises
    ------
    AdviceError
        If no behaviour can be found in it, with the nearest readings to choose from; or if two of its
        complaints contradict each other.

    Examples
    --------
    >>> [one.text() for one in read_complaint("pushes on entry and loose on exit in slow corners").complaints]
    ['understeer on entry in slow corners', 'oversteer on exit in slow corners']
    """
    plain = _plain(typed)
    complaints: list[Complaint] = []
    unread: list[str] = []
    denied: list[str] = []
    pending: list[_Clause] = []
    for text in CUT.split(_corners_marked(plain)):
        if not text:
            continue
        clause = _read_clause(text)
        unread += clause.unread
        if clause.denied:
            denied.append(_MARK.sub(_spoken, text))
        elif clause.behaviours:
            # What was said before its behaviour ("in slow corners, on entry, it pushes") belongs to it.
            complaints += _complaints([*pending, clause])
            pending = []
        elif complaints:
            _widen(complaints, clause)
        else:
            pending.append(clause)
    complaints = list(dict.fromkeys(_place_shared(complaints)))
    if not complaints:
        raise AdviceError(_not_read(typed, plain))
    refuse_contradictions(complaints)
    return Reading(typed=typed, complaints=tuple(complaints), unread=tuple(unread), denied=tuple(denied))


@dataclass(frozen=True, slots=True)
class _Clause:
    behaviours: list[Behaviour]
    phases: list[PhaseName]
    window: Window
    places: list[Place]
    corners: tuple[int, ...]
    end: End
    size: Size
    unread: list[str]
    denied: bool


def _plain(typed: str) -> str:
    text = typed.lower().replace("\N{RIGHT SINGLE QUOTATION MARK}", "'").replace("_", " ")
    return re.sub(r"\s+", " ", text).strip()


_MARK = re.compile(r"@([\d_]+)")


def _corners_marked(text: str) -> str:
    """Put one mark for each list of corner numbers, so that its commas and its "and" do not cut it."""

    def mark(found: re.Match[str]) -> str:
        if found["ordinal"]:
            return f"@{NUMBER_WORDS.get(found['ordinal'], found['ordinal'])} "
        numbers: list[int] = []
        until = False
        for part in re.findall(r"\d+|to\b|through|-|[a-z]+", f"{found['first']} {found['more']}"):
            number = NUMBER_WORDS.get(part, part)
            if number.isdigit():
                numbers += range(numbers[-1] + 1, int(number)) if until and numbers else ()
                numbers.append(int(number))
            until = part in ("to", "through", "-") or (until and not number.isdigit())
        return f"@{'_'.join(map(str, sorted(set(numbers))))} "

    return NUMBERED.sub(mark, text)


def _spoken(mark: re.Match[str]) -> str:
    return numbered([int(number) for number in mark[1].split("_")])


def _read_clause(text: str) -> _Clause:
    corners = {int(number) for mark in _MARK.findall(text) for number in mark.split("_") if number}
    text = _MARK.sub(" ", re.sub(r"\b(into|out of) (the )?@", r"\1 corner @", text))
    rest = f" {text} "
    behaviours, rest = _take(BEHAVIOURS, rest)
    turning_in = bool(re.search(TURNING_IN, text))
    denied = bool(DENIAL.search(rest))
    # "high-speed" and "slow" before "mid", a place before a phase: "bumpy braking zones", "mid-speed".
    places, rest = _take(PLACES, rest)
    windows, rest = _take(WINDOWS, rest)
    phases, rest = _take(PHASES, rest)
    if turning_in and not phases:
        phases = ["entry"]
    sizes, rest = _take(SIZES, rest)
    ends, rest = _take(ENDS, rest)
    words = [word for word in re.findall(r"[a-z0-9'-]+", DENIAL.sub(" ", rest)) if word not in SAYS_LITTLE]
    return _Clause(
        behaviours=behaviours,
        phases=phases,
        window=windows[0] if windows else "",
        places=places,
        corners=tuple(sorted(corners)),
        end=ends[0] if ends else "",
        size=sizes[0] if sizes else "",
        unread=words,
        denied=denied,
    )


def _take(vocabulary: Sequence[tuple[_MeaningT, str]], text: str) -> tuple[list[_MeaningT], str]:
    """Return the meanings found, in the order of the text, and what is left of it."""
    found: list[tuple[int, _MeaningT]] = []
    for meaning, pattern in vocabulary:
        for match in re.finditer(rf"(?<![\w'-])(?:{pattern})(?![\w'])", text):
            if match.group().strip():
                found.append((match.start(), meaning))
        text = re.sub(rf"(?<![\w'-])(?:{pattern})(?![\w'])", lambda m: "\x00" * len(m.group()), text)
    return list(dict.fromkeys(meaning for _, meaning in sorted(found))), text.replace("\x00", " ")


def _complaints(clauses: Sequence[_Clause]) -> Iterator[Complaint]:
    """Yield one complaint for each behaviour, phase and place of clauses that belong together."""
    last = clauses[-1]
    phases: list[PhaseName] = [p for clause in clauses for p in clause.phases] or [""]
    places: list[Place] = [p for clause in clauses for p in clause.places] or [""]
    for behaviour in last.behaviours:
        for phase in phases:
            for place in places:
                yield Complaint(
                    behaviour=behaviour,
                    phase=phase,
                    window=next((c.window for c in clauses if c.window), ""),
                    place=place,
                    corners=next((c.corners for c in reversed(clauses) if c.corners), ()),
                    end=_end(behaviour, last.end),
                    size=next((c.size for c in clauses if c.size), ""),
                )


def _end(behaviour: Behaviour, end: End) -> End:
    return end if behaviour in ("hops", "bottoms", "floats", "nervous", "overheats") else ""


def _widen(complaints: list[Complaint], clause: _Clause) -> None:
    """Let a clause without a behaviour say more of the complaint before it."""
    last = complaints[-1]
    if not last.phase and len(clause.phases) == 1:
        complaints[-1] = replace(last, phase=clause.phases[0], window=clause.window or last.window)
    else:
        complaints += [replace(last, phase=phase, window=clause.window) for phase in clause.phases]
    if clause.places:
        complaints += [replace(last, place=place) for place in clause.places] if last.place else []
        if not last.place:
            for k, one in enumerate(complaints):
                if one.behaviour == last.behaviour and not one.place:
                    complaints[k] = replace(one, place=clause.places[0])
    if clause.corners:
        for k, one in enumerate(complaints):
            if one.behaviour == last.behaviour and (not one.corners or one == complaints[-1]):
                both = {*one.corners, *clause.corners}
                complaints[k] = replace(one, corners=tuple(sorted(both)))
    if clause.size and not last.size:
        complaints[-1] = replace(complaints[-1], size=clause.size)


def _place_shared(complaints: Sequence[Complaint]) -> Iterator[Complaint]:
    """Yield the complaints; the one place a sentence names at its end holds for all of it."""
    places = {one.place for one in complaints if one.place}
    only_at_end = len(places) == 1 and complaints[-1].place and not any(c.place for c in complaints[:-1])
    corner = only_at_end and complaints[-1].place.endswith("corner")
    named = complaints[-1].corners if complaints else ()
    if any(one.corners for one in complaints[:-1]):
        named = ()
    for one in complaints:
        shared = replace(one, place=complaints[-1].place) if corner and not one.place else one
        takes = named and not shared.corners and not shared.place.endswith("corner")
        yield replace(shared, corners=named) if takes else shared


def _not_read(typed: str, plain: str) -> str:
    """Say that a text was not read, with the nearest readings."""
    if any(_read_clause(text).behaviours for text in CUT.split(_corners_marked(plain))):
        return f'"{typed.strip()}" says only what the car does not do. Say what it does and should not.'
    near = nearest_readings(plain)
    shown = "; ".join(f'"{text}"' for text in near)
    said = f'"{typed.strip()}"' if typed.strip() else "An empty complaint"
    return (
        f"{said} does not say, in words known here, what the car does. Nearest readings: {shown}. "
        "Choose one, or say a behaviour (pushes, loose, nervous, slow to answer, floats, hops, thrown "
        "off kerbs, bottoms, locks fronts, locks rears, spins the inside wheel, inconsistent), a phase "
        "(braking, entry, mid, exit, straight) and a place (slow, medium or fast corners, kerbs, "
        "bumps, or numbers of a track's corners)."
    )


def nearest_readings(typed: str, most: int = 3) -> list[str]:
    """Return the known complaints that a text comes nearest to: spelling mended, else by likeness."""
    known = sorted({word for text in (*EXAMPLES, MORE_WORDS) for word in re.findall(r"[a-z-]+", text)})
    mended = " ".join(
        word
        if word in SAYS_LITTLE
        else next(iter(difflib.get_close_matches(word, known, n=1, cutoff=0.7)), word)
        for word in typed.split()
    )
    likely = (
        [mended] if mended != typed and any(_read_clause(c).behaviours for c in CUT.split(mended)) else []
    )
    by_likeness = sorted(
        EXAMPLES, key=lambda text: -difflib.SequenceMatcher(None, mended, text, autojunk=False).ratio()
    )
    return list(dict.fromkeys([*likely, *by_likeness]))[:most]
