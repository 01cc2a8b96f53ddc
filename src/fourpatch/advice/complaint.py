"""A driver's complaint: what the car does, in which phase, where; and how a typed one is read.

Words of the trade in English, common practice, no published source. A sentence is cut into clauses; each
gives one complaint, or widens the one before ("pushes on entry and mid").
"""

import difflib
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Literal, TypeVar

from fourpatch.errors import AdviceError

Behaviour = Literal[
    "understeer",
    "oversteer",
    "nervous",
    "slow to answer",
    "floats",
    "hops",
    "thrown off kerbs",
    "bottoms",
    "locks fronts",
    "locks rears",
    "spins the inside wheel",
    "inconsistent",
    "overheats",
]
PhaseName = Literal["", "braking", "entry", "mid", "exit", "straight"]
Window = Literal["", "early", "late"]
Place = Literal["", "slow corner", "medium corner", "fast corner", "kerb", "bumpy"]
End = Literal["", "front", "rear"]
Size = Literal["", "a little", "clearly", "badly"]

_MeaningT = TypeVar("_MeaningT", bound=str)

OPPOSED: tuple[tuple[Behaviour, Behaviour], ...] = (
    ("understeer", "oversteer"),
    ("nervous", "slow to answer"),
    ("locks fronts", "locks rears"),
)
"""Behaviours that a car cannot show in the same phase of the same corner."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Complaint:
    """One thing that the car does and should not."""

    behaviour: Behaviour
    phase: PhaseName = ""
    """Empty: not said."""
    window: Window = ""
    """Half of the phase; empty for all of it."""
    place: Place = ""
    """Empty: not said, so everywhere."""
    end: End = ""
    """Of the car, where the behaviour does not say it."""
    size: Size = ""
    """How bad, if it was said."""

    def text(self) -> str:
        """Return the complaint in our own words: ``understeer on late entry in slow corners``."""
        said = f"{self.end} {self.behaviour}".strip()
        if self.phase:
            where = {"braking": "under", "straight": "on the"}.get(
                self.phase, "on" if self.phase != "mid" else "at"
            )
            name = "mid-corner" if self.phase == "mid" else self.phase
            said += f" {where} {self.window} {name}".replace("  ", " ")
        if self.place:
            said += {"kerb": " over kerbs", "bumpy": " over bumps"}.get(self.place, f" in {self.place}s")
        return f"{said} ({self.size})" if self.size else said


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What was understood of a typed text."""

    typed: str
    complaints: tuple[Complaint, ...]
    unread: tuple[str, ...]
    """Words that mean nothing here."""
    denied: tuple[str, ...]
    """Clauses that say what the car does not do, left out."""


_BEHAVIOURS: tuple[tuple[Behaviour, str], ...] = (
    (
        "locks fronts",
        r"(lock\w*|skid\w*) (up )?(the |its |my )?(inside |outside |left |right )?fronts?( \w+ish)?( wheels?| tyres?| tires?)?"
        r"|fronts?( wheels?| tyres?| brakes?)? (are |is |keeps? |always )?lock\w*( up)?|front lock-?ups?",
    ),
    (
        "locks rears",
        r"(lock\w*|skid\w*) (up )?(the |its |my )?(inside |outside |left |right )?(rears?|backs?)( wheels?| tyres?| tires?)?"
        r"|(rears?|backs?)( wheels?| tyres?| brakes?)? (are |is |keeps? |always )?lock\w*( up)?|rear lock-?ups?",
    ),
    (
        "spins the inside wheel",
        r"(spin\w*|lights? up|smok\w+) (up )?(the |its |an )?(inside|inner|unloaded)( (front|rear))?( wheel| tyre| tire)?"
        r"|(inside|inner)( (front|rear))? (wheel|tyre|tire)( keeps?| is)? (spin\w*|light\w* up)|wheel ?-?spins?|wheelspinning|(no|poor|lacks?|bad) traction",
    ),
    (
        "thrown off kerbs",
        r"(is |gets |being )?(thrown|kicked|launched|bounced|pitched|knocked)( about| around| up| off| sideways| by| over| at)*( the)? (kerbs?|curbs?)"
        r"|(kerbs?|curbs?) (throw|kick|launch|upset|unsettle|bounce)\w*( it| me| us| the car)?( off)?|(can ?not|can't|won't|does not|doesn't) (take|ride|use)( the)? (kerbs?|curbs?)"
        r"|hates?( the)? (kerbs?|curbs?)",
    ),
    (
        "understeer",
        r"understeer\w*|under-?steer\w*|push(es|ing|y|ed)?( wide)?|wash(es|ing|ed)?( out| wide)?|plough\w*|plow\w*|tight|"
        r"(will not|won't|wont|does not|doesn't|doesnt|refuses to|not) (turn|rotate|point|steer)\w*( in)?|no (front|bite|turn-?in|rotation)( grip| end| bite)?|"
        r"run(s|ning)? (wide|out of road)|front( end)? (slides?|lets? go|gives? up|goes|washes)( first| out| away| wide)?|lacks? (front( grip| end| bite)?|rotation|bite)|"
        r"nose (washes|pushes|slides|runs)( out| wide)?",
    ),
    (
        "oversteer",
        r"oversteer\w*|over-?steer\w*|loose|tail[- ]happy|snap(s|ping|py)?|(the )?(rear|back|tail)( end)?( always| just| suddenly)? "
        r"(steps?|stepping|comes?|coming|slides?|sliding|goes|lets? go|gives? up|breaks?|breaking|kicks?|swings?|snaps?)( out| round| around| away| loose| first)?|"
        r"(spins?|spinning) (out|round|around)|spins? (under|on|in|off|at|when|mid)|steps? out|no rear( grip| end)?|lacks? rear( grip| end)?|rotates? too (much|fast)|free",
    ),
    (
        "nervous",
        r"nervous\w*|twitch\w*|edgy|darty|dart(s|ing)|too (sharp|quick|direct)|unstable|jumpy|skittish|skitter\w*|on edge|wander\w*",
    ),
    (
        "slow to answer",
        r"slow to (answer|respond|react|turn)|lazy|sluggish|dull|(slow|late|lazy|delayed) (response|answer|reaction)|lag(s|gy)|unresponsive|dead steering|takes? (too long|ages|its time) to (turn|react|respond|answer)",
    ),
    (
        "floats",
        r"float\w*|wallow\w*|bob(s|bing)|porpois\w*|moves? around too much|rolls? too much|heaves?( too much)?|pitch(es|ing)( too much)?",
    ),
    (
        "hops",
        r"hop(s|ping)?|skip(s|ping|py)?|chatter\w*|bounc(es|ing|y)|patter\w*|(loses|losing|no) (grip|contact) (over|on) (the )?bumps|leaves? the (ground|road)|jump(s|ing) over( the)? bumps|"
        r"(crash\w*|harsh|too stiff) (over|on)( the)? bumps|(skates?|skating)",
    ),
    (
        "bottoms",
        r"bottom(s|ing|ed)?( out)?|hits? the (ground|road|floor|bump ?stops?|stops)|ground(s|ing)( out)?|scrap(es|ing)|touch(es|ing) (down|the (ground|road))|runs? out of travel|on the bump ?stops?",
    ),
    (
        "inconsistent",
        r"inconsistent|unpredictable|different (every|each) (lap|corner|time)|never the same( twice)?|changes? (through|during) the corner|balance (changes|shifts|moves)",
    ),
    (
        "overheats",
        r"over-?heat\w*|(tyres?|tires?)( get| go| are| run)*( too)? hot|cook(s|ing)( (the|its))?( fronts?| rears?)?( tyres?| tires?)?",
    ),
)

_PHASES: tuple[tuple[PhaseName, str], ...] = (
    (
        "entry",
        r"(off|lift(s|ing)?( off)?)( the)? (throttle|gas|power)|lift[- ]?off|(corner )?entry|entries|entering|turn(ing)?[ -]?in|trail[- ]?brak\w*|trailing( the)? brakes?|(releas\w+|coming off|off)( the)? brakes?|way in|into (the )?(corners?|turns?|bends?)",
    ),
    (
        "braking",
        r"(under|in|on|when|while|during|heavy|hard|straight[- ]line)?( heavy| hard| the)? ?(braking|brakes?)( zones?)?",
    ),
    (
        "mid",
        r"mid[- ]?(corner|turn|way|phase)?|middle( of)?( the)?( corner| turn)?|apex|apexes|steady( state| cornering)?|in the corner",
    ),
    (
        "exit",
        r"(corner )?exits?|exiting|on( the)? (power|throttle|gas)|under power|power|throttle|accelerat\w+|(coming|way|driving) out( of( the)? corners?)?|out of( the)? (corners?|turns?)|traction",
    ),
    ("straight", r"straights?|straight[- ]?line|at speed|top speed|down the straight"),
)

_PLACES: tuple[tuple[Place, str], ...] = (
    ("kerb", r"(over|on|off|at|across)?( the)? ?(kerbs?|curbs?|kerbing)"),
    (
        "bumpy",
        r"(over|on|in|through|across)?( the)? ?(bumps?|bumpy( parts?| sections?| corners?| roads?| stuff| braking zones?)?|rough( parts?| sections?| roads?)?|ripples?|undulations?)",
    ),
    (
        "slow corner",
        r"(slow|low[- ]speed|tight|first[- ]gear|second[- ]gear)( ones?| corners?| turns?| bends?| stuff)|hairpins?|slow|low[- ]speed",
    ),
    (
        "medium corner",
        r"(medium|mid|middling)[- ]?speed( corners?| turns?| bends?| ones?)?|medium( corners?| turns?| bends?| ones?)?|third[- ]gear( corners?| turns?)?",
    ),
    (
        "fast corner",
        r"(fast|high[- ]?speed|quick|fourth[- ]gear|fifth[- ]gear)( ones?| corners?| turns?| bends?| stuff| sweepers?)?|sweepers?",
    ),
)

_WINDOWS: tuple[tuple[Window, str], ...] = (
    (
        "early",
        r"early( in| on| part of| half of)?( the)?|initial(ly)?( turn[- ]in)?|start of( the)?|at first|first part of|beginning of( the)?",
    ),
    ("late", r"late(r)?( in| on| part of| half of)?( the)?|end of( the)?|second part of|last part of"),
)

_SIZES: tuple[tuple[Size, str], ...] = (
    ("a little", r"(only |just )?(a (little|bit|touch|tad|hint)( of)?|slight(ly)?|mild(ly)?|somewhat|minor)"),
    (
        "badly",
        r"(very |really |so )?bad(ly)?|terribl[ey]|massive(ly)?|huge(ly)?|a lot( of)?|lots( of)?|heavily|undriveabl[ey]|far too|way too|extreme(ly)?|horribl[ey]|violent(ly)?|wild(ly)?|strong(ly)?",
    ),
    ("clearly", r"clear(ly)?|quite( a bit)?|noticeabl[ey]|definite(ly)?|rather|too much|very|really|too"),
)

_ENDS: tuple[tuple[End, str], ...] = (
    ("front", r"fronts?|nose|front (end|axle|wheels?|tyres?|tires?)"),
    ("rear", r"rears?|back( end)?|tail|rear (end|axle|wheels?|tyres?|tires?)"),
)

_CUT = re.compile(
    r"\s*(?:[,;.:!?/&+]|\band\b|\bbut\b|\bthen\b|\bwhile\b|\bwhereas\b|\balso\b|\bplus\b|\byet\b|\bor\b)\s*"
)
_TURNING_IN = r"\b(won't|wont|will not|doesn't|does not|doesnt|refuses to) (turn|rotate|point|steer)\w* in\b|no turn-?in"
_DENIAL = re.compile(
    r"\b(no longer|not|never|isn't|isnt|is not|aren't|doesn't|doesnt|don't|without|except|fine|ok|okay|good)\b"
)
_SAYS_LITTLE = frozenset(
    "a an the it its it's i i'm my we our is are was be been gets get getting goes go has have had with to of in on at under over off "
    "into out for from by as when while during through every each all any some always often mostly usually sometimes "
    "car cars corner corners turn turns bend bends phase part parts feel feels felt feeling there that this these those "
    "and but then too much very so just still bit lot more most only especially mainly particularly please help also "
    "wheel wheels tyre tyres tire tires axle end side lap laps track car's me us keeps keep really rather quite do does did up "
    "speed speeds around round inside outside slightly where which who what makes make wants want tends tend seems seem like".split()
)
_EXAMPLES = (
    "pushes on entry in slow corners",
    "pushes at mid-corner",
    "pushes on exit",
    "rear steps out under braking",
    "loose on entry",
    "loose on exit in slow corners",
    "nervous in fast corners",
    "slow to answer",
    "floats on the straight",
    "hops over bumps",
    "thrown off kerbs",
    "bottoms on the straight",
    "locks fronts",
    "locks rears",
    "spins the inside wheel on exit",
    "inconsistent",
)


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
    for text in _CUT.split(plain):
        if not text:
            continue
        clause = _read_clause(text)
        unread += clause.unread
        if clause.denied:
            denied.append(text)
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


def refuse_contradictions(complaints: Sequence[Complaint]) -> None:
    """Raise if two complaints cannot both be true of one car.

    Raises
    ------
    AdviceError
        Naming both.
    """
    for one, other in combinations(complaints, 2):
        if _contradict(one, other):
            raise AdviceError(
                f'"{one.text()}" and "{other.text()}" contradict each other: what cures one makes the other '
                "worse in the same place. Say in which phase (braking, entry, mid, exit), in which half of it "
                "(early, late) or in which corners (slow, medium, fast) the car does which."
            )


def _contradict(one: Complaint, other: Complaint) -> bool:
    pair = {one.behaviour, other.behaviour}
    apart = [
        a != b and a != "" and b != ""
        for a, b in ((one.phase, other.phase), (one.window, other.window), (one.place, other.place))
    ]
    return any(pair == set(opposed) for opposed in OPPOSED) and not any(apart)


@dataclass(frozen=True, slots=True)
class _Clause:
    behaviours: list[Behaviour]
    phases: list[PhaseName]
    window: Window
    places: list[Place]
    end: End
    size: Size
    unread: list[str]
    denied: bool


def _plain(typed: str) -> str:
    text = typed.lower().replace("\N{RIGHT SINGLE QUOTATION MARK}", "'").replace("_", " ")
    return re.sub(r"\s+", " ", text).strip()


def _read_clause(text: str) -> _Clause:
    rest = f" {text} "
    behaviours, rest = _take(_BEHAVIOURS, rest)
    turning_in = bool(re.search(_TURNING_IN, text))
    denied = bool(_DENIAL.search(rest))
    # "high-speed" and "slow" before "mid", a place before a phase: "bumpy braking zones", "mid-speed corners".
    places, rest = _take(_PLACES, rest)
    windows, rest = _take(_WINDOWS, rest)
    phases, rest = _take(_PHASES, rest)
    if turning_in and not phases:
        phases = ["entry"]
    sizes, rest = _take(_SIZES, rest)
    ends, rest = _take(_ENDS, rest)
    words = [word for word in re.findall(r"[a-z0-9'-]+", _DENIAL.sub(" ", rest)) if word not in _SAYS_LITTLE]
    return _Clause(
        behaviours=behaviours,
        phases=phases,
        window=windows[0] if windows else "",
        places=places,
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
    if clause.size and not last.size:
        complaints[-1] = replace(complaints[-1], size=clause.size)


def _place_shared(complaints: Sequence[Complaint]) -> Iterator[Complaint]:
    """Yield the complaints; the one place a sentence names at its end holds for all of it."""
    places = {one.place for one in complaints if one.place}
    only_at_end = len(places) == 1 and complaints[-1].place and not any(c.place for c in complaints[:-1])
    corner = only_at_end and complaints[-1].place.endswith("corner")
    for one in complaints:
        yield replace(one, place=complaints[-1].place) if corner and not one.place else one


def _not_read(typed: str, plain: str) -> str:
    """Say that a text was not read, with the nearest readings."""
    if any(_read_clause(text).behaviours for text in _CUT.split(plain)):
        return f'"{typed.strip()}" says only what the car does not do. Say what it does and should not.'
    near = nearest_readings(plain)
    shown = "; ".join(f'"{text}"' for text in near)
    said = f'"{typed.strip()}"' if typed.strip() else "An empty complaint"
    return f"{said} does not say, in words known here, what the car does. Nearest readings: {shown}. Choose one, or say a behaviour (pushes, loose, nervous, slow to answer, floats, hops, thrown off kerbs, bottoms, locks fronts, locks rears, spins the inside wheel, inconsistent), a phase (braking, entry, mid, exit, straight) and a place (slow, medium or fast corners, kerbs, bumps)."


def nearest_readings(typed: str, most: int = 3) -> list[str]:
    """Return the known complaints that a text comes nearest to: spelling mended, else by likeness."""
    known = sorted({word for text in (*_EXAMPLES, _MORE_WORDS) for word in re.findall(r"[a-z-]+", text)})
    mended = " ".join(
        word
        if word in _SAYS_LITTLE
        else next(iter(difflib.get_close_matches(word, known, n=1, cutoff=0.7)), word)
        for word in typed.split()
    )
    likely = (
        [mended] if mended != typed and any(_read_clause(c).behaviours for c in _CUT.split(mended)) else []
    )
    by_likeness = sorted(
        _EXAMPLES, key=lambda text: -difflib.SequenceMatcher(None, mended, text, autojunk=False).ratio()
    )
    return list(dict.fromkeys([*likely, *by_likeness]))[:most]


_MORE_WORDS = (
    "understeer understeers oversteer oversteers twitchy lazy wallows skips chatters washes snaps spins wheelspin braking "
    "brakes entry mid apex exit throttle power straight slow medium fast hairpin kerbs bumps front rear back tail steps"
)
