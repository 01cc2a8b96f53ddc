"""What the notebook keeps of a complaint: said once, answered, tried."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from fourpatch.answers.cure import moved_to
from fourpatch.app.answers.said import keep_answer, keep_said, keep_trial, kept_answer, said_of
from fourpatch.app.asking import Answered
from fourpatch.app.jobs import Job
from fourpatch.app.parts.said_list import answer_text, changes_text
from fourpatch.app.shop import Shop
from fourpatch.app.state import Desk
from fourpatch.face.cure_blocks import measured_blocks
from fourpatch.face.cured import Cured
from fourpatch.notebook.notebook import open_notebook
from fourpatch.picture.cure_words import changes_text as set_text


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    opened = Shop(open_notebook(tmp_path / "notebook.sqlite"))
    yield opened
    opened.close()


@pytest.fixture
def desk(shop: Shop) -> Desk:
    return shop.desk({})


SOFTER = {"front bar": 3.0}


def job_of(result: object) -> Job:
    return Job(id="cure-1", kind="cure", about="", key="", result=result)


def test_the_same_said_of_the_same_version_is_kept_once(shop: Shop, desk: Desk, text: str) -> None:
    one = keep_said(shop.notebook, desk.head, text, by="window 1")
    assert keep_said(shop.notebook, desk.head, f" {text} ", by="window 2") == one
    other = keep_said(shop.notebook, desk.head, "loose on entry", by="window 1")
    assert [one.id for one in shop.notebook.complaints.listed(desk.car_id)] == [other.id, one.id]


def test_the_answer_is_kept_when_it_is_there_and_read_back(
    shop: Shop, desk: Desk, answered: Answered, text: str
) -> None:
    said = keep_said(shop.notebook, desk.head, text, by="window 1")
    cured: Cured = answered.answer.source
    coarse = replace(answered.answer, source=replace(cured, cure=replace(cured.cure, first=True)))
    for nothing in (None, replace(answered, answer=coarse)):  # failed, or stopped at the coarse ranking
        keep_answer(shop.notebook, said.id, job_of(nothing))
        assert kept_answer(shop.notebook.complaints.get(said.id)) is None
    keep_answer(shop.notebook, said.id, job_of(answered))
    kept = kept_answer(shop.notebook.complaints.get(said.id))
    assert kept is not None
    first = cured.sets[0]
    assert kept.sets[0].changes == moved_to(cured.cure, first)
    measured = " ".join(one.text for one in measured_blocks(cured.cure))
    outcome = "costs too much" if first.broken else "cures it" if first.cured else "helps"
    assert answer_text(kept).startswith(
        f"{measured} Advised first: {set_text(cured.cure, first)}, which by the model {outcome}"
    )


def test_an_answer_in_another_programs_form_is_left_and_not_shown(shop: Shop, desk: Desk, text: str) -> None:
    said = shop.notebook.complaints.add(desk.head, text, answer={"sets": [1, None]}, by="a script")
    assert kept_answer(said) is None


def test_an_answer_finds_the_complaint_of_the_set_up_it_is_about(
    shop: Shop, desk: Desk, answered: Answered, text: str
) -> None:
    def asked() -> Cured:
        return replace(answered.answer.source, setup=desk.b)

    said = keep_said(shop.notebook, desk.head, text, by="window 1")
    keeper = shop.keeper(desk)
    found = asked()
    desk.turn({"front bar": 3.0})
    keeper.keep_now()
    later = keep_said(shop.notebook, desk.head, text, by="window 1")
    assert later.id != said.id
    assert said_of(shop.notebook, desk.car_id, found) == said
    assert said_of(shop.notebook, desk.car_id, asked()) == later
    desk.turn({"rear bar": 1.0})
    assert said_of(shop.notebook, desk.car_id, asked()) is None


def test_what_is_tried_is_one_trial_until_it_is_known_what_came_of_it(
    shop: Shop, desk: Desk, text: str
) -> None:
    complaints = shop.notebook.complaints
    said = keep_said(shop.notebook, desk.head, text, by="window 1")
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
