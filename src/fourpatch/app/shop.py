"""What all tabs share: the notebook, the jobs, and the workouts already made."""

import contextlib
import tempfile
from collections import OrderedDict
from collections.abc import Mapping
from concurrent.futures import Future
from datetime import UTC, datetime, timedelta
from functools import cached_property
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING

from fourpatch.analysis.workout import RigEvent, Workout, workout
from fourpatch.app.engine import Engine
from fourpatch.app.fitting import fitting, misfit_text
from fourpatch.app.jobs import Jobs
from fourpatch.app.keeping import RESTORED, Keeper
from fourpatch.app.state import Desk, Tab
from fourpatch.app.words import tab_text
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.document.digest import digest
from fourpatch.errors import FourpatchError, NotebookError
from fourpatch.events.run import FEW
from fourpatch.notebook.entries import Version
from fourpatch.notebook.notebook import MADE_BY, Notebook
from fourpatch.notebook.restoring import refuse_unfit
from fourpatch.picture.chosen_units import recall

if TYPE_CHECKING:
    from fourpatch.app.laps import Laps

FIRST_CAR = "gt"
"""Demo car that a newcomer meets first."""

FIRST_EVENT = "medium corner"
"""Of the standard ones, what the bench shows first."""

MOST_WORKOUTS = 16
"""Prepared workouts that are kept; one is a few megabytes."""


MOST_TABS = 32
"""Browser tabs of which is remembered what they turned."""


class Shop:
    """Made once when the app starts, handed to every page."""

    def __init__(self, notebook: Notebook) -> None:
        self.notebook = notebook
        recall(notebook.path)
        self._keepers: list[Keeper] = []
        self._last_tab = datetime.min.replace(tzinfo=UTC)
        self._workouts: OrderedDict[str, Future[Workout]] = OrderedDict()
        self._tabs: OrderedDict[str, Tab] = OrderedDict()
        self._lock = Lock()
        self.jobs = Jobs()
        self.engine = Engine()

    @cached_property
    def laps(self) -> "Laps":
        """Laps that all tabs share."""
        from fourpatch.app.laps import Laps  # brings tracks and drives, which the bench does not need

        return Laps(self.jobs, self.notebook.tracks)

    def workout(self, car: Car, reference: Setup, events: Mapping[str, RigEvent] | None = None) -> Workout:
        """Return the workout of a car with a reference set-up, made at the first call.

        Parameters
        ----------
        events : by name; the standard ones if left out.

        Notes
        -----
        The car as it is written sets the motions, so that a set-up has the same numbers whichever A is.
        """
        standing = apply_setup(car, reference)
        key = digest(car, standing, events)
        with self._lock:
            known = self._workouts.get(key)
            if known is None:
                mine: Future[Workout] = Future()
                self._workouts[key] = mine
            self._workouts.move_to_end(key)
            while len(self._workouts) > MOST_WORKOUTS:
                self._workouts.popitem(last=False)
        if known is not None:
            return known.result()  # ready, or being prepared for somebody else
        try:
            mine.set_result(workout(standing, events, car))
        except BaseException as error:
            mine.set_exception(error)
            with self._lock:
                self._workouts.pop(key, None)
        return mine.result()

    def desk(self, open_: Mapping[str, str]) -> Desk:
        """Return a desk with what a page's address names on it.

        Parameters
        ----------
        open_ : the address's query: ``setup`` and, for the reference, ``a``; what is left out or unknown is
            the set-up changed last, and its newest version.
        """
        with self._lock:
            keepers = list(self._keepers)
        for keeper in keepers:  # what another page of this racer has not kept yet is what this one opens
            keeper.keep_now()
        setups = self.notebook.setups
        setup_id = self._setup_id(open_.get("setup", ""))
        entry = setups.get(setup_id)
        car = self.notebook.cars.read(entry.head.car_id)
        opened = setups.opened(entry.head.id)
        b = fitting(car, opened.setup)
        misfit = misfit_text(car, opened.setup)
        a_version, a = entry.head.id, b
        if (wanted := open_.get("a", "")).isdigit():
            with contextlib.suppress(FourpatchError):
                reference = setups.opened(int(wanted))
                if reference.version.car_id == entry.head.car_id:
                    a_version, a = reference.version.id, fitting(car, reference.setup)
                    if reference.setup.values != opened.setup.values and (
                        of_a := misfit_text(car, reference.setup)
                    ):
                        misfit = f"{misfit} A: {of_a}".strip()
        return Desk(
            car_id=entry.head.car_id,
            car=car,
            setup_id=setup_id,
            head=entry.head.id,
            a_version=a_version,
            window=self._name_of_a_tab(),
            a=a,
            b=b,
            kept=b,
            misfit=misfit,
        )

    def seat(self, desk: Desk, tab: str) -> None:
        """Give a desk to a browser tab: what the tab was called and has turned on its last page goes on.

        Parameters
        ----------
        tab : what the browser calls it, the same as long as it is open.
        """
        with self._lock:
            known = self._tabs.setdefault(tab, Tab(name=desk.window))
            self._tabs.move_to_end(tab)
            while len(self._tabs) > MOST_TABS:
                self._tabs.popitem(last=False)
            desk.sit(known)

    def _name_of_a_tab(self) -> str:
        """Return what a new tab is called where its changes are kept: by when it was opened, each once."""
        with self._lock:
            now = max(
                datetime.now().astimezone().replace(microsecond=0), self._last_tab + timedelta(seconds=1)
            )
            self._last_tab = now
        return tab_text(now)

    def import_setup(self, car_id: int, name: str, content: bytes, *, by: str) -> Version:
        """Keep a set-up of a car from what a set-up file holds, and return its first version.

        Raises
        ------
        FourpatchError
            As the command line says of such a file.
        """
        with tempfile.TemporaryDirectory(prefix="fourpatch-") as folder:
            path = Path(folder) / Path(name).name
            path.write_bytes(content)
            return self.notebook.setups.import_file(car_id, path, by=by)

    def warm_up(self) -> None:
        """Make ready what the first page will ask for, while the browser is still starting."""
        with contextlib.suppress(FourpatchError):  # whoever opens the page is told
            desk = self.desk({})
            made, standing = self.workout(desk.car, desk.a), apply_setup(desk.car, desk.a)
            for only in ([FIRST_EVENT], None):
                made.measure(standing, only=only)

    def warm_up_advice(self) -> None:
        """Make ready what runs many set-ups at once, or the first complaint after an installation waits."""
        from fourpatch.advice.sensitivity import measured

        with contextlib.suppress(FourpatchError):
            desk = self.desk({})
            made, standing = self.workout(desk.car, desk.a), apply_setup(desk.car, desk.a)
            measured([standing] * FEW, {FIRST_EVENT: made.events[FIRST_EVENT]})

    def keeper(self, desk: Desk) -> Keeper:
        """Return who keeps a desk's changes, until `forget`."""
        keeper = Keeper(desk, self.notebook)
        with self._lock:
            self._keepers.append(keeper)
        return keeper

    def forget(self, keeper: Keeper) -> None:
        """Keep a desk's last changes, and no more of it."""
        keeper.keep_now()
        with self._lock:
            if keeper in self._keepers:
                self._keepers.remove(keeper)

    def restore(self, backup: Path) -> Path | None:
        """Put a backup in the place of the notebook, and return where what stood there is kept now.

        Every page that is open must be loaded again: its set-up may be another's in what was restored.

        Raises
        ------
        NotebookError
            If the backup is not sound, something is being computed, or another program has the notebook open:
            nothing was changed.
        """
        refuse_unfit(backup)
        busy = [job.about for job in self.jobs.all() if job.state in ("waiting", "running")]
        if busy:
            raise NotebookError(f"Still being computed: {busy[0]}. Stop it or wait, and restore then.")
        with self._lock:
            keepers = list(self._keepers)
        for keeper in keepers:
            keeper.keep_now()
        aside = self.notebook.restore(backup)
        for keeper in keepers:
            keeper.end(RESTORED)
        return aside

    def can_open(self) -> bool:
        """Say whether there is a set-up of a car that can be read."""
        with contextlib.suppress(NotebookError):
            self._setup_id("")
            return True
        return False

    def _setup_id(self, wanted: str) -> int:
        if wanted.isdigit():
            with contextlib.suppress(NotebookError):
                found = self.notebook.setups.get(int(wanted))
                if found.deleted is None and self._is_readable(found.head.car_id):
                    return found.id
        cars = self.notebook.cars.listed()
        entries = [one for car in cars for one in self.notebook.setups.listed(car.id)]
        own = [one for one in entries if one.head.made_by != MADE_BY]
        first = demo_car(FIRST_CAR).name
        first_cars = {one.id for one in cars if one.name == first}
        given = sorted(entries, key=lambda one: one.head.car_id not in first_cars)
        # What was changed last, else what a newcomer meets first; a car that cannot be read keeps nobody out.
        for one in [*sorted(own, key=lambda one: one.head.made, reverse=True), *given]:
            if self._is_readable(one.head.car_id):
                return one.id
        raise NotebookError(
            "The notebook has no set-up of a car that can be read. Restore one, or make a car, on the "
            "notebook's page."
        )

    def _is_readable(self, car_id: int) -> bool:
        with contextlib.suppress(FourpatchError):
            self.notebook.cars.read(car_id)
            return True
        return False

    def close(self) -> None:
        """Keep what is not yet kept, stop what runs."""
        for keeper in list(self._keepers):
            self.forget(keeper)
        self.jobs.close()
        self.engine.close()
        self.notebook.close()
