"""How a typed complaint is read.

Slips are mended, the text is cut into clauses, and each clause says what the car does too much or too little
of, or only where ("pushes on entry and mid"). Every word is accounted for: read, said not to be so, answered
as no matter of set-up, asked back, or named as unread.
"""

from collections.abc import Callable, Iterator, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field, replace
from functools import cache
from importlib.resources import files
from typing import cast, get_args

from rapidfuzz import fuzz, process

from fourpatch.advice.complaint import Behaviour, Complaint, numbered, refuse_contradictions
from fourpatch.advice.complaint_clause import Carried, Said, Where, said_in
from fourpatch.advice.lexicon import PUNCTUATION, Chunk, Elsewhere, chunks, lexicon, with_remarks
from fourpatch.advice.typed_words import TypedWords, common, typed_words
from fourpatch.errors import AdviceError

EXAMPLES = (
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Remark:
    """What of a text is answered without a change of set-up."""

    about: Elsewhere
    words: str
    """As typed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What must be asked back, because the words can mean two things."""

    said: str
    complaints: tuple[Complaint, ...]
    """To choose from."""
    words: str
    """What it is about, as typed."""

    @property
    def choices(self) -> tuple[str, ...]:
        """Return what may be chosen, each of which is read as it stands."""
        return tuple(one.text() for one in self.complaints)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What was understood of a typed text."""

    typed: str
    complaints: tuple[Complaint, ...]
    unread: tuple[str, ...]
    """Words that mean nothing here."""
    denied: tuple[str, ...]
    """Clauses that say what the car does not do, or that it does well, left out."""
    wished: tuple[str, ...] = ()
    """Clauses that wish for more or less of something, and are read as the complaint behind it."""
    remarks: tuple[Remark, ...] = ()
    """What no set-up cures, or no number of the model stands for."""
    question: Question | None = None
    """The one thing that is asked back."""
    slips: tuple[tuple[str, str], ...] = ()
    """Words as typed, and what they were taken for."""


def read_complaint(typed: str) -> Reading:
    """Return what a typed sentence complains of.

    Raises
    ------
    AdviceError
        If there is no complaint in it that can be answered: with what it says instead, what is asked back, or
        the nearest readings; or if two of its complaints contradict each other.

    Examples
    --------
    >>> [one.text() for one in read_complaint("pushes on entry and loose on exit in slow corners").complaints]
    ['understeer on entry in slow corners', 'oversteer on exit in slow corners']
    >>> [one.text() for one in read_complaint("I want a bit more oversteer on entry").complaints]
    ['understeer on entry (a little)']
    """
    reading = understood(typed)
    if not reading.complaints:
        raise AdviceError(_not_read(reading))
    refuse_contradictions(reading.complaints)
    return reading


def understood(typed: str) -> Reading:
    """Return what is understood of a text, be it nothing; never raises."""
    text = typed_words(typed)
    found = _Found(text)
    for clause, joined in _clauses(chunks(text.words), text.words):
        found.take(clause, joined)
    return found.reading(typed)


def nearest_readings(typed: str, most: int = 3) -> list[str]:
    """Return the known complaints that a text comes nearest to."""
    reading = understood(typed)
    if reading.question is not None and reading.question.choices:
        return list(reading.question.choices[:most])
    near = [text for one in reading.remarks for text in one.about.near]
    if not near:
        mended = " ".join(typed_words(typed).words)
        ranked = process.extract(mended, _known_phrasings(), scorer=fuzz.WRatio, limit=5 * most)
        near = [one.text() for text, _, _ in ranked for one in understood(text).complaints[:1]]
    return list(dict.fromkeys(near))[:most]


@cache
def _known_phrasings() -> tuple[str, ...]:
    """Return the phrasings of our own list that are a complaint, and the examples."""
    written = files("fourpatch.advice").joinpath("words/phrasings.tsv").read_text("utf-8").splitlines()
    pairs = [line.split("\t") for line in written if "\t" in line and not line.startswith("#")]
    return (*EXAMPLES, *(text for text, meaning in pairs if meaning[0] not in "?-~"))


def _not_read(reading: Reading) -> str:
    """Say why there is nothing to cure in a text, and what to do."""
    typed = f'"{reading.typed.strip()}"' if reading.typed.strip() else "An empty complaint"
    near = "; ".join(f'"{text}"' for text in nearest_readings(reading.typed))
    if reading.question is not None:
        return f"{typed}: {reading.question.said} Choose: {near}."
    if reading.remarks:
        return f"{typed}: {' '.join(said_elsewhere(reading))} What may be meant instead: {near}."
    if reading.denied:
        return f"{typed} says only what the car does not do, or does well. Say what it does and should not."
    return (
        f"{typed} does not say, in words known here, what the car does. Nearest readings: {near}. "
        "Choose one, or say a behaviour (pushes, loose, nervous, slow to answer, floats, hops, thrown "
        "off kerbs, bottoms, locks fronts, locks rears, spins the inside wheel, inconsistent), a phase "
        "(braking, entry, mid, exit, straight) and a place (slow, medium or fast corners, kerbs, "
        "bumps, or numbers of a track's corners)."
    )


def said_elsewhere(reading: Reading) -> Iterator[str]:
    """Yield what is answered to what no set-up cures."""
    for one in dict.fromkeys(remark.about for remark in reading.remarks):
        yield one.said


# Clauses


def _clauses(found: Sequence[Chunk], words: Sequence[str]) -> Iterator[tuple[list[Chunk], str]]:
    """Yield the clauses, each with the word that joins it to the one before."""
    clause: list[Chunk] = []
    joined = ""
    for chunk in found:
        if chunk.kind == "cut":
            if clause:
                yield clause, joined
                clause = []
                joined = ""
            word = " ".join(words[chunk.start : chunk.stop])
            if not (joined in ("or", "nor", "because", "since") or (word in PUNCTUATION and joined)):
                joined = word
        else:
            clause.append(chunk)
    if clause:
        yield clause, joined


@dataclass(slots=True)
class _Found:
    """What is understood so far."""

    text: TypedWords
    complaints: list[Complaint] = field(default_factory=list)
    pending: list[Said] = field(default_factory=list)
    denied: list[str] = field(default_factory=list)
    wished: list[str] = field(default_factory=list)
    unread: list[str] = field(default_factory=list)
    remarks: list[Remark] = field(default_factory=list)
    questions: list[Question] = field(default_factory=list)
    withheld: list[Complaint] = field(default_factory=list)
    everywhere: set[Behaviour] = field(default_factory=set)
    said_something: bool = False
    """Whether anything but single words of no meaning stands in the text."""
    _first: Remark | None = None
    """What is to be put right before anything that is said after it."""
    _denied_last: bool = False
    _wished_last: bool = False
    _state: Chunk | None = None
    _end: str = ""
    _praised: bool = False

    def take(self, clause: Sequence[Chunk], joined: str) -> None:
        """Take in a clause."""
        words = self.text.words
        clause = with_remarks(clause, words)
        self.unread += [self.text.typed[c.start] for c in clause if c.kind == "unread"]
        self.unread = [word for word in self.unread if word]
        for chunk in clause:
            if chunk.kind == "remark":
                self._remark(chunk.value, chunk)
        own = {chunk.kind for chunk in clause}
        self.said_something |= bool(own - {"filler", "unread", "has", "cut", "denial"})
        if joined in _CORRECTS and self.complaints:
            self.complaints.pop()
        before = self._carried(clause, joined, own)
        self._denied_last = before.denied or bool(own & {"denial", "hardly"})
        self._wished_last = before.wished or any(c.kind == "wish" and c.value == "strong" for c in clause)
        because = joined in ("because", "since") and self._first is not None
        self._praised = any(c.kind == "verdict" and c.value == "praise" for c in clause)
        self._state = next((c for c in reversed(clause) if c.kind == "state"), self._state)
        self._end = next((c.value for c in reversed(clause) if c.kind == "end"), self._end)
        asked = len(self.questions)
        for said in said_in(clause, words, before):
            self._one(
                said,
                strange=any(c.kind == "unread" and c.value.isalpha() and not common(c.value) for c in clause),
            )
        if "remark" in own or (len(self.questions) > asked and self._told(self.questions[-1])):
            del self.questions[asked:]  # answered by what is said beside it
        if because:
            self._withhold()

    def _carried(self, clause: Sequence[Chunk], joined: str, own: AbstractSet[str]) -> Carried:
        """Return what the clauses before lend to one."""
        words = self.text.words
        subject = {words[k] for chunk in clause for k in range(chunk.start, chunk.stop)} & _SUBJECTS
        return Carried(
            state=self._state,
            end=self._end,
            denied=(self._denied_last and joined in ("or", "nor"))
            or joined in _INSTEAD
            or (joined in _EXCEPT and not own & {"state", "comparative"} and not self._praised),
            until=joined in ("until", "till"),
            bad=joined in _EXCEPT and self._praised,
            wished=self._wished_last and joined == "and" and not subject and "wish" not in own,
        )

    def _told(self, question: Question) -> bool:
        """Say whether the complaint before already answers a question that names no other place."""
        return bool(self.complaints) and any(
            _closer(self.complaints[-1], choice) for choice in question.complaints
        )

    def _one(self, said: Said, *, strange: bool) -> None:
        words = self._typed(said.start, said.stop)
        meaning = said.meaning
        if meaning == "-":
            self.denied.append(words)
        elif meaning.startswith("~"):
            self._remark(meaning[1:], Chunk("remark", meaning[1:], said.start, said.stop))
        elif meaning.startswith("?"):
            self._ask(meaning[1:], said, words)
        elif meaning:
            self._complain(said, words)
        elif said.until:
            self.pending += [said] if said.where else []
        elif self.complaints and said.where and strange:
            self._ask("vague", said, words)  # something is said of another place, in words not known here
        elif self.complaints and not (said.worse and said.end):
            _widen(self.complaints, said)
        elif said.where or said.worse:
            self.pending.append(said)

    def _complain(self, said: Said, words: str) -> None:
        if said.wished:
            self.wished.append(words)
        made = list(self._with_pending(said).complaints())
        if self._first is not None:
            self.withheld += made
            return
        self.complaints += made
        if said.everywhere:
            self.everywhere |= {one.behaviour for one in made}

    def _with_pending(self, said: Said) -> Said:
        """Let what was said before its behaviour ("in slow corners, on entry, it pushes") belong to it."""
        pending, self.pending = self.pending, []
        earlier = [one.where for one in pending]
        own = said.where
        return replace(
            said,
            where=Where(
                phases=own.phases or tuple(dict.fromkeys(p for one in earlier for p in one.phases)),
                window=own.window or next((one.window for one in earlier if one.window), ""),
                places=own.places or tuple(dict.fromkeys(p for one in earlier for p in one.places)),
                corners=own.corners or next((one.corners for one in earlier if one.corners), ()),
            ),
            size=next((one.size for one in (said, *pending) if one.size and not one.worse), ""),
        )

    def _remark(self, name: str, chunk: Chunk) -> None:
        remark = Remark(about=lexicon().remarks[name], words=self._typed(chunk.start, chunk.stop))
        self.remarks.append(remark)
        if remark.about.first:
            self._first = remark

    def _withhold(self) -> None:
        self.withheld += self.complaints
        self.complaints = []

    def _ask(self, name: str, said: Said, words: str) -> None:
        asked = lexicon().questions[name]
        behaviours = said.unsure or _possible(asked.choices, said.end, name)
        said = self._with_pending(said)
        choices = [one for behaviour in behaviours for one in replace(said, meaning=behaviour).complaints()]
        self.questions.append(Question(said=asked.said, complaints=tuple(choices), words=words))

    def _typed(self, start: int, stop: int) -> str:
        """Return words as they were typed."""
        said = " ".join(
            numbered([int(n) for n in word[1:].split("_")]) if word.startswith("@") else word
            for word in self.text.typed[start:stop]
            if word and word not in PUNCTUATION
        )
        return said.strip()

    def reading(self, typed: str) -> Reading:
        """Return what was understood of all of it."""
        complaints = list(dict.fromkeys(_place_shared(self.complaints)))
        complaints = list(_once(complaints, self.everywhere))
        # What is said somewhere else in the text needs no asking.
        still = [
            q for q in self.questions if not any(_closer(c, o) for c in complaints for o in q.complaints)
        ]
        question = next(iter(still), None)
        self.pending = [one for one in self.pending if not one.until]
        vague = bool(self.pending) and not self.remarks and (not complaints or self.pending[-1].worse)
        if vague and question is None:
            self._ask("vague", self.pending.pop(), typed.strip())
            question = self.questions[-1]
        nothing = not (complaints or self.denied or self.remarks or self.withheld or question)
        if nothing and self.said_something:
            said = Said(meaning="", where=Where(), stop=len(self.text.words))
            self._ask("vague", said, typed.strip())
            question = self.questions[-1]
        if self.withheld and question is None:
            question = Question(
                said=lexicon().questions["driven"].said,
                complaints=tuple(dict.fromkeys(self.withheld)),
                words=typed.strip(),
            )
        return Reading(
            typed=typed,
            complaints=tuple(complaints),
            unread=tuple(self.unread),
            denied=tuple(self.denied),
            wished=tuple(self.wished),
            remarks=tuple(self.remarks),
            question=question,
            slips=self.text.slips,
        )


_EXCEPT = ("except", "except for", "apart from", "unless")
"""What joins a clause that says where it is otherwise than said before."""
_CORRECTS = (
    "no wait",
    "wait no",
    "i mean",
    "sorry i mean",
    "scratch that",
    "correction",
    "or rather",
    "no sorry",
)
"""What takes back what was said before."""
_INSTEAD = ("instead of", "rather than", "as opposed to")
"""What joins a clause that says what the car does not do."""
_SUBJECTS = frozenset("it car i rear front back nose tail this that he she they there".split())


def _possible(choices: Sequence[str], end: str, name: str) -> tuple[Behaviour, ...]:
    """Return the behaviours that a question offers, without those of the other end of the car."""
    other = {"front": ("oversteer", "locks rears"), "rear": ("understeer", "locks fronts")}
    left = [one for one in choices if name != "vague" or one not in other.get(end, ())]
    assert all(one in get_args(Behaviour) for one in left)
    return tuple(cast(list[Behaviour], left))


def _widen(complaints: list[Complaint], said: Said) -> None:
    """Let a clause without a behaviour say more of the complaint before it."""
    last = complaints[-1]
    where = said.where
    if not last.phase and len(where.phases) == 1:
        complaints[-1] = replace(last, phase=where.phases[0], window=where.window or last.window)
    else:
        complaints += [replace(last, phase=phase, window=where.window) for phase in where.phases]
    if where.places:
        complaints += [replace(last, place=place) for place in where.places] if last.place else []
        if not last.place:
            _for_all_like(
                complaints, last, lambda one: not one.place, lambda one: replace(one, place=where.places[0])
            )
    if where.corners:
        _for_all_like(
            complaints,
            last,
            lambda one: not one.corners or one == complaints[-1],
            lambda one: replace(one, corners=tuple(sorted({*one.corners, *where.corners}))),
        )
    if said.size and not last.size:
        complaints[-1] = replace(complaints[-1], size=said.size)


def _for_all_like(
    complaints: list[Complaint],
    last: Complaint,
    which: Callable[[Complaint], bool],
    changed: Callable[[Complaint], Complaint],
) -> None:
    for k, one in enumerate(complaints):
        if one.behaviour == last.behaviour and which(one):
            complaints[k] = changed(one)


def _place_shared(complaints: Sequence[Complaint]) -> Iterator[Complaint]:
    """Yield the complaints; the one place a sentence names at its end holds for all of it."""
    places = {one.place for one in complaints if one.place}
    only_at_end = len(places) == 1 and complaints[-1].place and not any(c.place for c in complaints[:-1])
    corner = only_at_end and complaints[-1].place.endswith("corner")
    named = complaints[-1].corners if complaints else ()
    if any(one.corners for one in complaints[:-1]):
        named = ()
    for one in complaints:
        in_corners = corner and not one.place and one.phase != "straight"
        shared = replace(one, place=complaints[-1].place) if in_corners else one
        takes = named and not shared.corners and not shared.place.endswith("corner")
        yield replace(shared, corners=named) if takes else shared


def _once(complaints: Sequence[Complaint], everywhere: set[Behaviour]) -> Iterator[Complaint]:
    """Yield the complaints without those that another one says more closely.

    "It pushes, the front will not bite at turn-in" is one complaint; where it is said to be so everywhere,
    it stays.
    """
    for one in complaints:
        closer = any(_closer(other, one) for other in complaints if other != one)
        if one.behaviour in everywhere or not closer:
            yield one


def _closer(one: Complaint, other: Complaint) -> bool:
    """Say whether one complaint is another one said more closely."""
    pairs = (
        (one.phase, other.phase),
        (one.window, other.window),
        (one.place, other.place),
        (one.corners, other.corners),
        (one.end, other.end),
        (one.size, other.size),
    )
    return one.behaviour == other.behaviour and all(mine == its or not its for mine, its in pairs)
