"""Share files: what is given is what is taken, and nothing that is hostile gets in."""

from dataclasses import replace
from pathlib import Path

import pytest
import tomlkit

from fourpatch.car.setup import Setup
from fourpatch.errors import FileError
from fourpatch.notebook.notebook import Notebook, open_notebook
from fourpatch.notebook.own_lesson import OwnLesson, OwnStep
from fourpatch.notebook.share import (
    LARGEST,
    load_share,
    read_share,
    share_text,
    take_lesson,
    take_share,
)


@pytest.fixture
def given(notebook: Notebook) -> str:
    """A share file of the first demo car with an adjuster turned."""
    car_id = notebook.cars.listed()[0].id
    car = notebook.cars.read(car_id)
    one = car.adjusters[0]
    turned = Setup(name="Turned", car=car.name, values={one.name: one.highest})
    return share_text(notebook.cars.get(car_id).written, turned, car, "pushes on entry")


def test_what_is_given_is_taken_on_another_machine(given: str, notebook: Notebook, tmp_path: Path) -> None:
    share = read_share(given)
    assert share.question == "pushes on entry"
    with open_notebook(tmp_path / "other.sqlite") as other:
        count = len(other.cars.listed())
        version = take_share(other, share, by="test")
        # The demo cars are there already: the set-up comes beside their own.
        assert len(other.cars.listed()) == count
        assert (version.name, version.values) == ("Turned", share.setup.values)
        assert take_share(other, share, by="test") == version


def lesson_of(given: str) -> OwnLesson:
    """A lesson about the shared car: one step of its first adjuster."""
    one = read_share(given).car.adjusters[0]
    step = OwnStep(says="Look <b>here</b>", view="numbers", change={one.name: one.lowest})
    return OwnLesson(name="Mine", by="A coach", steps=[step, OwnStep(says="And the kerb", event="kerb")])


def test_a_lesson_goes_along_and_is_kept_once(given: str, notebook: Notebook, tmp_path: Path) -> None:
    lesson = lesson_of(given)
    share = read_share(changed(given, lesson=lesson.model_dump()))
    assert share.lesson == lesson
    with open_notebook(tmp_path / "other.sqlite") as other:
        entry = take_lesson(other, share.lesson, by="test")
        assert other.lessons.read(entry.id) == lesson
        assert take_lesson(other, share.lesson, by="test") == entry
        another = lesson.model_copy(update={"steps": lesson.steps[:1]})
        second = take_lesson(other, another, by="test")
        assert second.name == "Mine (shared)"
        assert take_lesson(other, another, by="test") == second
        assert other.lessons.read(entry.id) == lesson
        other.export_all(tmp_path / "all.zip")
    with open_notebook(tmp_path / "third.sqlite") as third:
        third.import_all(tmp_path / "all.zip", by="test")
        assert {one.name for one in third.lessons.listed()} == {"Mine", "Mine (shared)"}


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({"name": ""}, "name"),
        ({"name": "x", "script": "alert(1)"}, "script"),
        ({"name": "x", "steps": [{"says": "a", "event": "../kerb"}]}, "event"),
        ({"name": "x", "steps": [{"says": "a", "view": "<iframe>"}]}, "view"),
        ({"name": "x", "steps": [{"says": "a" * 2001}]}, "says"),
        ({"name": "x", "steps": [{"says": "a"}] * 41}, "steps"),
        ({"name": "x", "steps": [{"says": "a", "change": {"no such knob": 1.0}}]}, "step 1: no such knob"),
        ({"name": "x", "steps": [{"says": "a", "change": {"front bar": 1e9}}]}, "front bar"),
        ({"name": "x", "steps": [{"says": "a", "change": {"front bar": float("inf")}}]}, "front bar"),
    ],
)
def test_a_lesson_that_cannot_be_meant_is_refused(given: str, told: dict[str, object], said: str) -> None:
    with pytest.raises(FileError, match=said):
        read_share(changed(given, lesson=told))


def test_another_car_of_the_name_stands_beside_it(given: str, notebook: Notebook) -> None:
    share = read_share(given)
    written = notebook.cars.kind.write(share.car.model_copy(update={"note": "heavier than it was"}))
    other = replace(share, written=written, car=notebook.cars.kind.read(written, "car"))
    before = notebook.cars.get(notebook.cars.listed()[0].id)
    version = take_share(notebook, other, by="test")
    entry = notebook.cars.get(version.car_id).entry
    assert entry.name == f"{share.car.name} (shared)"
    assert notebook.setups.opened(version.id).faults == []
    assert notebook.cars.get(before.entry.id) == before


def changed(text: str, **told: object) -> str:
    document = tomlkit.parse(text)
    for name, value in told.items():
        document[name] = value
    return tomlkit.dumps(document)


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({"share": 2}, "share"),
        ({"car": "name = 'x'"}, "are missing"),
        ({"car": "x = ["}, "line"),
        ({"setup": "name = 'x'\ncar = 'another'"}, "but the car is"),
        ({"setup": "name = 'x'\ncar = 'another'\n[values]\nbar = 1e999"}, "bar"),
        ({"question": "x" * 501}, "question"),
        ({"more": 1}, "more"),
        ({"beside": {"../../stolen.csv": "1"}}, "in another folder"),
        ({"beside": {"/etc/stolen.csv": "1"}}, "in another folder"),
        ({"beside": {"a\u0000b.csv": "1"}}, "called"),
        ({"beside": {f"{k}.csv": "1" for k in range(21)}}, "beside"),
    ],
)
def test_what_cannot_be_meant_is_refused_with_the_files_name(
    given: str, told: dict[str, object], said: str
) -> None:
    with pytest.raises(FileError, match=said) as refused:
        read_share(changed(given, **told), "from a friend.share.toml")
    assert "from a friend.share.toml" in str(refused.value)
    assert "/tmp" not in str(refused.value)


def test_what_is_no_share_file_is_refused(tmp_path: Path) -> None:
    for content, said in (
        (b"\xff\xfe", "UTF-8"),
        (b"[" * 5000, "line"),
        (b"x" * (LARGEST + 1), "more than 4 MB"),
    ):
        (tmp_path / "x.share.toml").write_bytes(content)
        with pytest.raises(FileError, match=said):
            load_share(tmp_path / "x.share.toml")
    with pytest.raises(FileError, match="no such file"):
        load_share(tmp_path / "none.share.toml")


def test_words_stay_words(notebook: Notebook) -> None:
    car = notebook.cars.read(notebook.cars.listed()[0].id)
    hostile = "\"\"\"'''\n[car]\n</script><img src=x onerror=alert(1)> \\u0000 {{7*7}} \u202e"
    setup = Setup(name="x", car=car.name, note=hostile)
    text = share_text(notebook.cars.get(notebook.cars.listed()[0].id).written, setup, car, hostile)
    share = read_share(text)
    assert (share.setup.note, share.question) == (hostile, hostile)
