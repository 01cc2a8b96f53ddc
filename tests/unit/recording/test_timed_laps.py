import pytest

from fourpatch.errors import RecordingError
from fourpatch.recording.timed_laps import read_timed_laps


@pytest.mark.parametrize(
    ("written", "seconds"),
    [
        ("1:32.41", 92.41),
        ("92.41", 92.41),
        ("92,41", 92.41),
        ("1'32\"41", 92.41),
        ("1:02:03.5", 3723.5 - 3600.0),
    ],
)
def test_times_as_people_write_them(written: str, seconds: float) -> None:
    if written == "1:02:03.5":  # an hour and more is no lap
        with pytest.raises(RecordingError, match="outside 1 to 3600 s"):
            read_timed_laps(f"A: {written}")
    else:
        assert read_timed_laps(f"A: {written}")[0].time == pytest.approx(seconds, abs=1e-9)


def test_lines_are_runs_and_marks_leave_out() -> None:
    laps = read_timed_laps(
        "# Saturday\nsoft bar: 1:38.0 x, 1:35.41; 1:35.2 (windy) 1:36.9 traffic\nstiff bar: 95.1,95.2\n"
    )
    assert [(one.run, one.setup, one.lap, one.left_out) for one in laps] == [
        (1, "soft bar", 1, True),
        (1, "soft bar", 2, False),
        (1, "soft bar", 3, False),
        (1, "soft bar", 4, True),
        (2, "stiff bar", 1, False),
        (2, "stiff bar", 2, False),
    ]
    assert laps[2].note == "windy"


@pytest.mark.parametrize("sign", [",", ";", "\t", "|"])
def test_a_table_with_sectors(sign: str) -> None:
    rows = [
        ("Run", "Set-up", "Lap time [s]", "Sector 1", "Sector 2", "Fuel [kg]", "Note"),
        ("1", "A", "1:31.5", "40.1", "51.4", "22 kg", "out lap"),
        ("1", "A", "1:30.5", "40.0", "", "21", ""),
        ("2", "B", "1:30.0x", "39.5", "50.5", "", ""),
    ]
    laps = read_timed_laps("\n".join(sign.join(row) for row in rows))
    assert [(one.run, one.lap, one.time, one.left_out) for one in laps] == [
        (1, 1, 91.5, True),
        (1, 2, 90.5, False),
        (2, 1, 90.0, True),
    ]
    assert laps[0].parts == {"Sector 1": 40.1, "Sector 2": 51.4}
    assert laps[1].parts == {"Sector 1": 40.0}
    assert [one.fuel for one in laps] == [22.0, 21.0, None]


def test_without_numbers_a_run_ends_where_the_set_up_changes() -> None:
    laps = read_timed_laps("setup;time\nA;91\nA;92\nB;90\nA;91\n")
    assert [one.run for one in laps] == [1, 1, 2, 3]


def test_with_numbers_a_set_up_may_change_within_a_run() -> None:
    laps = read_timed_laps("run;setup;time\n1;A;91\n1;B;92\n2;B;90\n")
    assert [(one.run, one.lap) for one in laps] == [(1, 1), (1, 2), (2, 1)]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "nothing in it"),
        ("1:32.4 1:32.6", "line 1"),
        ("A: 1:32.4\nB: 1:32.4 fast", 'line 2: "fast" is no time'),
        ("A: 1:72.4", "more than 59"),
        ("A: 0.5", "outside 1 to 3600 s"),
        ("A:", "no time behind A"),
        ("setup,time\nA,91.0,5", "line 2: has 3 cells under 2 heads"),
        ("setup,time\n,91.0", "line 2: names no set-up"),
        ("setup,time,time\nA,91,91", "two columns are the time"),
        ("setup,time,S1,S1\nA,91,30,30", "stands twice"),
        ("setup,time,fuel\nA,91,full", 'fuel is "full"'),
        ("setup,time", "no lap below its head"),
        ("A: " + "91.0 " * 6000, "6000 laps, more than 5000"),
    ],
)
def test_what_cannot_be_read_is_said(text: str, said: str) -> None:
    with pytest.raises(RecordingError, match=said.replace("(", r"\(")):
        read_timed_laps(text)
