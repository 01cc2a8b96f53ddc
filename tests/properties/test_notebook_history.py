"""Whatever is done to a notebook in whatever order, its histories are those of a plain list in memory."""

import shutil
import tempfile
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    Bundle,
    RuleBasedStateMachine,
    initialize,
    invariant,
    rule,
    run_state_machine_as_test,
)

from fourpatch.car.demo import demo_car
from fourpatch.errors import NotebookConflict
from fourpatch.notebook.notebook import open_notebook

CAR = demo_car("gt")
SIGNS = st.characters(exclude_categories=("Cs", "Cc", "Zl", "Zp"))
"""No half signs, no control characters and no ends of lines: those are refused."""
NAMES = st.text(SIGNS, min_size=1, max_size=80).filter(str.strip)
STEPS = st.sampled_from(CAR.adjusters).flatmap(
    lambda one: st.tuples(st.just(one.name), st.sampled_from(one.positions()))
)


@dataclass
class Model:
    """What a set-up should be: its versions, the first first, as what stands in them."""

    ids: list[int]
    contents: list[tuple[str, str, dict[str, float], int | None, int | None]]
    deleted: bool = False
    windows: dict[int, int] = field(default_factory=dict)
    """The head that each window has seen."""


class History(RuleBasedStateMachine):
    """Two windows on one notebook."""

    lines = Bundle("lines")
    filled: Path

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        self.file = Path(shutil.copy(self.filled, Path(self.folder.name) / "notebook.sqlite"))
        self.windows = [open_notebook(self.file), open_notebook(self.file)]
        self.car_id = next(one.id for one in self.windows[0].cars.listed() if one.name == CAR.name)
        self.models: dict[int, Model] = {}

    def teardown(self) -> None:
        for window in self.windows:
            window.close()
        self.folder.cleanup()

    @initialize(target=lines)
    def baseline(self) -> int:
        (setup,) = self.windows[0].setups.listed(self.car_id)
        head = setup.head
        self.models[setup.id] = Model([head.id], [(head.name, head.note, head.values, None, None)])
        return setup.id

    def look(self, setup_id: int, window: int) -> int:
        """Return the head that a window knows, at first the present one."""
        model = self.models[setup_id]
        return model.windows.setdefault(window, model.ids[-1])

    def refresh(self, setup_id: int, window: int) -> None:
        self.models[setup_id].windows[window] = self.models[setup_id].ids[-1]

    @rule(setup_id=lines, window=st.integers(0, 1), name=NAMES, note=st.text(max_size=20), step=STEPS)
    def change(self, setup_id: int, window: int, name: str, note: str, step: tuple[str, float]) -> None:
        model, head = self.models[setup_id], self.look(setup_id, window)
        values = {**model.contents[model.ids.index(head)][2], step[0]: step[1]}
        told: dict[str, Any] = {"values": values, "name": name, "note": note, "by": f"window {window}"}
        setups = self.windows[window].setups
        if model.deleted or head != model.ids[-1]:
            with pytest.raises(NotebookConflict):
                setups.change(setup_id, head=head, **told)
            self.refresh(setup_id, window)
            return
        made = setups.change(setup_id, head=head, **told)
        if model.contents[-1][:3] != (name, note, values):
            model.ids.append(made.id)
            model.contents.append((name, note, values, head, None))
        self.refresh(setup_id, window)

    @rule(setup_id=lines, other=lines, window=st.integers(0, 1), which=st.integers(0, 10))
    def go_back(self, setup_id: int, other: int, window: int, which: int) -> None:
        model, source, head = self.models[setup_id], self.models[other], self.look(setup_id, window)
        to = which % len(source.ids)
        setups = self.windows[window].setups
        told: dict[str, Any] = {"to": source.ids[to], "head": head, "by": f"window {window}"}
        if model.deleted or head != model.ids[-1]:
            with pytest.raises(NotebookConflict):
                setups.go_back(setup_id, **told)
        else:
            made = setups.go_back(setup_id, **told)
            model.ids.append(made.id)
            _, note, values, *_ = source.contents[to]
            model.contents.append((model.contents[-1][0], note, values, head, source.ids[to]))
        self.refresh(setup_id, window)

    @rule(target=lines, setup_id=lines, window=st.integers(0, 1), name=NAMES, which=st.integers(0, 10))
    def branch(self, setup_id: int, window: int, name: str, which: int) -> int:
        model = self.models[setup_id]
        place = which % len(model.ids)
        made = self.windows[window].setups.branch(model.ids[place], name=name, by=f"window {window}")
        _, note, values, *_ = model.contents[place]
        self.models[made.setup_id] = Model([made.id], [(name, note, values, model.ids[place], None)])
        return made.setup_id

    @rule(setup_id=lines, window=st.integers(0, 1))
    def delete(self, setup_id: int, window: int) -> None:
        self.windows[window].setups.delete(setup_id, by=f"window {window}")
        self.models[setup_id].deleted = True

    @rule(setup_id=lines, window=st.integers(0, 1))
    def restore(self, setup_id: int, window: int) -> None:
        self.windows[window].setups.restore(setup_id)
        self.models[setup_id].deleted = False

    @rule(window=st.integers(0, 1))
    def close_and_open(self, window: int) -> None:
        self.windows[window].close()
        self.windows[window] = open_notebook(self.file)

    @invariant()
    def histories_are_those_of_the_model(self) -> None:
        for window in self.windows:
            assert {one.id for one in window.setups.listed(self.car_id)} == {
                id for id, model in self.models.items() if not model.deleted
            }
            for id, model in self.models.items():
                history = window.setups.history(id)[::-1]
                assert [one.id for one in history] == model.ids
                assert [
                    (one.name, one.note, one.values, one.parent_id, one.source_id) for one in history
                ] == model.contents


def test_histories_are_those_of_a_plain_list(tmp_path: Path) -> None:
    History.filled = tmp_path / "notebook.sqlite"
    open_notebook(History.filled).close()
    short = settings(max_examples=10, stateful_step_count=15, deadline=None)
    run_state_machine_as_test(History, settings=short)
