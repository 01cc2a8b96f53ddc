from pathlib import Path

import pytest

from fourpatch.errors import FileError
from fourpatch.picture.meeting_words import conditions, meeting_effects, run_rows, run_sentences
from fourpatch.recording.demo_meeting import demo_meeting
from fourpatch.recording.meeting import Meeting, RunNotes, SessionNotes, differing
from fourpatch.recording.meeting_file import lines_with, load_meeting, meeting_text, save_meeting


def test_a_meeting_is_read_as_it_was_written(tmp_path: Path) -> None:
    save_meeting(demo_meeting(), tmp_path / "day.toml")
    assert load_meeting(tmp_path / "day.toml") == demo_meeting()


def test_nothing_but_the_name_is_compulsory(tmp_path: Path) -> None:
    (tmp_path / "day.toml").write_text(
        'name = "Sunday"\n\n[[sessions]]\n\n[[sessions.runs]]\n', encoding="utf-8"
    )
    meeting = load_meeting(tmp_path / "day.toml")
    assert [one.called for one in meeting.runs()] == ["run 1"]
    assert meeting_text(meeting).startswith('name = "Sunday"')
    assert run_rows(meeting) == [("run 1", "", "", "", "", "", "")]
    assert list(run_sentences(meeting)) == []
    assert conditions(meeting.sessions[0]) == ""


def test_sector_times_of_a_run_in_a_table(tmp_path: Path) -> None:
    runs = [
        RunNotes(setup="A", laps="time;S1;S2\n1:31.0;40.0;51.0\n1:30.5;39.9;50.6"),
        RunNotes(laps="91 92"),
    ]
    meeting = Meeting(name="Day", sessions=[SessionNotes(runs=runs)])
    save_meeting(meeting, tmp_path / "day.toml")
    laps = load_meeting(tmp_path / "day.toml").laps()
    assert [(one.run, one.setup, one.time) for one in laps] == [
        (1, "A", 91.0),
        (1, "A", 90.5),
        (2, "set-up not named", 91.0),
        (2, "set-up not named", 92.0),
    ]
    assert laps[1].parts == {"S1": 39.9, "S2": 50.6}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('date = "2026-04-03"', "name"),
        ('name = "x"\ndate = "April"', "2026-04-03"),
        ('name = "x"\n[[sessions]]\nair_temperature = "90 km/h"', "measures something else"),
        ('name = "x"\n[[sessions]]\n[[sessions.runs]]\nlaps = "1:32 fast"', '"fast" is no time'),
        ('name = "x"\n[[sessions]]\n[[sessions.runs]]\noutcome = "great"', "worked"),
        ('name = "x"\nweather = "fine"', "weather"),
    ],
)
def test_what_cannot_be_meant_is_said(tmp_path: Path, text: str, said: str) -> None:
    (tmp_path / "day.toml").write_text(text, encoding="utf-8")
    with pytest.raises(FileError, match=said):
        load_meeting(tmp_path / "day.toml")


def test_words_of_a_day() -> None:
    meeting = demo_meeting()
    (morning,) = meeting.sessions
    assert (
        conditions(morning) == "09:30, dry, green, air 9 degC, track 14 degC, wind 14.4 km/h, wind from west"
    )
    rows = run_rows(meeting)
    assert rows[1][:5] == ("run 2", "B", "set 1, 18 laps before", "45 kg", "6")
    assert rows[1][5] == "1 min 34.77 s"
    said = list(run_sentences(meeting))
    assert said[0] == "run 1: corner 3 entry: pushes, has to wait for the nose"
    assert said[1] == "run 2: changed: rear bar 4 → 6; tried: rear bar +2 against the push (worked)"
    assert "B is probably" in meeting_effects(meeting)[0]


def test_differing_runs() -> None:
    before, after = RunNotes(values={"a": 1.0, "b": 2.0}), RunNotes(values={"b": 3.0, "c": 4.0})
    assert differing(before, after) == [("a", 1.0, None), ("b", 2.0, 3.0), ("c", None, 4.0)]


def test_all_words_must_be_there_and_their_lines_are_named() -> None:
    text = meeting_text(demo_meeting())
    assert lines_with(text, ["push", "NOSE"]) == [
        "Morning, run 1: pushes, has to wait for the nose",
        "Morning, run 2: rear bar +2 against the push",
    ]
    assert lines_with(text, ["chicanes"]) == ["Demo chicanes"]
    assert lines_with(text, ["push", "rain"]) == []
    assert lines_with(text, ["tyre_laps"]) == []  # what a field is called is no text of the driver's
