"""The words of a typed text: contractions written out, numbers of corners marked, slips mended."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache

from rapidfuzz import process
from rapidfuzz.distance import OSA
from spellchecker import SpellChecker

from fourpatch.advice.corner_numbers import corners_marked
from fourpatch.advice.lexicon import lexicon

_WORD = re.compile(r"@[\d_]+|\d+(?:st|nd|rd|th)?|[^\W\d_]+(?:'[^\W\d_]+)*|[.,;:!?/&+()]")

_WRITTEN_OUT = {
    "won't": "will not",
    "wont": "will not",
    "can't": "can not",
    "cant": "can not",
    "cannot": "can not",
    "shan't": "shall not",
    "ain't": "is not",
    "aint": "is not",
    "i'm": "i am",
    "im": "i am",
    "i'd": "i would",
    "id": "i would",
    "i've": "i have",
    "ive": "i have",
    "i'll": "i will",
    "it's": "it is",
    "its": "its",
    "gonna": "going to",
    "wanna": "want to",
    "doesn": "does not",
    "u/s": "understeer",
    "o/s": "oversteer",
    "os": "oversteer",
    "ofthe": "of the",
    "w/": "with",
    "tire": "tyre",
    "tires": "tyres",
    "alot": "a lot",
    "abit": "a bit",
    "abs": "abs",
    "t/c": "tc",
    "thru": "through",
    "turnin": "turn in",
    "esses": "esses",
    "everytime": "every time",
    "allright": "all right",
}
_NOT = re.compile(r"(do|does|did|is|are|was|were|would|could|should|has|have|had|must|need|might)n'?t")
_OTHER_ENDING = re.compile(r"(.+)'(s|re|ve|d|ll)")
_ENDINGS = {"s": "is", "re": "are", "ve": "have", "d": "would", "ll": "will"}

_RARE = 2000
"""Count in the speller's list below which an English word may be a slip of a far commoner one."""
_COMMONER = 30.0
"""How much commoner that one must be."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TypedWords:
    """Words of a text as they are read, and as they were typed."""

    words: tuple[str, ...]
    typed: tuple[str, ...]
    """The same as typed; what was written out stands at its first word, the others are empty."""
    slips: tuple[tuple[str, str], ...]
    """As typed, and as taken."""


def typed_words(text: str) -> TypedWords:
    """Return the words of a text, slips mended.

    Notes
    -----
    A word that is neither known here nor English is taken for the nearest known one within an optimal string
    alignment distance of 1 (from 7 letters on 2, from 11 letters on 3); an English one only for a far
    commoner word of the same letters. Of several, the one with the same letters, then the one that says
    most. Choices of this project.
    """
    plain = text.replace("\N{RIGHT SINGLE QUOTATION MARK}", "'").replace("_", " ")
    plain = re.sub(r"(?i)\b([uo])/s\b", lambda m: {"u": "understeer", "o": "oversteer"}[m[1].lower()], plain)
    shouted = plain.isupper()
    words: list[str] = []
    typed: list[str] = []
    slips: list[tuple[str, str]] = []
    for found in _WORD.findall(corners_marked(plain)):
        word = found.lower()
        written = "understeer" if found == "US" and not shouted else _written_out(word)
        if not written and word[0].isalpha():
            written = _mended(word)
            if written and written != word:
                slips.append((word, written))
        several = (written or word).split()
        words += several
        typed += [found, *[""] * (len(several) - 1)]
    return TypedWords(words=tuple(words), typed=tuple(typed), slips=tuple(dict.fromkeys(slips)))


def _written_out(word: str) -> str:
    """Return a known word, contractions as the words they stand for; empty if it is not known."""
    if word in _WRITTEN_OUT:
        return _WRITTEN_OUT[word]
    if word in lexicon().vocabulary or not word[0].isalpha():
        return word
    if denied := _NOT.fullmatch(word):
        return f"{denied[1]} not"
    if (ending := _OTHER_ENDING.fullmatch(word)) and ending[1] in lexicon().vocabulary:
        return f"{ending[1]} {_ENDINGS[ending[2]]}"
    return ""


def _mended(word: str) -> str:
    """Return the known word or words that one with a slip stands for; empty if none is near."""
    short = re.sub(r"(.)\1{2,}", r"\1\1", word)
    for once in (short, re.sub(r"(.)\1{2,}", r"\1", word)):
        if once != word and (known := _written_out(once)):
            return known
    near = _nearest(short)
    if near and not _english(word, near):
        return near
    return "" if _count(word) else next(_halves(short), "")


def _nearest(word: str) -> str:
    count = len(word)
    if count < 3:
        return ""
    most = 1 if count < 7 else 2 if count < 11 else 3
    found = [
        (distance, near)
        for near, distance, _ in process.extract(
            word, _known(), scorer=OSA.distance, score_cutoff=most, limit=None
        )
        if abs(len(near) - count) <= most
        and (distance == 1 or near[0] == word[0])
        and (count > 3 or sorted(near) == sorted(word))
    ]
    if not found:
        return ""
    least = min(distance for distance, _ in found)
    closest = [near for distance, near in found if distance == least]
    same = [near for near in closest if near[0] == word[0]] or closest
    ranked = sorted(same, key=lambda near: (_likeness(word, near), _count(near)), reverse=True)
    alike = [near for near in ranked if _likeness(word, near) == _likeness(word, ranked[0])]
    meanings = {lexicon().alone.get(near, frozenset()) for near in alike}
    # Between words that say different things it is not guessed: a slip must not turn a complaint round.
    return ranked[0] if len(meanings) == 1 else ""


def _likeness(word: str, near: str) -> tuple[bool, bool, int, bool, bool]:
    """Return how likely a word is meant by another one, best highest."""
    return (
        sorted(near) == sorted(word),
        _by_the_next_key(word, near),
        lexicon().weight[near],
        near[0] == word[0],
        near[-2:] == word[-2:],
    )


_KEYS = ("qwertyuiop", "asdfghjkl", "zxcvbnm")


def _by_the_next_key(word: str, near: str) -> bool:
    """Say whether one letter was typed by the key beside its own."""
    if len(word) != len(near):
        return False
    wrong = [(a, b) for a, b in zip(word, near, strict=True) if a != b]
    return len(wrong) == 1 and any(
        a in row and b in row and abs(row.index(a) - row.index(b)) == 1 for a, b in wrong for row in _KEYS
    )


def _halves(word: str) -> Iterator[str]:
    known = lexicon().vocabulary
    for cut in range(3, len(word) - 2):
        if word[:cut] in known and word[cut:] in known:
            yield f"{word[:cut]} {word[cut:]}"


@cache
def _known() -> list[str]:
    return sorted(word for word in lexicon().vocabulary if len(word) > 2)


def _english(word: str, near: str) -> bool:
    """Say whether a word is meant as typed, although another one is near."""
    count = _count(word)
    slip = count < _RARE and sorted(word) == sorted(near) and _count(near) > _COMMONER * count
    return bool(count) and not slip


def common(word: str) -> bool:
    """Say whether a word is common in English, so that leaving it out loses little."""
    return _count(word) > _COMMON


_COMMON = 3_000
"""Count in the speller's list."""


def _count(word: str) -> int:
    return int(_counts().get(word, 0))


@cache
def _counts() -> Mapping[str, int]:
    return SpellChecker(language="en").word_frequency.dictionary
