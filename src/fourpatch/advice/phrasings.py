"""Lists of what drivers type, and how well they are read.

A line is a text, a tabulator and what it means: FAULT@PHASE/SPEED*DEGREE, joined by " + ", alternatives by
" | "; ~SUBJECT is no matter of set-up or has no number here, ? asks back, - is nothing to complain of.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from importlib.resources import files
from importlib.resources.abc import Traversable

from fourpatch.advice.complaint import OPPOSED, Behaviour, Complaint, refuse_contradictions
from fourpatch.advice.complaint_text import Reading, understood
from fourpatch.errors import AdviceError

FAULTS = {
    "us": "understeer",
    "os": "oversteer",
    "lockF": "locks fronts",
    "lockR": "locks rears",
    "spin": "spins the inside wheel",
    "lazy": "slow to answer",
    "darty": "nervous",
    "nervous": "nervous",
    "wander": "nervous",
    "float": "floats",
    "hop": "hops",
    "bump": "hops",
    "kerb": "thrown off kerbs",
    "bottom": "bottoms",
    "incons": "inconsistent",
}
"""Marks of the lists, and the behaviour each stands for."""

NUMBERLESS = {
    "roll": "roll",
    "dive": "dive",
    "squat": "squat",
    "gearing": "gearing",
    "topspeed": "top speed",
    "brakepower": "brake power",
}
"""Marks of what is a matter of set-up that the model has no number for, and the remark on it."""

SUBJECTS = {
    "tyres": ("worn tyres", "hot tyres", "cold tyres"),
    "driver": ("driving", "laps", "pace"),
    "damage": ("damage",),
    "pull": ("pull", "damage"),
    "vibration": ("damage",),
    "abs": ("electronics",),
    "gearbox": ("engine",),
    "overall": ("overall grip",),
}
"""Marks of what is not a matter of set-up, and the remarks that answer it, where the name differs."""

_DEGREES = {"bit": ("a little",), "lot": ("badly", "clearly"), "": ("", "clearly")}
_READING = re.compile(r"(?P<fault>\w+)(@(?P<phase>\w+))?(/(?P<speed>\w+))?(\*(?P<degree>\w+))?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """A phrasing, what it means and what came of it."""

    text: str
    meaning: str
    reading: Reading
    right: bool
    opposite: bool


def own_list() -> Traversable:
    """Return where our own list of phrasings stands."""
    return files("fourpatch.advice").joinpath("words/phrasings.tsv")


def phrasings(path: Traversable) -> Iterator[tuple[str, str]]:
    """Yield the phrasings of a list with what each means."""
    for line in path.read_text("utf-8").splitlines():
        if line and not line.startswith("#"):
            text, meaning = line.split("\t")
            yield text, meaning


def judged(path: Traversable) -> list[Judged]:
    """Return every phrasing of a list, judged."""
    return [judge(text, meaning) for text, meaning in phrasings(path)]


def judge(text: str, meaning: str) -> Judged:
    """Return a phrasing judged by its meaning, in the notation of the lists."""
    reading = understood(text)
    means = [[part.strip() for part in one.split(" + ")] for one in meaning.split(" | ")]
    return Judged(
        text=text,
        meaning=meaning,
        reading=reading,
        right=any(_meets(reading, parts) for parts in means),
        opposite=_opposite(reading, means) and not _refused(reading),
    )


def _meets(reading: Reading, parts: list[str]) -> bool:
    """Say whether a reading is one meaning, no more and no less."""
    left = list(reading.complaints)
    subjects = {one.about.subject for one in reading.remarks}
    asked = False
    for part in parts:
        if part == "?":
            asked = True
        elif part.startswith("~"):
            named = SUBJECTS.get(part[1:], (part[1:],))
            found = subjects & set(named)
            if not found:
                return False
            subjects -= set(named)
        elif part != "-" and (numberless := NUMBERLESS.get(re.split(r"[@/*]", part)[0])):
            if numberless not in subjects:
                return False
            subjects.remove(numberless)
        elif part != "-":
            match = next((one for one in left if _is(one, part)), None)
            if match is None:
                return False
            left.remove(match)
    if parts == ["-"]:
        return not left and not subjects and reading.question is None
    # What a driver does wrong or a car has broken is answered with what may be left of the complaint.
    asks = reading.question is not None and not any(one.about.first for one in reading.remarks)
    return not left and not subjects and asks == asked


def _is(one: Complaint, part: str) -> bool:
    found = _READING.fullmatch(part)
    assert found is not None, part
    over_kerbs = found["fault"] == "kerb" and (one.behaviour, one.place) == ("hops", "kerb")
    if FAULTS[found["fault"]] != one.behaviour and not over_kerbs:
        return False
    phase = found["phase"] or ""
    always = {
        "spin": "exit",
        "lockF": "braking",
        "lockR": "braking",
        "bottom": one.phase,
        "wander": one.phase,
    }
    same_phase = phase == one.phase or (not one.phase and phase == always.get(found["fault"]))
    same_phase |= found["fault"] in ("bottom", "wander", "bump", "kerb")
    speed = f"{found['speed']} corner" if found["speed"] else ""
    place = one.place if one.place.endswith("corner") else ""
    return same_phase and speed == place and one.size in _DEGREES[found["degree"] or ""]


def _refused(reading: Reading) -> bool:
    """Say whether its complaints contradict each other, so that the driver is asked instead of answered."""
    try:
        refuse_contradictions(reading.complaints)
    except AdviceError:
        return True
    return False


def _opposite(reading: Reading, means: list[list[str]]) -> bool:
    """Say whether something is read of which every meaning says the opposite in the same phase."""
    against = {a: b for pair in OPPOSED for a, b in (pair, pair[::-1])}
    return any(
        all(
            any(_against(one, part, against) for part in parts)
            and not any(_same(one, part) for part in parts)
            for parts in means
        )
        for one in reading.complaints
    )


def _same(one: Complaint, part: str) -> bool:
    found = _READING.fullmatch(part)
    return (
        found is not None
        and FAULTS.get(found["fault"]) == one.behaviour
        and found["phase"] == (one.phase or None)
    )


def _against(one: Complaint, part: str, against: Mapping[Behaviour, Behaviour]) -> bool:
    found = _READING.fullmatch(part)
    if found is None or found["fault"] not in FAULTS:
        return False
    speed = f"{found['speed']} corner" if found["speed"] else ""
    apart = found["phase"] and one.phase and found["phase"] != one.phase
    apart = apart or (speed and one.place and speed != one.place)
    return against.get(one.behaviour) == FAULTS[found["fault"]] and not apart
