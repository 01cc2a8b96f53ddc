"""What a clause of a complaint says: a fault or a quality, how much of it, where, and if it is a wish."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import cast, get_args

from fourpatch.advice.complaint import Behaviour, Complaint, End, PhaseName, Place, Size, Window
from fourpatch.advice.complaint_amount import amount_of, called_bad
from fourpatch.advice.complaint_folding import folded, head_places, off_and_in, without_purpose
from fourpatch.advice.lexicon import Chunk, lexicon

_AT = ("told", "meant", "turn in", "place", "window", "corners")
_WITH_END: tuple[Behaviour, ...] = ("hops", "bottoms", "floats", "nervous")


@dataclass(frozen=True, slots=True, kw_only=True)
class Where:
    """Phases and places that a clause names."""

    phases: tuple[PhaseName, ...] = ()
    window: Window = ""
    places: tuple[Place, ...] = ()
    corners: tuple[int, ...] = ()

    def __bool__(self) -> bool:
        """Say whether anything is named."""
        return bool(self.phases or self.places or self.corners or self.window)


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What one part of a text with at most one fault or quality in it says."""

    meaning: str
    """A behaviour, ?QUESTION, ~REMARK; "-" for nothing to complain of, empty where no fault is named."""
    where: Where
    end: End = ""
    size: Size = ""
    until: bool = False
    """Where something ends, and what is said next may begin."""
    worse: bool = False
    """A bare "worse", "a problem": of what was said before, if anything was."""
    wished: bool = False
    """What is wished is the opposite of what is read."""
    everywhere: bool = False
    unsure: tuple[Behaviour, ...] = ()
    """The two behaviours between which it must be asked."""
    start: int = 0
    stop: int = 0

    def complaints(self) -> Iterator[Complaint]:
        """Yield one complaint for each phase and place."""
        behaviour = cast(Behaviour, self.meaning)
        places = [one for one in self.where.places if (behaviour, one) != ("thrown off kerbs", "kerb")]
        for phase in self.where.phases or ("",):
            for place in places or ("",):
                yield Complaint(
                    behaviour=behaviour,
                    phase=phase,
                    window=self.where.window,
                    place=place,  # type: ignore[arg-type]
                    corners=self.where.corners,
                    end=self.end if behaviour in _WITH_END else "",
                    size=self.size,
                )


def said_in(clause: Sequence[Chunk], words: Sequence[str], before: "Carried") -> Iterator[Said]:
    """Yield what a clause says, one by one.

    Parameters
    ----------
    clause : its phrases, without those that join clauses.
    words : of the whole text.
    before : what the clauses before lend it.
    """
    chunks = folded([one for one in clause if one.kind not in ("filler", "unread")], words)
    late = next((one.start for one in clause if words[one.start] == "before"), len(words))
    # "I have to wait before I can get on the power" does not happen on the power.
    chunks = [one for one in chunks if one.kind != "meant" or one.start < late]
    if before.until and not head_places(chunks):
        chunks = [one for one in chunks if one.kind == "meant"]
        where = _where(chunks, words, has_state=False)
        yield Said(meaning="", where=where, until=True, start=clause[0].start, stop=clause[-1].stop)
        return
    chunks = without_purpose(chunks, words)
    if before.denied and chunks:
        chunks = [Chunk("denial", "not", chunks[0].start, chunks[0].start), *chunks]
    if before.bad and chunks and not head_places(chunks):
        chunks.append(Chunk("verdict", "bad", clause[-1].stop, clause[-1].stop))
    if before.wished and chunks:
        chunks = [Chunk("wish", "strong", chunks[0].start, chunks[0].start), *chunks]
    chunks = off_and_in(chunks, clause, words)
    quantities = {one.value for one in chunks if one.kind == "quantity"}
    if before.state is not None and quantities & {"much", "little", "scarce"} and not head_places(chunks):
        chunks.append(replace(before.state, start=clause[-1].stop, stop=clause[-1].stop))
        if before.end and not any(one.kind == "end" for one in chunks):
            chunks.append(Chunk("end", before.end, clause[-1].stop, clause[-1].stop))
    for part in _parts(chunks):
        yield replace(_said(part, words), start=clause[0].start, stop=clause[-1].stop)


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """What a clause takes over from the one before it."""

    state: Chunk | None = None
    """ "too much grip on entry, not enough on exit" """
    end: str = ""

    until: bool = False
    """ "it pushes until I lift, then ..." """
    bad: bool = False
    """ "fine except on exit" """
    denied: bool = False
    """ "no understeer or oversteer" """
    wished: bool = False
    """ "I want more bite on entry and more grip on exit" """


# Parts with one fault or quality each


def _parts(chunks: Sequence[Chunk]) -> list[list[Chunk]]:
    heads = head_places(chunks)
    if len(heads) < 2:
        return [list(chunks)] if chunks else []
    gaps = [range(a + 1, b) for a, b in pairwise(heads)]
    named = [[k for k in gap if chunks[k].kind in _AT] for gap in gaps]
    before = any(chunks[k].kind in _AT for k in range(heads[0])) and all(named)
    cuts = [0]
    for gap, at in zip(gaps, named, strict=True):
        if at:
            cuts.append(at[0] if before else at[-1] + 1)
        else:
            cuts.append(next((k for k in gap if chunks[k].kind != "size"), gap.stop))
    return [list(chunks[a:b]) for a, b in zip(cuts, [*cuts[1:], len(chunks)], strict=True)]


def _said(part: Sequence[Chunk], words: Sequence[str]) -> Said:
    states = [one for one in part if one.kind in ("state", "comparative")]
    where = _where(part, words, has_state=bool(states))
    ends = [one.value for one in part if one.kind == "end"]
    end = _nearest_end(part, states[0]) if states else next(iter(ends), "")
    size = _size(part, words)
    everywhere = any(one.kind == "everywhere" for one in part)
    if not states:
        return replace(_without_state(part, where, end, words), size=size, everywhere=everywhere)
    state = lexicon().states[states[0].value]
    end = end or state.end
    if state.phase and not where.phases:
        where = replace(where, phases=(cast(PhaseName, state.phase),))
    comparative = states[0].kind == "comparative"
    amount = "much" if state.request else amount_of(part, state, words, comparative=comparative)
    if any(one.kind == "quantity" and _strange(one, states[0], words) for one in part):
        amount = "ask"
    said = Said(meaning="-", where=where, size=size, everywhere=everywhere, end=_end(end))
    if amount == "none":
        return said
    both = [_meaning(table, end, where, states[0], words, part) for table in (state.much, state.little)]
    if amount == "ask":
        return replace(said, meaning="?wish", unsure=tuple(cast(Behaviour, one) for one in both if _is(one)))
    meaning = both[amount == "little"]
    into = any(one.kind == "meant" and words[one.start] == "into" for one in part)
    if meaning.startswith("locks") and into and where.phases == ("entry",):
        said = replace(said, where=replace(where, phases=()))  # locking into a corner is locking before it
    return replace(said, meaning=meaning or "-", wished=state.bad and amount == "little")


def _strange(quantity: Chunk, state: Chunk, words: Sequence[str]) -> bool:
    """Say whether an unknown word behind a quantity may turn it round ("too kittle grip")."""
    following = words[quantity.stop] if quantity.stop < state.start else ""
    return bool(following) and following not in lexicon().vocabulary


def _end(end: str) -> End:
    return cast(End, end) if end in get_args(End) else ""


def _is(meaning: str) -> bool:
    return meaning in get_args(Behaviour)


def _nearest_end(part: Sequence[Chunk], state: Chunk) -> str:
    """Return the end of the car that goes with a fault: the one before it, else the one behind."""
    ahead = [one.value for one in part if one.kind == "end" and one.start < state.start]
    behind = [one.value for one in part if one.kind == "end" and one.start > state.start]
    return ahead[-1] if ahead else behind[0] if behind else ""


def _goes(part: Sequence[Chunk], words: Sequence[str]) -> bool:
    """Say whether an end of the car just goes ("the back end went at high speed")."""
    return any(
        one.kind == "end" and one.stop < len(words) and words[one.stop] in ("goes", "went") for one in part
    )


def _without_state(part: Sequence[Chunk], where: Where, end: str, words: Sequence[str]) -> Said:
    """Read "more front", "bad over kerbs", "terrible turn-in", "fine on exit", "not on exit"."""
    said = Said(meaning="", where=where, end=_end(end))
    kinds = {one.kind for one in part}
    verdicts = {one.value for one in part if one.kind == "verdict"}
    quantities = {one.value for one in part if one.kind == "quantity"}
    bad = called_bad(part, words) or "fix" in quantities
    turned_in = "turn in" in kinds and (bad or quantities or kinds & {"denial", "hardly", "wish"})
    if turned_in and "praise" not in verdicts:
        amount = amount_of(part, lexicon().states["rotation"], words, comparative=False)
        meaning = {"much": "oversteer", "little": "understeer", "none": "-", "ask": "?wish"}[amount]
        return replace(said, meaning=meaning, unsure=("understeer", "oversteer") if amount == "ask" else ())
    if end in ("front", "rear") and _goes(part, words):
        return replace(said, meaning="understeer" if end == "front" else "oversteer")
    missed = bool(quantities & {"little", "scarce", "much", "more", "less"})
    missed |= "denial" in kinds and not verdicts and not where
    between = range(part[0].start, part[-1].stop)
    strange = set(between) - {k for one in part for k in range(one.start, one.stop)}
    unknown = any(words[k] not in lexicon().vocabulary for k in strange)
    if end in ("front", "rear") and missed and not unknown:
        state = lexicon().states["grip"]
        amount = amount_of(part, state, words, comparative=False)
        table = {"much": state.much, "little": state.little}.get(amount)
        if table is not None:
            return replace(said, meaning=table[end])
    if "praise" in verdicts or "denial" in kinds:
        return replace(said, meaning="-")
    if bad and {"kerb", "bumpy"} & set(where.places):
        return replace(said, meaning="thrown off kerbs" if "kerb" in where.places else "hops")
    return replace(said, worse=bad or bool(quantities))


def _where(part: Sequence[Chunk], words: Sequence[str], *, has_state: bool) -> Where:
    told = [one.value for one in part if one.kind == "told"]
    told += ["entry" for one in part if one.kind == "turn in"]
    meant = [one.value for one in part if one.kind == "meant"][:1]
    # "Slow" and "fast" alone are a place only of something.
    places = [
        one.value
        for one in part
        if one.kind == "place" and not (_only_how(one, words) or (not has_state and _bare(one, words)))
    ]
    corners = {int(n) for one in part if one.kind == "corners" for n in one.value.split("_") if n}
    # "I brake late" is no half of a phase.
    after = {one.start for one in part if one.kind in ("told", "meant", "turn in", "corners")}
    windows = [
        one.value
        for one in part
        if one.kind == "window"
        and (words[one.start : one.stop] not in (("late",), ("early",)) or one.stop in after)
    ]
    return Where(
        phases=tuple(dict.fromkeys(cast(list[PhaseName], told or meant))),
        window=cast(Window, windows[0]) if windows else "",
        places=tuple(dict.fromkeys(cast(list[Place], places))),
        corners=tuple(sorted(corners)),
    )


def _bare(place: Chunk, words: Sequence[str]) -> bool:
    return words[place.start : place.stop] in (("slow",), ("fast",))


def _only_how(place: Chunk, words: Sequence[str]) -> bool:
    """Say whether "fast" and "slow" say how something happens ("comes round very fast")."""
    how = ("very", "too", "so", "really", "how", "pretty", "quite")
    return _bare(place, words) and place.start > 0 and words[place.start - 1] in how


def _size(part: Sequence[Chunk], words: Sequence[str]) -> Size:
    for one in part:
        if one.kind == "size":
            return cast(Size, one.value)
    for one in part:
        own = set(words[one.start : one.stop])
        if one.kind == "quantity" and one.value == "much":
            small, large = own & {"bit", "little", "touch"}, own & {"far", "way"}
            return "a little" if small else "badly" if large else "clearly"
        if one.kind == "verdict" and one.value == "bad" and own & _VERY:
            return "badly"
    return ""


_VERY = frozenset("bad terrible awful horrible horrendous atrocious abysmal dreadful shocking".split())

# What it means


def _meaning(
    table: dict[str, str] | object,
    end: str,
    where: Where,
    state: Chunk,
    words: Sequence[str],
    part: Sequence[Chunk],
) -> str:
    """Return the behaviour, ?QUESTION or ~REMARK of a state at an end of the car and a place."""
    by_end = cast(dict[str, str], table)
    said_bad = lexicon().states[state.value].bad
    if end == "both" and state.value in ("slides", "washes", "grip"):
        return "~overall_grip"
    meaning = by_end.get(end) or by_end.get("any", "")
    if not meaning.startswith("%"):
        subject = [one.value for one in part if one.kind == "end" and one.start < state.start]
        contrary = {"understeer": "rear", "oversteer": "front"}.get(meaning) if said_bad else None
        # "The nose drifts out": a word for one end said of the other is not guessed at.
        return "?slides" if contrary in subject[-1:] and "any" in by_end else meaning
    rough = {"kerb", "bumpy"} & set(where.places)
    phases = set(where.phases)
    match meaning:
        case "%slides":
            if rough:
                return "thrown off kerbs" if "kerb" in rough else "hops"
            return "nervous" if "straight" in phases else "?slides"
        case "%stability":
            moving = end == "rear" or phases & {"braking", "entry", "mid", "exit"}
            return "oversteer" if moving and not rough else "nervous"
        case "%nervous":
            return "oversteer" if (end == "rear" or phases & {"braking", "exit"}) and not rough else "nervous"
        case "%spins":
            ends = [one for one in part if one.kind == "end"]
            wheels = {"wheel", "wheels", "tyre", "tyres", "rears", "fronts", "inside", "inner"}
            turning = any(wheels & set(words[one.start : one.stop]) for one in ends)
            return "spins the inside wheel" if turning else "oversteer"
        case "%front traction":
            return "spins the inside wheel" if "exit" in phases else "understeer"
        case "%upset":
            if rough:
                return "thrown off kerbs" if "kerb" in rough else "hops"
            return {"front": "understeer", "rear": "oversteer"}.get(end, "?upset")
    raise AssertionError(meaning)
