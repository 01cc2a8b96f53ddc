"""Typed complaints: what each sentence is read as, and what is refused."""

import pytest

from fourpatch.advice.complaint import OPPOSED, Complaint, refuse_contradictions
from fourpatch.advice.complaint_text import nearest_readings, read_complaint
from fourpatch.errors import AdviceError

# Words of the trade, common practice, no published source: behaviour, phase, half of it, place, end, size.
READ = {
    "pushes on entry in slow corners": [("understeer", "entry", "", "slow corner", "", "")],
    "Pushes on ENTRY.": [("understeer", "entry", "", "", "", "")],
    "understeers at the apex": [("understeer", "mid", "", "", "", "")],
    "mid-corner understeer in fast sweepers": [("understeer", "mid", "", "fast corner", "", "")],
    "won't turn in": [("understeer", "entry", "", "", "", "")],
    "doesn't rotate mid-corner": [("understeer", "mid", "", "", "", "")],
    "washes out on the throttle": [("understeer", "exit", "", "", "", "")],
    "the front slides first under power": [("understeer", "exit", "", "", "", "")],
    "runs wide on exit": [("understeer", "exit", "", "", "", "")],
    "rear steps out under braking": [("oversteer", "braking", "", "", "", "")],
    "the back end comes round when I release the brakes": [("oversteer", "entry", "", "", "", "")],
    "loose on the power out of hairpins": [("oversteer", "exit", "", "slow corner", "", "")],
    "snaps off the throttle": [("oversteer", "entry", "", "", "", "")],
    "tail happy on early entry": [("oversteer", "entry", "early", "", "", "")],
    "late in the entry it goes loose": [("oversteer", "entry", "late", "", "", "")],
    "a bit loose in medium-speed corners": [("oversteer", "", "", "medium corner", "", "a little")],
    "pushes badly at mid-corner": [("understeer", "mid", "", "", "", "badly")],
    "nervous at high speed": [("nervous", "", "", "fast corner", "", "")],
    "twitchy over bumps": [("nervous", "", "", "bumpy", "", "")],
    "lazy steering response": [("slow to answer", "", "", "", "", "")],
    "slow to respond": [("slow to answer", "", "", "", "", "")],
    "floats on the straights": [("floats", "straight", "", "", "", "")],
    "hops over bumps at the rear": [("hops", "", "", "bumpy", "rear", "")],
    "the front skips over the rough parts": [("hops", "", "", "bumpy", "front", "")],
    "thrown off kerbs": [("thrown off kerbs", "", "", "", "", "")],
    "the curbs launch the car": [("thrown off kerbs", "", "", "", "", "")],
    "bottoms at the front on the straight": [("bottoms", "straight", "", "", "front", "")],
    "locks the fronts into the hairpin": [("locks fronts", "", "", "slow corner", "", "")],
    "front tyres lock up under heavy braking": [("locks fronts", "braking", "", "", "", "")],
    "rear brakes lock on turn-in": [("locks rears", "entry", "", "", "", "")],
    "spins the inside wheel on exit of slow corners": [
        ("spins the inside wheel", "exit", "", "slow corner", "", "")
    ],
    "inner rear wheel spins": [("spins the inside wheel", "", "", "", "", "")],
    "wheelspin out of hairpins": [("spins the inside wheel", "exit", "", "slow corner", "", "")],
    "unpredictable": [("inconsistent", "", "", "", "", "")],
    "pushes on entry and loose on exit": [
        ("understeer", "entry", "", "", "", ""),
        ("oversteer", "exit", "", "", "", ""),
    ],
    "pushes on entry and mid, but loose on exit in slow corners": [
        ("understeer", "entry", "", "slow corner", "", ""),
        ("understeer", "mid", "", "slow corner", "", ""),
        ("oversteer", "exit", "", "slow corner", "", ""),
    ],
    "understeers in slow corners and oversteers in fast corners": [
        ("understeer", "", "", "slow corner", "", ""),
        ("oversteer", "", "", "fast corner", "", ""),
    ],
    "in slow corners, on entry, it pushes": [("understeer", "entry", "", "slow corner", "", "")],
    "pushes early on entry and loose late on entry": [
        ("understeer", "entry", "early", "", "", ""),
        ("oversteer", "entry", "late", "", "", ""),
    ],
    "loose on entry but not on exit": [("oversteer", "entry", "", "", "", "")],
    "pushes on entry, mid-corner is fine": [("understeer", "entry", "", "", "", "")],
}


@pytest.mark.parametrize("typed", READ)
def test_a_sentence_is_read_as(typed: str) -> None:
    found = [
        (one.behaviour, one.phase, one.window, one.place, one.end, one.size)
        for one in read_complaint(typed).complaints
    ]
    assert found == READ[typed]


# The same; numbers are those of a track's corners.
NUMBERED = {
    "pushes on entry in turn 3": [("understeer", "entry", "", (3,))],
    "T3 pushes on entry": [("understeer", "entry", "", (3,))],
    "won't turn in at T 4": [("understeer", "entry", "", (4,))],
    "loose on exit of corners 3, 5 and 7": [("oversteer", "exit", "", (3, 5, 7))],
    "pushes on entry in turns 3-5": [("understeer", "entry", "", (3, 4, 5))],
    "pushes on entry in corners 3 to 5 and 8": [("understeer", "entry", "", (3, 4, 5, 8))],
    "pushes in T3/T5 and loose in T7": [("understeer", "", "", (3, 5)), ("oversteer", "", "", (7,))],
    "pushes on entry and loose on exit in turn 3": [
        ("understeer", "entry", "", (3,)),
        ("oversteer", "exit", "", (3,)),
    ],
    "pushes mid-corner in T1 & T2, not in T4": [("understeer", "mid", "", (1, 2))],
    "pushes on entry in turn 3, in turn 8 as well": [("understeer", "entry", "", (3, 8))],
    "in the third corner it pushes": [("understeer", "", "", (3,))],
    "loose on exit in third gear corners": [("oversteer", "exit", "medium corner", ())],
    "hops over bumps in turn five": [("hops", "", "bumpy", (5,))],
    "thrown off the kerb at the 2nd corner": [("thrown off kerbs", "", "", (2,))],
    "locks fronts into turn 1": [("locks fronts", "", "", (1,))],  # braked into it, so locked before it
    "nervous in fast corners, slow to answer in turn 2": [
        ("nervous", "", "fast corner", ()),
        ("slow to answer", "", "", (2,)),
    ],
}


@pytest.mark.parametrize("typed", NUMBERED)
def test_corner_numbers_are_read(typed: str) -> None:
    reading = read_complaint(typed)
    found = [(one.behaviour, one.phase, one.place, one.corners) for one in reading.complaints]
    assert found == NUMBERED[typed]
    assert not any("@" in text for text in (*reading.unread, *reading.denied))


def test_what_is_read_is_read_again_from_its_own_words() -> None:
    for typed in NUMBERED:
        for one in read_complaint(typed).complaints:
            assert read_complaint(one.text()).complaints == (one,)


def test_opposed_in_other_corners_is_no_contradiction() -> None:
    assert len(read_complaint("pushes on entry in T3 and loose on entry in T4").complaints) == 2
    with pytest.raises(AdviceError, match="corner 3"):
        read_complaint("pushes on entry in T3 and loose on entry in T3 to T5")


def test_words_that_mean_nothing_are_named() -> None:
    assert read_complaint("pushes in sector 3").unread == ("sector", "3")


def test_what_is_denied_is_left_out() -> None:
    assert read_complaint("loose on entry but not on exit").denied == ("not on exit",)


@pytest.mark.parametrize("typed", ["blah", "", "purple haze", "qwop zxcv"])
def test_the_unread_gets_nearest_readings(typed: str) -> None:
    with pytest.raises(AdviceError, match="Nearest readings: ") as caught:
        read_complaint(typed)
    for near in nearest_readings(typed.lower()):
        assert f'"{near}"' in str(caught.value)
        assert read_complaint(near).complaints  # whatever is offered can be read


def test_a_slip_of_the_pen_is_mended_and_said() -> None:
    reading = read_complaint("pushs on entri in slow conrers")
    assert [one.text() for one in reading.complaints] == ["understeer on entry in slow corners"]
    assert dict(reading.slips) == {"pushs": "push", "entri": "entry", "conrers": "corners"}


@pytest.mark.parametrize("typed", ["it does not push", "the car is good", "no understeer or oversteer"])
def test_a_denial_or_praise_alone_is_no_complaint(typed: str) -> None:
    with pytest.raises(AdviceError, match="only what the car does not do, or does well"):
        read_complaint(typed)


@pytest.mark.parametrize("pair", OPPOSED)
def test_contradictions_are_named(pair: tuple[str, str]) -> None:
    one, other = (Complaint(behaviour=behaviour, phase="entry") for behaviour in pair)  # type: ignore[arg-type]
    with pytest.raises(AdviceError, match="contradict each other") as caught:
        refuse_contradictions([one, other])
    assert one.text() in str(caught.value)
    assert other.text() in str(caught.value)


def test_opposites_apart_do_not_contradict() -> None:
    for differing in ("phase", "window", "place"):
        values = {
            "phase": ("entry", "exit"),
            "window": ("early", "late"),
            "place": ("slow corner", "fast corner"),
        }
        first, second = values[differing]
        read = [
            Complaint(**{"behaviour": behaviour, "phase": "mid", differing: value})  # type: ignore[arg-type]
            for behaviour, value in (("understeer", first), ("oversteer", second))
        ]
        refuse_contradictions(read)


def test_our_own_words_are_read_back() -> None:
    for typed in READ:
        for one in read_complaint(typed).complaints:
            again = read_complaint(one.text()).complaints
            assert again == (one,)


@pytest.mark.parametrize(
    ("text", "size"),
    [
        ("loose on exit in turn 8 too", ""),
        ("pushes in turn 3 too, and hops over bumps", ""),
        ("pushes too much in turn 8", "clearly"),
        ("too loose on exit in turn 8", "clearly"),
    ],
)
def test_too_behind_the_last_word_is_also_and_no_size(text: str, size: str) -> None:
    assert read_complaint(text).complaints[0].size == size
