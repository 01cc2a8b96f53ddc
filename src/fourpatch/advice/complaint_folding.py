"""Words of a clause that mean something else together than each by itself."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from fourpatch.advice.lexicon import PUNCTUATION, Chunk, lexicon

_REACH = 3
"""Words between a "not" and what it denies."""


def folded(chunks: Sequence[Chunk], words: Sequence[str]) -> list[Chunk]:
    """Return the phrases with what a "not" turns into its opposite turned."""
    found: list[Chunk] = []
    starts = {one.start for one in chunks}
    for chunk in chunks:
        if words[chunk.start : chunk.stop] == ("little",) and chunk.stop not in starts:
            continue  # "every little input"
        near = next((one for one in reversed(found) if one.kind in ("denial", "hardly")), None)
        if near is not None and chunk.start - near.stop > _REACH:
            near = None
        if chunk.kind == "verdict" and near is not None:
            found.remove(near)
            chunk = replace(chunk, value="bad" if chunk.value == "praise" else "praise", start=near.start)
        elif chunk.kind == "denial" and near is None and _twice_denied(chunk, found, words):
            found = [one for one in found if one.kind != "hardly"]
            continue
        elif chunk.kind == "quantity" and chunk.value == "fix" and near is not None:
            found.remove(near)
        elif chunk.kind == "quantity" and chunk.value == "enough":
            earlier = next((one for one in found if one.kind in ("denial", "hardly")), None)
            if earlier is not None:
                found.remove(earlier)
            chunk = replace(chunk, value="little" if earlier is not None else "enough")
        elif chunk.kind == "wish" and _tends(chunk, words):
            continue
        elif chunk.kind == "wish" and near is not None and near.kind == "denial":
            found.remove(near)
            chunk = replace(chunk, value="unwished")
        found.append(chunk)
    if found and found[-1].kind == "quantity" and words[found[-1].start : found[-1].stop] == ("too",):
        found.pop()  # behind the last word it is "also"
    return _loose(_disliked(found, words), words)


def _disliked(chunks: list[Chunk], words: Sequence[str]) -> list[Chunk]:
    """Read "I hate the understeer" of the understeer; of kerbs it is the car that hates them."""
    if {"kerb", "bumpy"} & {one.value for one in chunks if one.kind == "place"}:
        return chunks
    found = []
    for one in chunks:
        last = words[one.stop - 1]
        if one.value == "upset" and last in ("hate", "hates", "hated", "dislike", "dislikes", "like"):
            found.append(replace(one, kind="quantity", value="fix"))
        elif one.value != "upset" or last not in ("use", "take", "ride", "handle", "cope"):
            found.append(one)
    return found


def _twice_denied(chunk: Chunk, found: Sequence[Chunk], words: Sequence[str]) -> bool:
    """Say whether a "without" follows a "can not": "can't accelerate without wheelspin" has wheelspin."""
    return words[chunk.start] == "without" and any(one.kind == "hardly" for one in found)


def _tends(chunk: Chunk, words: Sequence[str]) -> bool:
    """Say whether it is the car that wants: "the rear wants to slide" is no wish."""
    earlier = words[max(0, chunk.start - 3) : chunk.start]
    if {"i", "we", "you", "would", "please", "to"} & set(words[max(0, chunk.start - 2) : chunk.stop - 1]):
        return False
    if words[chunk.start] in ("make", "makes"):
        return bool(earlier) and earlier[-1] not in PUNCTUATION  # "bumps make it hop"
    following = words[chunk.stop] if chunk.stop < len(words) else ""
    to = following == "to" or words[chunk.stop - 1] == "to"
    return to and words[chunk.start] in _WANTS and (words[chunk.start] != "want" or bool(earlier))


_WANTS = ("want", "wants", "wanting", "wanted", "likes", "prefers", "needs")


def without_purpose(chunks: list[Chunk], words: Sequence[str]) -> list[Chunk]:
    """Leave out what something is for: "not enough oversteer to get it turned"."""
    heads = [chunks[k] for k in head_places(chunks)]
    for one in heads[1:]:
        if words[one.start - 1] == "to" and "too" in words[chunks[0].start : heads[0].start]:
            return [other for other in chunks if other is not one]  # "too nervous to push"
        to = "to" in words[max(0, one.start - 2) : one.start + 1]
        if (
            to
            and one.kind == "state"
            and (not lexicon().states[one.value].bad or lexicon().states[one.value].request)
        ):
            return [other for other in chunks if other is not one]
    return chunks


def _loose(chunks: list[Chunk], words: Sequence[str]) -> list[Chunk]:
    """Read "lose on exit" as it is meant: nothing is lost there, and nobody is there to lose it."""
    if any(one.kind in ("state", "comparative", "end") for one in chunks):
        return chunks
    return [
        replace(one, kind="state", value="oversteer")
        if one.kind == "quantity"
        and words[one.start : one.stop] == ("lose",)
        and not _by_somebody(one, words)
        else one
        for one in chunks
    ]


def _by_somebody(chunk: Chunk, words: Sequence[str]) -> bool:
    return chunk.start > 0 and words[chunk.start - 1] in ("i", "we", "you", "they", "to")


def off_and_in(chunks: list[Chunk], clause: Sequence[Chunk], words: Sequence[str]) -> list[Chunk]:
    """Read "loose in, tight off": the last word of a clause, right behind what the car does."""
    for one, other in pairwise(clause):
        if one.kind == "filler" and words[one.start] == "off" and other.kind == "place":
            chunks = sorted([*chunks, Chunk("told", "exit", one.start, one.stop)], key=lambda c: c.start)
    last = clause[-1]
    if last.kind != "filler" or not chunks or chunks[-1].kind != "state":
        return chunks
    phase = _SHORT.get(words[last.start])
    if phase is None or chunks[-1].stop != last.start:
        return chunks
    return [*chunks, Chunk("told", phase, last.start, last.stop)]


_SHORT = {"in": "entry", "off": "exit", "out": "exit"}


def head_places(chunks: Sequence[Chunk]) -> list[int]:
    """Return the places of what says a fault or a quality, or praises."""
    return [k for k in range(len(chunks)) if _is_head(chunks, k)]


def _is_head(chunks: Sequence[Chunk], place: int) -> bool:
    one = chunks[place]
    if one.kind in ("state", "comparative"):
        return True
    if one.kind != "verdict" or one.value != "praise":
        return False
    # "Great grip" is one thing; "loose on exit fine on entry" are two.
    beside = [chunks[k].kind for k in (place - 1, place + 1) if 0 <= k < len(chunks)]
    return "state" not in beside
