"""The words of drivers: the files of `advice/words`, and where their phrases stand in a text.

A phrase is words parted by blanks; ``a/b`` is either, ``w~`` is w with its endings, ``w?`` may be missing.
"""

import tomllib
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from itertools import product
from typing import Any, Literal

Kind = Literal[
    "state",
    "remark",
    "corners",
    "comparative",
    "quantity",
    "told",
    "meant",
    "turn in",
    "place",
    "window",
    "end",
    "hardly",
    "verdict",
    "denial",
    "wish",
    "size",
    "everywhere",
    "cut",
    "has",
    "filler",
    "unread",
]
_RANK: dict[str, int] = {kind: place for place, kind in enumerate(Kind.__args__)}  # type: ignore[attr-defined]

_IRREGULAR = {
    "slide": "slid",
    "spin": "spun",
    "go": "goes went gone",
    "give": "gave given",
    "come": "came",
    "break": "broke broken",
    "run": "ran",
    "lose": "lost",
    "swing": "swung",
    "feel": "felt",
    "get": "got gotten",
    "take": "took taken",
    "keep": "kept",
    "throw": "threw thrown",
    "shake": "shook",
    "stick": "stuck",
    "hold": "held",
    "wear": "wore worn",
    "find": "found",
    "ride": "rode",
    "fall": "fell fallen",
    "fly": "flew",
    "let": "letting",
    "have": "has had",
}


PUNCTUATION = frozenset(".,;:!?/&+()")


@dataclass(frozen=True, slots=True)
class Chunk:
    """A phrase found in a text."""

    kind: Kind
    value: str
    start: int
    """Place of its first word."""
    stop: int
    """Place behind its last word."""


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """A word for what a car does or lacks, by the end of the car that is meant (``any`` if none is)."""

    bad: bool
    """Whether the word alone is a complaint."""
    much: Mapping[str, str]
    """What is complained of if there is too much of it."""
    little: Mapping[str, str]
    end: str
    phase: str
    request: bool
    """Said of what is to be done about it ("loosen it up"), wished or not."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Elsewhere:
    """What is answered to something that no change of set-up, or no number of this model, stands for."""

    subject: str
    numberless: bool
    """A matter of set-up, but one that the model has no number for."""
    first: bool
    """To be put right before anything else that the text says."""
    said: str
    near: tuple[str, ...]
    of: frozenset[str]
    """Things of which one of `states` says the same as the phrases of this remark: steering that is heavy."""
    states: frozenset[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is asked back where a text can mean two things."""

    said: str
    choices: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Lexicon:
    """All phrases, by their first word, and what they stand for."""

    phrases: Mapping[str, Sequence[tuple[tuple[str, ...], Kind, str]]]
    vocabulary: frozenset[str]
    weight: Mapping[str, int]
    """Of each word: 2 if it says something by itself, 1 if only together with others, 0 if neither."""
    alone: Mapping[str, frozenset[tuple[Kind, str]]]
    """What each word says that says something by itself."""
    states: Mapping[str, State]
    remarks: Mapping[str, Elsewhere]
    questions: Mapping[str, Asked]


@cache
def lexicon() -> Lexicon:
    """Return the words of drivers, read once."""
    states, remarks, asked = _file("states"), _file("remarks"), _file("questions")
    phrases: dict[str, list[tuple[tuple[str, ...], Kind, str]]] = defaultdict(list)
    for kind, value, phrase in _written(states, remarks):
        for words in _variants(phrase):
            phrases[words[0]].append((words, kind, value))
    return Lexicon(
        phrases=phrases,
        vocabulary=frozenset(word for found in phrases.values() for words, _, _ in found for word in words),
        weight=_weights(phrases),
        alone={
            first: frozenset(
                (kind, value) for words, kind, value in found if len(words) == 1 and kind != "filler"
            )
            for first, found in phrases.items()
        },
        states={
            name: State(
                bad=one.get("bad", False),
                much=_by_end(one.get("much", "")),
                little=_by_end(one.get("little", "")),
                end=one.get("end", ""),
                phase=one.get("phase", ""),
                request=one.get("request", False),
            )
            for name, one in states.items()
        },
        remarks={
            name: Elsewhere(
                subject=name.replace("_", " "),
                numberless=one["kind"] == "no number",
                first=one.get("first", False),
                said=one["said"],
                near=tuple(one["near"]),
                of=frozenset(one.get("of", "").split()),
                states=frozenset(one.get("is", "").split()),
            )
            for name, one in remarks.items()
        },
        questions={
            name: Asked(said=one["said"], choices=tuple(one["choices"])) for name, one in asked.items()
        },
    )


def chunks(words: Sequence[str]) -> list[Chunk]:
    """Return the phrases that together leave the fewest words unread, and are the fewest.

    Parameters
    ----------
    words : of a text, lower case, contractions written out; ``@3_5`` stands for corners by number.
    """
    count = len(words)
    best: list[tuple[float, Chunk | None]] = [(0.0, None)] * (count + 1)
    for start in reversed(range(count)):
        options = [_cost(one) for one in _at(words, start)]
        best[start] = min(
            ((cost + best[one.stop][0], one) for cost, one in options), key=lambda pair: pair[0]
        )
    found = []
    place = 0
    while place < count:
        chunk = best[place][1]
        assert chunk is not None
        found.append(chunk)
        place = chunk.stop
    return found


def with_remarks(clause: Sequence[Chunk], words: Sequence[str]) -> Sequence[Chunk]:
    """Return a clause with what is said of steering, brakes, tyres and the like as a remark on them."""
    if any(one.kind == "remark" for one in clause):
        return clause
    places = range(clause[0].start, clause[-1].stop)
    for name, remark in lexicon().remarks.items():
        things = [k for k in places if words[k] in remark.of]
        states = [k for k in places if words[k] in remark.states]
        pairs = [(a, b) for a in things for b in states if -1 <= b - a <= _APART and b != a]
        if pairs:
            state = pairs[0][1]
            kept = [one for one in clause if not one.start <= state < one.stop]
            return sorted([*kept, Chunk("remark", name, state, state + 1)], key=lambda one: one.start)
    return clause


_APART = 6
"""Words from a thing to what is said of it."""


def _cost(chunk: Chunk) -> tuple[float, Chunk]:
    if chunk.kind == "unread":
        return 10.0, chunk
    return 1.0 + 0.01 * _RANK[chunk.kind], chunk


def _at(words: Sequence[str], start: int) -> Iterator[Chunk]:
    if words[start] in PUNCTUATION:
        yield Chunk("cut", words[start], start, start + 1)
        return
    if words[start].startswith("@"):
        yield Chunk("corners", words[start][1:], start, start + 1)
        return
    yield Chunk("unread", words[start], start, start + 1)
    for phrase, kind, value in lexicon().phrases.get(words[start], ()):
        stop = start + len(phrase)
        if tuple(words[start:stop]) == phrase:
            yield Chunk(kind, value, start, stop)


# Files


def _file(name: str) -> dict[str, Any]:
    return tomllib.loads(files("fourpatch.advice").joinpath(f"words/{name}.toml").read_text("utf-8"))


def _weights(phrases: Mapping[str, Sequence[tuple[tuple[str, ...], Kind, str]]]) -> Mapping[str, int]:
    weights: dict[str, int] = defaultdict(int)
    for found in phrases.values():
        for words, kind, _ in found:
            if kind not in ("filler", "has"):
                for word in words:
                    alone = len(words) == 1 and kind != "remark"
                    weights[word] = max(weights[word], 2 if alone else 1)
    return weights


def _by_end(value: str | Mapping[str, str]) -> Mapping[str, str]:
    return {"any": value} if isinstance(value, str) else value


def _written(states: Mapping[str, Any], remarks: Mapping[str, Any]) -> Iterator[tuple[Kind, str, str]]:
    """Yield every phrase with its kind and what it stands for."""
    for kind, table in (("state", states), ("remark", remarks)):
        for name, one in table.items():
            yield from ((kind, name, phrase) for phrase in one["phrases"])  # type: ignore[misc]
    places, quantities = _file("places"), _file("quantities")
    tables: tuple[tuple[Kind, Mapping[str, Sequence[str]]], ...] = (
        ("told", places["phase"]["told"]),
        ("meant", places["phase"]["meant"]),
        ("turn in", {"entry": places["turn_in"]["phrases"]}),
        ("place", places["place"]),
        ("window", places["window"]),
        ("end", places["end"]),
        ("quantity", quantities["quantity"]),
        ("comparative", quantities["comparative"]),
        ("wish", quantities["wish"]),
        ("has", {"": quantities["has"]["phrases"]}),
        ("denial", {name: quantities["denial"][name] for name in ("not", "gone")}),
        ("hardly", {"": quantities["denial"]["hardly"]}),
        ("verdict", quantities["verdict"]),
        ("size", quantities["size"]),
        ("everywhere", {"": quantities["everywhere"]["phrases"]}),
        ("cut", {"": quantities["cut"]["phrases"]}),
        ("filler", {"": [word for line in quantities["filler"]["words"] for word in line.split()]}),
        ("filler", {"": quantities["filler"]["phrases"]}),
    )
    for kind, table in tables:
        for value, written in table.items():
            yield from ((kind, value, phrase) for phrase in written)


def _variants(phrase: str) -> Iterator[tuple[str, ...]]:
    slots = []
    for slot in phrase.split():
        words = [form for word in slot.rstrip("?").split("/") for form in _forms(word)]
        slots.append([*words, ""] if slot.endswith("?") else words)
    for chosen in product(*slots):
        words_left = tuple(word for word in chosen if word)
        if words_left:
            yield words_left


def _forms(word: str) -> Iterator[str]:
    """Yield a word with its endings if it is marked, doubled consonants and all."""
    if not word.endswith("~"):
        yield word
        return
    stem = word[:-1]
    yield stem
    if stem.endswith("e"):
        yield from (f"{stem}s", f"{stem[:-1]}ing", f"{stem}d")
    elif stem.endswith("y") and stem[-2] not in "aeou":
        yield from (f"{stem[:-1]}ies", f"{stem}ing", f"{stem[:-1]}ied")
    else:
        yield f"{stem}es" if stem.endswith(("sh", "ch", "s", "x", "z", "o")) else f"{stem}s"
        yield from (f"{stem}ing", f"{stem}ed", f"{stem}{stem[-1]}ing", f"{stem}{stem[-1]}ed")
        yield from (f"{stem}e", f"{stem}es") if stem in _WITHOUT_E else ()
    yield from _IRREGULAR.get(stem, "").split()


_WITHOUT_E = frozenset(
    "bounc porpois plung oscillat brak releas squeez wobbl struggl accelerat rattl".split()
)
"""Stems that the files write without their last letter."""
