"""How much of a fault or a quality a clause says there is: too much of it, too little, or nothing wrong."""

from collections.abc import Sequence
from typing import Literal

from fourpatch.advice.lexicon import Chunk, State

Amount = Literal["much", "little", "none", "ask"]
"""What is complained of: too much of it, too little of it, nothing; or it must be asked which."""


def amount_of(part: Sequence[Chunk], state: State, words: Sequence[str], *, comparative: bool) -> Amount:
    """Return whether there is too much of it, too little, or nothing to complain of."""
    kinds = {one.kind for one in part}
    quantities = {one.value for one in part if one.kind == "quantity"}
    quantities |= {"more"} if comparative else set()
    wishes = {one.value for one in part if one.kind == "wish"}
    if wishes == {"soft"} and "has" in kinds:
        wishes = set()
    denied = _denied(part, state)
    if "little" in quantities:
        return "none" if denied else "little"
    if "scarce" in quantities:
        return "none" if state.bad or denied else "little"
    if "much" in quantities:
        return "none" if denied or "hardly" in kinds else "much"
    if "fix" in quantities:
        return "much" if state.bad else "little"
    if "less" in quantities:
        return _less(state, wishes, denied=denied, has="has" in kinds)
    if "more" in quantities:
        return _more(state, wishes, denied=denied, has="has" in kinds)
    if "unwished" in wishes:
        return "much"
    if denied or "hardly" in kinds:
        return "none" if state.bad else "little"
    return _plain(part, state, words, wishes)


def called_bad(part: Sequence[Chunk], words: Sequence[str]) -> bool:
    """Say whether something is called bad, also by how bad it is ("really bad")."""
    return any(
        (one.kind == "verdict" and one.value == "bad")
        or (one.kind == "size" and words[one.stop - 1] in ("bad", "terribly", "horribly"))
        for one in part
    )


def _denied(part: Sequence[Chunk], state: State) -> bool:
    """Say whether a fault is said not to be there; "lets go without warning" does not."""
    heads = [one.start for one in part if one.kind in ("state", "comparative")]
    first = heads[0] if heads and state.bad else part[-1].stop
    return any(one.kind == "denial" and (one.value == "gone" or one.start <= first) for one in part)


def _less(state: State, wishes: set[str], *, denied: bool, has: bool) -> Amount:
    if "unwished" in wishes or denied:
        return "ask"
    if wishes:
        return "much"
    if has:
        return "none" if state.bad else "little"
    return "much" if state.bad else "ask"


def _more(state: State, wishes: set[str], *, denied: bool, has: bool) -> Amount:
    if "unwished" in wishes:
        return "much"
    if wishes:
        return "little"
    if denied:
        return "none" if state.bad else "little"
    if has:
        return "much"
    return "ask" if state.bad else "little"


def _plain(part: Sequence[Chunk], state: State, words: Sequence[str], wishes: set[str]) -> Amount:
    """Without "more" or "less", "too much" or "not"."""
    if not state.bad:
        return "little" if wishes or called_bad(part, words) else "none"
    if "strong" not in wishes:
        return "much"
    # "I want it to push a bit" is a wish; "I want ... understeer" may be half a sentence.
    small = any(one.kind == "size" and one.value == "a little" for one in part)
    return "little" if small else "ask"
