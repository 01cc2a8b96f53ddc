"""What the notebook keeps of a complaint: said once, answered, tried."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from fourpatch.app.answers.cure import ChangeFound, CureAnswer, Measured, SetFound, read_answer
from fourpatch.app.answers.said import keep_answer, keep_said, keep_trial, kept_answer, said_of
from fourpatch.app.jobs import Job
from fourpatch.app.parts.said_list import answer_text, changes_text
from fourpatch.app.shop import Shop
from fourpatch.app.state import Desk
from fourpatch.notebook.notebook import open_notebook

TEXT = "pushes at mid-corner in medium corners"


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    opened = Shop(open_notebook(tmp_path / "notebook.sqlite"))
    yield opened
    opened.close()


@pytest.fixture
def desk(shop: Shop) -> Desk:
    return shop.desk({})


SOFTER = SetFound(
    title="front bar one softer",
    changes=[ChangeFound(adjuster="front bar", steps=-1, before=4.0, after=3.0)],
    present=[0.02],
    confirmed=[0.01],
    share=[1.0],
    cured=True,
    broken=[],
    said=[],
)


def answer(desk: Desk, *, first: bool = False) -> CureAnswer:
    measured = Measured(
        complaint=TEXT,
        meaning="balance",
        present=0.02,
        wanted=-0.01,
        unit="1",
        model_shows_it=True,
        sized_by="felt",
        said="The front runs out 2.0 points earlier.",
    )
    return CureAnswer(
        complete=not first,
        first=first,
        car=desk.car_id,
        setup=dict(desk.b.values),
        track="",
        course="",
        read=read_answer(TEXT),
        measured=[measured],
        cure_heads=[],
        levers=[],
        elsewhere_title="",
        elsewhere_heads=[],
        lever_notes=[],
        sets=[] if first else [SOFTER],
        sets_note="",
        first_change=[],
        follow_up=[],
        what_then=[],
        question="",
        choices=[],
        reasons=[],
        driven_heads=[],
        driven=[],
        driven_where=[],
        driven_against=[],
        limits=[],
        plausible_cars=None,
        sureness=[],
    )


def job_of(result: object) -> Job:
    return Job(id="cure-1", kind="cure", about="", key="", result=result)


def test_the_same_said_of_the_same_version_is_kept_once(shop: Shop, desk: Desk) -> None:
    one = keep_said(shop.notebook, desk.head, TEXT, by="window 1")
    assert keep_said(shop.notebook, desk.head, f" {TEXT} ", by="window 2") == one
    other = keep_said(shop.notebook, desk.head, "loose on entry", by="window 1")
    assert [one.id for one in shop.notebook.complaints.listed(desk.car_id)] == [other.id, one.id]


def test_the_answer_is_kept_when_it_is_there_and_read_back(shop: Shop, desk: Desk) -> None:
    said = keep_said(shop.notebook, desk.head, TEXT, by="window 1")
    for nothing in (None, answer(desk, first=True)):  # failed, or stopped at the coarse ranking
        keep_answer(shop.notebook, said.id, job_of(nothing))
        assert kept_answer(shop.notebook.complaints.get(said.id)) is None
    keep_answer(shop.notebook, said.id, job_of(answer(desk)))
    kept = kept_answer(shop.notebook.complaints.get(said.id))
    assert kept is not None
    assert kept.sets[0].changes == {"front bar": 3.0}
    assert answer_text(kept) == (
        "The front runs out 2.0 points earlier. Advised first: front bar one softer, which by the model "
        "cures it."
    )


def test_an_answer_in_another_programs_form_is_left_and_not_shown(shop: Shop, desk: Desk) -> None:
    said = shop.notebook.complaints.add(desk.head, TEXT, answer={"sets": [1, None]}, by="a script")
    assert kept_answer(said) is None


def test_an_answer_finds_the_complaint_of_the_set_up_it_is_about(shop: Shop, desk: Desk) -> None:
    said = keep_said(shop.notebook, desk.head, TEXT, by="window 1")
    keeper = shop.keeper(desk)
    found = answer(desk)
    desk.turn({"front bar": 3.0})
    keeper.keep_now()
    later = keep_said(shop.notebook, desk.head, TEXT, by="window 1")
    assert later.id != said.id
    assert said_of(shop.notebook, found) == said
    assert said_of(shop.notebook, answer(desk)) == later
    desk.turn({"rear bar": 1.0})
    assert said_of(shop.notebook, answer(desk)) is None


def test_what_is_tried_is_one_trial_until_it_is_known_what_came_of_it(shop: Shop, desk: Desk) -> None:
    complaints = shop.notebook.complaints
    said = keep_said(shop.notebook, desk.head, TEXT, by="window 1")
    trial = keep_trial(shop.notebook, said.id, SOFTER, version_id=desk.head, by="window 1")
    assert (trial.changes, trial.version_id, trial.outcome) == ({"front bar": 3.0}, desk.head, "open")
    assert keep_trial(shop.notebook, said.id, SOFTER, version_id=desk.head, by="window 1") == trial
    complaints.change_trial(trial.id, revision=1, outcome="no change", by="window 1")
    again = keep_trial(shop.notebook, said.id, SOFTER, version_id=None, by="window 1")
    assert [one.id for one in complaints.get(said.id).trials] == [trial.id, again.id]


def test_changes_are_said_with_the_units_of_the_car() -> None:
    changes = {"front bar": 3.0, "rear spring": 90.0, "no longer there": 1.0}
    units = {"front bar": "position", "rear spring": "N/mm"}
    assert (
        changes_text(changes, units)
        == "front bar to position 3, rear spring to 90 N/mm, no longer there to 1"
    )
    assert changes_text({}, units) == "no change"
