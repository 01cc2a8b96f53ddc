"""A tab's desk and the notebook behind it: undo, autosave, two windows."""

import asyncio
import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest

from fourpatch.app import keeping
from fourpatch.app.answers.bench import bench_answer
from fourpatch.app.answers.car_changes import change_adjuster, go_back
from fourpatch.app.fitting import misfit_text
from fourpatch.app.shop import Shop
from fourpatch.app.state import Desk
from fourpatch.app.words import where_text
from fourpatch.car.adjuster_editing import adjuster_fields, with_adjuster, without_adjuster
from fourpatch.car.demo import demo_car
from fourpatch.car.setup import apply_setup, baseline_setup
from fourpatch.errors import NotebookError, SolveError
from fourpatch.events import run
from fourpatch.notebook.kinds import Written
from fourpatch.notebook.notebook import open_notebook


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    opened = Shop(open_notebook(tmp_path / "notebook.sqlite"))
    yield opened
    opened.close()


def test_a_newcomer_meets_the_first_demo_car(shop: Shop) -> None:
    desk = shop.desk({})
    assert desk.car.name == "Demo GT"
    assert not desk.differing()


@pytest.mark.parametrize(
    "query", [{"setup": "999"}, {"setup": "x"}, {"setup": "-1"}, {"setup": "1", "a": "9999"}]
)
def test_an_address_that_names_nothing_opens_something(shop: Shop, query: dict[str, str]) -> None:
    assert shop.desk(query).car.adjusters


def turned(desk: Desk, name: str) -> float:
    return desk.b.values[name]


def test_undo_and_redo_walk_the_same_way_back_and_forth(shop: Shop) -> None:
    desk = shop.desk({})
    start = desk.b
    desk.turn({"front bar": 6.0})
    desk.turn({"rear bar": 2.0})
    end = desk.b
    assert desk.undo()
    assert turned(desk, "rear bar") == start.values["rear bar"]
    assert desk.undo()
    assert desk.b == start
    assert not desk.undo()
    assert desk.redo()
    assert desk.redo()
    assert desk.b == end
    assert not desk.redo()


def test_a_drag_is_one_step_of_undo(shop: Shop) -> None:
    desk = shop.desk({})
    start = desk.b
    for at in (5.0, 6.0, 7.0):
        desk.turn({"front bar": at})
    desk.undo()
    assert desk.b == start


def test_a_position_between_two_steps_goes_to_the_nearest(shop: Shop) -> None:
    desk = shop.desk({})
    desk.turn({"front bar": 5.4})
    assert turned(desk, "front bar") == 5.0
    desk.turn({"front bar": 1e9})
    assert turned(desk, "front bar") == 7.0


def test_what_is_turned_is_kept_with_its_reason_and_found_by_the_next_page(shop: Shop) -> None:
    desk = shop.desk({})
    keeper = shop.keeper(desk)
    desk.turn({"front bar": 6.0})
    again = shop.desk(desk.query())  # nobody has waited for the hand to rest
    assert turned(again, "front bar") == 6.0
    assert turned(again, "rear bar") == turned(desk, "rear bar")
    assert [one[0] for one in again.differing()] == ["front bar"]  # A is still what it was
    newest = shop.notebook.setups.history(desk.setup_id)[0]
    assert newest.reason == "front bar 4 → 6"
    shop.forget(keeper)


def test_two_windows_do_not_overwrite_each_other(shop: Shop) -> None:
    one, other = shop.desk({}), shop.desk({})
    first, second = shop.keeper(one), shop.keeper(other)
    one.turn({"front bar": 6.0})
    first.keep_now()
    other.turn({"rear bar": 2.0})
    second.keep_now()
    assert not first.conflict
    assert second.conflict
    assert one.window in second.fault
    assert shop.notebook.setups.get(one.setup_id).head.values["rear bar"] == turned(one, "rear bar")
    second.keep_as_own()
    assert not second.fault
    assert other.setup_id != one.setup_id
    kept = shop.notebook.setups.get(other.setup_id).head.values
    assert kept["rear bar"] == 2.0
    assert kept["front bar"] == turned(other, "front bar")


def test_what_a_tab_turned_on_one_page_is_undone_on_the_next(shop: Shop) -> None:
    first = shop.desk({})
    keeper = shop.keeper(first)
    shop.seat(first, "a tab")
    start = dict(first.b.values)
    first.turn({"front bar": 6.0})
    first.turn({"rear bar": 2.0})
    first.undo()
    keeper.keep_now()
    again = shop.desk(first.query())
    assert not again.can_undo  # whose page it is, is known once the browser has answered
    shop.seat(again, "a tab")
    assert again.window == first.window
    assert again.redo()
    assert turned(again, "rear bar") == 2.0
    assert again.undo()
    assert again.undo()
    assert dict(again.b.values) == start
    other = shop.desk(first.query())
    shop.seat(other, "another tab")
    assert not other.can_undo
    assert other.window != first.window


def test_undo_on_another_page_leaves_the_name_that_was_given_since(shop: Shop) -> None:
    desk = shop.desk({})
    shop.seat(desk, "a tab")
    desk.turn({"front bar": 6.0})
    desk.became(desk.head, name="wet", note="cold")
    desk.undo()
    assert (desk.b.name, desk.b.note) == ("wet", "cold")
    assert turned(desk, "front bar") == 4.0


def changed_car(shop: Shop, desk: Desk, *, highest: float) -> None:
    """Keep the open car with another range of the front bar and no cross weight, as from a file."""
    names = [one.name for one in desk.car.adjusters]
    bar = names.index("front bar")
    fields = {**adjuster_fields(desk.car.adjusters[bar]), "highest": f"{highest:g}"}
    cars = shop.notebook.cars
    there = cars.get(desk.car_id)
    text = without_adjuster(with_adjuster(there.written.text, bar, fields), names.index("cross weight"))
    content = Written(text=text, beside=there.written.beside)
    cars.change(desk.car_id, content, revision=there.entry.revision, by="a test")


def test_a_scale_changed_in_the_app_takes_the_set_ups_along_and_says_what_it_cannot(shop: Shop) -> None:
    desk = shop.desk({})
    notebook, name = shop.notebook, "front camber shims"
    moved = {**desk.b.values, name: 6.0, "cross weight": 50.5}
    notebook.setups.change(desk.setup_id, head=desk.head, values=moved, reason="", by="a test")
    names = [one.name for one in desk.car.adjusters]

    def change(place: int, fields: dict[str, str] | None) -> list[str]:
        revision = notebook.cars.get(desk.car_id).entry.revision
        return change_adjuster(notebook, desk.car_id, place, fields, revision=revision, by="a test").told

    def stands() -> float:
        return notebook.setups.get(desk.setup_id).head.values[name]

    fields = adjuster_fields(desk.car.adjusters[names.index(name)])
    assert change(names.index(name), {**fields, "highest": "12"}) == []
    assert stands() == 6.0  # as many shims are as much camber, on a longer scale too
    told = change(names.index(name), {**fields, "highest": "5"})
    assert told == [f"{desk.b.name}: {name} from 6 to 5 shims, for the scale ends there now."]
    assert stands() == 5.0
    told = change(names.index("cross weight"), None)
    assert told == [f"{desk.b.name}: cross weight stood at 50.5 %, and is gone."]
    revision = notebook.cars.get(desk.car_id).entry.revision
    first = notebook.cars.history(desk.car_id)[-1]
    assert go_back(notebook, desk.car_id, first, revision=revision, by="a test").told == []
    assert stands() == 5.0


def test_what_a_changed_car_does_to_a_set_up_is_said_once_and_shortly(shop: Shop) -> None:
    desk = shop.desk({})
    keeper = shop.keeper(desk)
    desk.turn({"front bar": 7.0})
    shop.forget(keeper)
    changed_car(shop, desk, highest=5.0)
    again = shop.desk(desk.query())
    assert turned(again, "front bar") == 5.0
    assert again.misfit == (
        "Put to the nearest position the car now has: front bar from position 7 to 5. "
        "No longer on the car: cross weight 50. A: No longer on the car: cross weight 50."
    )
    keeper = shop.keeper(again)
    keeper.take_fit()
    assert again.misfit == ""
    assert shop.notebook.setups.get(desk.setup_id).head.values["front bar"] == 5.0
    assert shop.desk(desk.query() | {"a": str(again.head)}).misfit == ""
    shop.forget(keeper)


def test_a_page_older_than_its_car_keeps_what_still_fits_and_says_so(shop: Shop) -> None:
    desk = shop.desk({})
    keeper = shop.keeper(desk)
    changed_car(shop, desk, highest=5.0)
    desk.turn({"front bar": 7.0, "rear bar": 2.0})
    keeper.keep_now()
    assert keeper.outdated
    assert "load the page again" in keeper.fault
    assert "front bar from position 7 to 5" in keeper.fault
    assert "\n" not in keeper.fault
    kept = shop.notebook.setups.get(desk.setup_id).head.values
    assert (kept["front bar"], kept["rear bar"]) == (5.0, 2.0)
    assert "cross weight" not in kept
    shop.forget(keeper)


def test_a_long_list_of_misfits_is_cut() -> None:
    car = demo_car("gt")
    bare = car.model_copy(update={"adjusters": car.adjusters[:1]})
    told = misfit_text(bare, baseline_setup(car))
    assert told.endswith(f"and {len(car.adjusters) - 4} more.")
    assert misfit_text(car, baseline_setup(car)) == ""


def test_a_change_is_said_to_be_of_this_tab_or_of_another(shop: Shop) -> None:
    here, there = shop.desk({}).window, shop.desk({}).window
    assert where_text(here, here) == "this tab"
    assert where_text(there, here).startswith("another tab, opened ")
    assert where_text("the command line", here) == "the command line"


def test_a_held_as_reference_is_in_the_address(shop: Shop) -> None:
    desk = shop.desk({})
    keeper = shop.keeper(desk)
    desk.turn({"front bar": 6.0})
    keeper.keep_now()
    desk.hold_as_a()
    desk.turn({"front bar": 2.0})
    keeper.keep_now()
    again = shop.desk(desk.query())
    assert again.a.values["front bar"] == 6.0
    assert turned(again, "front bar") == 2.0


def test_a_workout_is_prepared_once_however_many_ask_at_once(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    made: list[object] = []
    inside, go_on = threading.Event(), threading.Event()

    def slowly(*asked: object) -> object:
        inside.set()
        go_on.wait(10.0)
        made.append(object())
        return made[-1]

    monkeypatch.setattr("fourpatch.app.shop.workout", slowly)
    desk = shop.desk({})
    with ThreadPoolExecutor(4) as pool:
        asked = [pool.submit(shop.workout, desk.car, desk.a) for _ in range(4)]
        inside.wait(10.0)
        go_on.set()
        found = [one.result() for one in asked]
    assert len(made) == 1
    assert found == made * 4


def test_b_keeps_its_numbers_when_it_becomes_a(shop: Shop) -> None:
    desk = shop.desk({})
    desk.turn({"front bar": 7.0, "rear bar": 1.0})

    def shown() -> list[float]:
        made = shop.workout(desk.car, desk.a)
        answer = bench_answer(made.measure(apply_setup(desk.car, desk.b), only=["slow corner", "kerb"]))
        return [cell.value for cell in answer.cells]

    before = shown()
    desk.hold_as_a()
    # Points, shares and metres; the step of the integrator is that of both cars of a pair.
    assert shown() == pytest.approx(before, rel=1e-5, abs=1e-4)


def test_what_the_first_complaint_runs_is_made_ready_with_the_app(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    ran: list[int] = []
    lanes = run.run_rig_lanes

    def seen(parameters: Any, *rest: Any) -> None:
        ran.append(len(parameters))
        lanes(parameters, *rest)

    monkeypatch.setattr(run, "run_rig_lanes", seen)
    shop.warm_up_advice()
    assert ran


def test_a_workout_that_failed_is_tried_again(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    calls: list[int] = []

    def failing(*asked: object) -> object:
        calls.append(1)
        raise SolveError("finds no steady place")

    monkeypatch.setattr("fourpatch.app.shop.workout", failing)
    desk = shop.desk({})
    for _ in range(2):
        with pytest.raises(SolveError):
            shop.workout(desk.car, desk.a)
    assert len(calls) == 2


def test_going_back_to_a_backup_keeps_what_was_turned_beside_it(shop: Shop) -> None:
    backup = shop.notebook.back_up()
    desk = shop.desk({})
    keeper = shop.keeper(desk)
    desk.turn({"front bar": 6.0})
    aside = shop.restore(backup)
    assert turned(shop.desk({}), "front bar") == 4.0
    desk.turn({"front bar": 2.0})
    keeper.keep_now()
    assert "restored" in keeper.fault
    assert turned(shop.desk({}), "front bar") == 4.0
    assert aside is not None
    with open_notebook(aside) as before:
        head = before.setups.get(desk.setup_id).head
        assert head.values["front bar"] == 6.0


def test_nothing_is_restored_under_a_computation(shop: Shop) -> None:
    backup = shop.notebook.back_up()
    go_on = threading.Event()
    job = shop.jobs.start("lap", "a lap", "1", lambda job: go_on.wait(60))
    over = threading.Event()
    job.when_over(lambda job: over.set())
    with pytest.raises(NotebookError, match="a lap"):
        shop.restore(backup)
    go_on.set()
    assert over.wait(60)
    shop.restore(backup)


def test_a_hand_that_never_rests_is_kept_all_the_same(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(keeping, "AT_LATEST", 0.0)
    monkeypatch.setattr(keeping, "REST", 3600.0)
    desk = shop.desk({})
    keeper = shop.keeper(desk)

    async def turn_on_and_on() -> None:
        kept = asyncio.Event()
        keeper.told.append(kept.set)
        for at in (6.0, 2.0, 5.0):
            desk.turn({"front bar": at})
            await asyncio.wait_for(kept.wait(), 60)
            kept.clear()
            assert desk.kept.values["front bar"] == at

    asyncio.run(turn_on_and_on())
