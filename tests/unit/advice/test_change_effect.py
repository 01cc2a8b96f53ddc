from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from fourpatch.advice.change_effect import change_effect
from fourpatch.errors import AdviceError
from fourpatch.picture.change_effect_words import effect_details, effect_sentences
from fourpatch.recording.timed_laps import TimedLap, read_timed_laps

QUIET = (0.05, -0.02, 0.0, 0.03, -0.06, 0.02, -0.04, 0.01)


def day(*runs: tuple[str, float], scatter: float = 1.0, parts: Sequence[str] = ()) -> list[TimedLap]:
    """Return laps of runs: set-up and level of each."""
    return [
        TimedLap(
            run=run,
            setup=setup,
            lap=lap,
            time=round(level + scatter * by, 3),
            parts={
                name: round(30.0 + (level - 95.0) * (k == 0) + 0.3 * QUIET[(lap + 3 * k + run) % 8], 3)
                for k, name in enumerate(parts)
            },
        )
        for run, (setup, level) in enumerate(runs, start=1)
        for lap, by in enumerate(QUIET, start=1)
    ]


def said(laps: Sequence[TimedLap]) -> str:
    found = change_effect(laps)
    return " ".join([*effect_sentences(found), *effect_details(found)])


def test_a_clear_gain_is_said_with_its_place() -> None:
    laps = day(("A", 95.0), ("B", 94.7), ("A", 95.0), parts=("S1", "S2", "S3"))
    found = change_effect(laps)
    assert found.lap.verdict == "quicker"
    assert found.lap.low < -0.3 < found.lap.high
    assert [one.verdict for one in found.parts] == ["quicker", *["open"] * 2] or [
        one.verdict for one in found.parts
    ] == ["quicker", "alike", "alike"]
    assert "B is probably" in said(laps)
    assert "quicker than A, in S1; nothing to see elsewhere." in said(laps)
    assert found.more == ()
    assert found.back == "yes"


def test_no_difference_is_told_from_not_knowing() -> None:
    assert change_effect(day(("A", 95.0), ("B", 95.0), ("A", 95.0), scatter=0.2)).lap.verdict == "alike"
    unsure = change_effect(day(("A", 95.0), ("B", 94.96), ("A", 95.0), scatter=8.0))
    assert unsure.lap.verdict == "open"
    assert unsure.more == ()
    assert "judge by what the driver feels" in " ".join(effect_sentences(unsure))


def test_more_laps_go_on_in_turn_and_would_do() -> None:
    laps = day(("A", 95.0), ("B", 94.85), ("A", 95.0), scatter=4.5)
    found = change_effect(laps)
    assert found.lap.verdict == "open"
    (more,) = found.more
    assert [one.setup for one in more.runs][:2] == ["B", "A"]
    assert sum(one.laps for one in more.runs) == more.laps
    assert f"{more.laps} more laps would tell it with 80 % chance" in said(laps)


def test_without_the_way_back_the_track_is_allowed_for() -> None:
    there = change_effect(day(("A", 95.0), ("B", 94.7)))
    back = change_effect(day(("A", 95.0), ("B", 94.7), ("A", 95.0)))
    # Eight laps apart at 0.02 % a lap of 95 s.
    assert there.allowance == pytest.approx(8 * 2e-4 * there.usual)
    assert back.allowance == 0.0
    assert "Drive A once more." in said(day(("A", 95.0), ("B", 94.7)))
    # A change of the size of the allowance may be the track, however alike the laps are.
    small = change_effect(day(("A", 95.0), ("B", 94.85), scatter=0.2))
    assert small.lap.verdict == "open"
    assert small.lap.chance > 0.1


def test_a_change_from_the_seat_needs_no_allowance() -> None:
    one_run = [replace(lap, run=1, lap=k + 1) for k, lap in enumerate(day(("A", 95.0), ("B", 94.7)))]
    assert change_effect(one_run).allowance == 0.0


def test_a_spoiled_lap_hardly_counts_and_is_named() -> None:
    laps = day(("A", 95.0), ("B", 94.7), ("A", 95.0))
    clean = change_effect(laps)
    laps[10] = replace(laps[10], time=99.0)
    found = change_effect(laps)
    assert found.lap.change == pytest.approx(clean.lap.change, abs=0.03)  # a third of the scatter of a lap
    assert [(one.run, one.lap) for one in found.spoiled] == [(2, 3)]
    assert "run 2, lap 3 (1 min 39.00 s, 4.3 s slower)" in said(laps)


def test_marked_laps_do_not_count() -> None:
    laps = day(("A", 95.0), ("B", 94.7), ("A", 95.0))
    without = change_effect([one for one in laps if (one.run, one.lap) != (2, 8)])
    marked = change_effect([replace(one, left_out=(one.run, one.lap) == (2, 8)) for one in laps])
    assert marked.marked == 1
    # The lap was driven: what follows is a lap later in the day, which shifts the line a little.
    assert marked.lap.change == pytest.approx(without.lap.change, abs=2e-3)


def test_fuel_is_told_where_runs_differ_in_it() -> None:
    laps = [
        replace(one, fuel=fuel, time=one.time + 0.03 * fuel)
        for one in day(("A", 95.0), ("B", 94.7), ("A", 95.0), ("B", 94.7))
        for fuel in [(40.0, 10.0, 10.0, 40.0)[one.run - 1] - 1.5 * one.lap * (1.0 + 0.3 * (one.run % 2))]
    ]
    found = change_effect(laps)
    assert "per kilogram of fuel" in {one.name for one in found.trends}
    assert found.lap.low < -0.3 < found.lap.high


def test_times_alike_to_their_last_digit_leave_that_digit_open() -> None:
    found = change_effect(read_timed_laps("A 92.1 92.1 92.1\nB 92.2 92.2 92.2\nA 92.1 92.1 92.1"))
    assert found.lap.change == pytest.approx(0.1)
    assert found.lap.scatter == pytest.approx(0.1 / np.sqrt(12.0))
    assert found.lap.low < 0.1 < found.lap.high


@pytest.mark.parametrize(
    ("text", "names", "said"),
    [
        ("A 92 93 92", {}, "all laps are with one set-up, A"),
        ("A 92 93 92\nB 91 92", {}, "set-up B: 2 laps count, and it takes 3"),
        ("A 92 93 92\nB 91 92 91\nC 91 92 91", {}, "there are 3 set-ups: A, B, C"),
        ("A 92 93 92\nB 91 92 91", {"after": "D"}, 'set-up "D": no lap'),
    ],
)
def test_what_cannot_be_compared_is_refused(text: str, names: dict[str, str], said: str) -> None:
    with pytest.raises(AdviceError, match=said):
        change_effect(read_timed_laps(text), **names)


def test_two_of_three_can_be_chosen() -> None:
    laps = day(("A", 95.0), ("B", 94.7), ("C", 94.0))
    found = change_effect(laps, before="A", after="C")
    assert (found.before, found.after) == ("A", "C")
    assert found.lap.low < -1.0 < found.lap.high


def test_many_parts_that_do_nothing_are_seldom_told() -> None:
    rng = np.random.default_rng(11)
    told = 0
    for _ in range(40):
        laps = [
            replace(one, parts={f"c{k}": round(5.0 + rng.normal(0.0, 0.05), 3) for k in range(12)})
            for one in day(("A", 95.0), ("B", 95.0), ("A", 95.0))
        ]
        told += any(one.verdict in ("quicker", "slower") for one in change_effect(laps).parts)
    # One day in ten by Holm; of 40 days more than ten have a chance of one in a hundred.
    assert told <= 10
