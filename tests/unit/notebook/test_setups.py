"""Set-ups as a history: nothing is lost, nothing overwritten, and every step says why."""

import threading
from collections.abc import Callable
from pathlib import Path

import pytest

from fourpatch.car.demo import demo_car
from fourpatch.car.files import load_setup
from fourpatch.car.setup import Setup, baseline_setup
from fourpatch.errors import FileError, NotebookConflict, NotebookError
from fourpatch.notebook.entries import SetupEntry
from fourpatch.notebook.kinds import Written
from fourpatch.notebook.notebook import Notebook

Window = Callable[[], Notebook]


@pytest.fixture
def base(notebook: Notebook) -> SetupEntry:
    """The baseline of the demo GT."""
    gt = next(one.id for one in notebook.cars.listed() if one.name == "Demo GT")
    return notebook.setups.listed(gt)[0]


FIRST = demo_car("gt").adjusters[0]


def moved(values: dict[str, float], value: float = FIRST.highest) -> dict[str, float]:
    """The values with the first adjuster put elsewhere."""
    return {**values, FIRST.name: value}


def test_a_change_is_a_version_that_says_from_what_when_and_why(notebook: Notebook, base: SetupEntry) -> None:
    version = notebook.setups.change(
        base.id,
        head=base.head.id,
        values=moved(base.head.values),
        note="for the wet",
        reason="pushes at mid-corner",
        by="window 1",
    )
    assert version.parent_id == base.head.id
    assert version.values == moved(base.head.values)
    assert (version.note, version.reason, version.made_by) == (
        "for the wet",
        "pushes at mid-corner",
        "window 1",
    )
    assert version.made > base.head.made
    assert notebook.setups.history(base.id) == [version, base.head]
    assert notebook.setups.get(base.id).head == version
    assert notebook.setups.version(base.head.id) == base.head  # as it was


def test_what_is_left_out_stays(notebook: Notebook, base: SetupEntry) -> None:
    renamed = notebook.setups.change(base.id, head=base.head.id, name="Nürburg 走行", by="window 1")
    assert (renamed.name, renamed.values) == ("Nürburg 走行", base.head.values)
    same = notebook.setups.change(base.id, head=renamed.id, name="Nürburg 走行", by="window 2")
    assert same == renamed


def test_going_back_is_a_version_that_names_its_source(notebook: Notebook, base: SetupEntry) -> None:
    there = notebook.setups.change(base.id, head=base.head.id, values=moved(base.head.values), by="window 1")
    back = notebook.setups.go_back(base.id, to=base.head.id, head=there.id, reason="worse", by="window 1")
    assert (back.parent_id, back.source_id) == (there.id, base.head.id)
    assert back.values == base.head.values
    assert [one.id for one in notebook.setups.history(base.id)] == [back.id, there.id, base.head.id]


def test_a_branch_goes_its_own_way(notebook: Notebook, base: SetupEntry) -> None:
    branch = notebook.setups.branch(base.head.id, name="wet", reason="rain", by="window 1")
    assert branch.setup_id != base.id
    assert (branch.parent_id, branch.values) == (base.head.id, base.head.values)
    notebook.setups.change(branch.setup_id, head=branch.id, values=moved(branch.values), by="window 1")
    assert notebook.setups.get(base.id).head == base.head
    assert {one.head.name: one.versions for one in notebook.setups.listed(base.head.car_id)} == {
        "baseline": 1,
        "wet": 2,
    }


def test_of_two_windows_the_second_is_told_of_the_first(window: Window, base: SetupEntry) -> None:
    one, other = window(), window()
    first = one.setups.change(
        base.id, head=base.head.id, values=moved(base.head.values), reason="too soft", by="left window"
    )
    with pytest.raises(NotebookConflict, match=r"changed meanwhile by left window, on .*too soft"):
        other.setups.change(base.id, head=base.head.id, note="mine", by="right window")
    with pytest.raises(NotebookConflict, match=r"changed meanwhile by left window, on .*too soft"):
        other.setups.go_back(base.id, to=base.head.id, head=base.head.id, by="right window")
    assert other.setups.history(base.id) == [first, base.head]


def test_a_version_of_another_setup_is_no_head(notebook: Notebook, base: SetupEntry) -> None:
    branch = notebook.setups.branch(base.head.id, name="wet", by="window 1")
    with pytest.raises(NotebookConflict):
        notebook.setups.change(base.id, head=branch.id, note="x", by="window 1")


def test_of_many_threads_one_wins_each_time(window: Window, base: SetupEntry) -> None:
    notebooks = [window(), window()]
    kept: list[int] = []
    refused: list[NotebookConflict] = []

    def change(number: int) -> None:
        try:
            made = notebooks[number % 2].setups.change(
                base.id, head=base.head.id, note=f"thread {number}", by=f"thread {number}"
            )
            kept.append(made.id)
        except NotebookConflict as conflict:
            refused.append(conflict)

    threads = [threading.Thread(target=change, args=(number,)) for number in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert (len(kept), len(refused)) == (1, 7)
    assert [one.id for one in notebooks[0].setups.history(base.id)] == [kept[0], base.head.id]


def test_what_the_car_cannot_take_is_refused_with_all_reasons(notebook: Notebook, base: SetupEntry) -> None:
    values = {**moved(base.head.values, 1e9), "no such thing": 1.0}
    with pytest.raises(NotebookError) as refusal:
        notebook.setups.change(base.id, head=base.head.id, values=values, by="window 1")
    assert FIRST.name in str(refusal.value)
    assert "no such thing" in str(refusal.value)
    for bad in (float("nan"), float("inf")):
        with pytest.raises(NotebookError, match="finite"):
            notebook.setups.change(base.id, head=base.head.id, values=moved({}, bad), by="window 1")
    with pytest.raises(NotebookError, match="name"):
        notebook.setups.change(base.id, head=base.head.id, name="", by="window 1")
    assert notebook.setups.get(base.id) == base


def test_a_setup_that_no_longer_fits_is_kept_and_says_so(notebook: Notebook, base: SetupEntry) -> None:
    setups, cars, car_id = notebook.setups, notebook.cars, base.head.car_id
    there = setups.change(base.id, head=base.head.id, values=moved(base.head.values), by="window 1")
    text = cars.get(car_id).written.text
    renamed = Written(text=text.replace(f'name = "{FIRST.name}"', 'name = "renamed adjuster"'))
    assert renamed.text != text
    cars.change(car_id, renamed, revision=1, by="window 1")
    opened = setups.opened(there.id)
    assert opened.version == there
    assert opened.setup.values == there.values
    assert len(opened.faults) == 1
    assert FIRST.name in opened.faults[0]
    assert there.car_revision == 1
    with pytest.raises(NotebookError, match=FIRST.name):
        setups.change(base.id, head=there.id, values=there.values | {"renamed adjuster": 0.0}, by="window 1")
    noted = setups.change(base.id, head=there.id, note="from before", by="window 1")
    assert (noted.car_revision, noted.values) == (1, there.values)
    back = setups.go_back(base.id, to=base.head.id, head=noted.id, by="window 1")
    assert setups.opened(back.id).faults
    cars.change(car_id, Written(text=text), revision=2, by="window 1")
    assert setups.opened(back.id).faults == []


def test_a_renamed_car_keeps_its_setups(notebook: Notebook, base: SetupEntry) -> None:
    notebook.cars.rename(base.head.car_id, "another name", revision=1, by="window 1")
    opened = notebook.setups.opened(base.head.id)
    assert (opened.setup.car, opened.faults) == ("another name", [])


def test_a_deleted_setup_comes_back(notebook: Notebook, base: SetupEntry) -> None:
    gone = notebook.setups.delete(base.id, by="window 1")
    assert gone.deleted_by == "window 1"
    assert notebook.setups.listed(base.head.car_id) == []
    assert notebook.setups.deleted(base.head.car_id) == [gone]
    with pytest.raises(NotebookConflict, match="deleted by window 1"):
        notebook.setups.change(base.id, head=base.head.id, note="x", by="window 2")
    assert notebook.setups.restore(base.id) == base
    assert notebook.setups.listed(base.head.car_id) == [base]


def test_a_setup_goes_out_as_a_file_and_comes_in_the_same(
    notebook: Notebook, base: SetupEntry, tmp_path: Path
) -> None:
    path = tmp_path / "base.toml"
    notebook.setups.export_file(base.head.id, path)
    assert load_setup(path, demo_car("gt")) == baseline_setup(demo_car("gt"))
    version = notebook.setups.import_file(base.head.car_id, path, by="import")
    assert version.values == base.head.values
    assert "base.toml" in version.reason
    coupe = next(one.id for one in notebook.cars.listed() if one.name == "Demo coupe")
    with pytest.raises(FileError, match="Demo coupe"):
        notebook.setups.import_file(coupe, path, by="import")


def test_a_setup_may_leave_adjusters_at_their_baselines(notebook: Notebook, base: SetupEntry) -> None:
    setup = Setup(name="short", car="Demo GT", values={FIRST.name: FIRST.lowest})
    version = notebook.setups.add(base.head.car_id, setup, reason="from the paddock", by="window 1")
    assert notebook.setups.opened(version.id).setup == setup


def test_what_is_not_there_is_said(notebook: Notebook) -> None:
    for missing in (notebook.setups.get, notebook.setups.history, notebook.setups.restore):
        with pytest.raises(NotebookError, match="no set-up 12345"):
            missing(12345)
    for none in (notebook.setups.version, notebook.setups.opened):
        with pytest.raises(NotebookError, match="no version 12345"):
            none(12345)
    with pytest.raises(NotebookError, match="No notebook can hold this"):
        notebook.setups.get(2**80)
