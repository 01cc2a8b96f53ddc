"""What was said of a car, what was tried, and what came of it."""

from collections.abc import Callable

import pytest

from fourpatch.errors import NotebookConflict, NotebookError
from fourpatch.notebook.entries import SetupEntry
from fourpatch.notebook.notebook import Notebook

TYPED = "schiebt in der Mitte, 走行"


@pytest.fixture
def base(notebook: Notebook) -> SetupEntry:
    """The baseline of the first car."""
    return notebook.setups.listed(notebook.cars.listed()[0].id)[0]


def test_a_complaint_is_kept_as_typed_with_what_was_tried(notebook: Notebook, base: SetupEntry) -> None:
    complaints = notebook.complaints
    answer = {"number": "balance", "before": {"value": 3.5, "unit": "1"}, "sets": [1, None, True]}
    said = complaints.add(
        base.head.id, "schiebt in der Mitte, 走行", answer=answer, note="worn", by="window 1"
    )
    first = complaints.tried(said.id, {"front bar hole": 2.0}, by="window 1")
    second = complaints.tried(
        said.id, {"rear bar blade": 3.0}, version_id=base.head.id, outcome="worked", by="window 1"
    )
    changed = complaints.change_trial(first.id, revision=1, outcome="worse", note="at once", by="window 1")
    assert (changed.outcome, changed.note, changed.revision) == ("worse", "at once", 2)
    kept = complaints.get(said.id)
    assert (kept.text, kept.answer, kept.note) == (TYPED, answer, "worn")
    assert (kept.car_id, kept.version_id) == (base.head.car_id, base.head.id)
    assert kept.trials == [changed, second]
    assert complaints.listed(base.head.car_id) == [kept]


def test_of_two_windows_the_second_is_told_of_the_first(
    window: Callable[[], Notebook], base: SetupEntry
) -> None:
    one, other = window(), window()
    trial = one.complaints.tried(one.complaints.add(base.head.id, "loose", by="a").id, {}, by="a")
    one.complaints.change_trial(trial.id, revision=1, outcome="worked", by="left window")
    with pytest.raises(NotebookConflict, match=r'left window, on .*"worked"'):
        other.complaints.change_trial(trial.id, revision=1, outcome="worse", by="right window")


def test_a_deleted_complaint_comes_back(notebook: Notebook, base: SetupEntry) -> None:
    said = notebook.complaints.add(base.head.id, "loose", by="window 1")
    notebook.complaints.delete(said.id, by="window 1")
    assert notebook.complaints.listed(base.head.car_id) == []
    assert [one.id for one in notebook.complaints.deleted(base.head.car_id)] == [said.id]
    notebook.complaints.restore(said.id)
    assert notebook.complaints.listed(base.head.car_id) == [said]


def test_what_is_not_there_is_said(notebook: Notebook, base: SetupEntry) -> None:
    said = notebook.complaints.add(base.head.id, "loose", by="window 1")
    other = notebook.setups.listed(notebook.cars.listed()[1].id)[0]
    with pytest.raises(NotebookError, match="no version 12345"):
        notebook.complaints.add(12345, "loose", by="window 1")
    with pytest.raises(NotebookError, match="no complaint 12345"):
        notebook.complaints.tried(12345, {}, by="window 1")
    with pytest.raises(NotebookError, match="of another car"):
        notebook.complaints.tried(said.id, {}, version_id=other.head.id, by="window 1")
    with pytest.raises(NotebookError, match="no trial 12345"):
        notebook.complaints.change_trial(12345, revision=1, by="window 1")


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), "half \ud800"])
def test_what_json_or_text_cannot_say_is_refused(notebook: Notebook, base: SetupEntry, bad: object) -> None:
    with pytest.raises(NotebookError, match="No notebook can hold this"):
        notebook.complaints.add(base.head.id, "loose", answer={"number": bad}, by="window 1")
    assert notebook.complaints.listed(base.head.car_id) == []
