"""What is known of the real car: said in seconds, listed with what it taught, taken back."""

import asyncio
from collections.abc import Callable
from functools import partial
from typing import Any

from fastapi import Request
from nicegui import Client, ui

from fourpatch.answers.evidence import WhatWasLearnt
from fourpatch.app.answers.evidence import evidence_lines, keep_evidence, take_back_evidence
from fourpatch.app.asking import Answered, ask, on_desk, question_key
from fourpatch.app.fault import fault_text
from fourpatch.app.frame import CAUTION, frame
from fourpatch.app.jobs import Job
from fourpatch.app.parts.button import button
from fourpatch.app.parts.job_bar import JobBar
from fourpatch.app.parts.plain import plain
from fourpatch.app.parts.setup_panel import SetupPanel
from fourpatch.app.parts.text_form import TextForm, WordField
from fourpatch.app.shop import Shop
from fourpatch.app.state import Desk
from fourpatch.car.evidence import CORNERS, OBSERVABLES
from fourpatch.errors import FourpatchError

_LEAD = (
    "Most numbers of a car are guesses. Say what you know of the real one, with B as it stood then, and of "
    "all the cars it could be those count that show it. Nothing in the car is changed, and each can be taken "
    "back."
)
_CHANGED = "A is how the car stood before, B how it stood after: turn on the left what you turned."
_NONE = "Nothing was said of this car yet."
_OUTCOMES = ("better", "no difference", "worse")


def draw(shop: Shop, client: Client, request: Request) -> None:
    """Draw the page."""
    desk = shop.desk(request.query_params)
    with frame("/evidence", title="Evidence", shop=shop, desk=desk):
        EvidencePage(shop, desk)


class EvidencePage:
    """The page's parts and what moves them."""

    def __init__(self, shop: Shop, desk: Desk) -> None:
        self._shop, self._desk = shop, desk
        self._revision = shop.notebook.cars.get(desk.car_id).entry.revision
        with ui.element("div").classes("fp-bench"):
            SetupPanel(shop, desk)
            with ui.element("div").classes("fp-stack fp-answer"):
                with _card("What you know of the car"):
                    ui.label(_LEAD).classes("fp-soft")
                    self._draw_forms()
                    self._fault = ui.label().classes("fp-warnbox").props('role="alert"')
                    self._fault.set_visibility(False)
                with _card("Kept with the car"):
                    ui.html("Kept with the car", tag="h2", sanitize=True)
                    self._draw_kept()
                with _card("What it taught"):
                    ui.html("What it taught", tag="h2", sanitize=True)
                    with ui.element("div").classes("fp-row"):
                        self._compute = button(
                            "What did it teach?", self._ask, tell="Some hundred cars are run", main=True
                        )
                    self._bar = JobBar(on_end=self._ended)
                    self._told = ui.element("div")
                ui.label(CAUTION).classes("fp-small fp-soft")
        job = shop.jobs.of(WhatWasLearnt.command, question_key(WhatWasLearnt(), on_desk(shop, desk)))
        if job is not None:
            self._follow(job)

    # What is said

    def _draw_forms(self) -> None:
        with _fold("It does this", opened=True):
            self._words_form = TextForm(
                [
                    WordField(key="text", label="In your words", example="loose on exit in fast corners"),
                    WordField(
                        key="nothing",
                        label="And that is",
                        kind="choice",
                        options={"": "what it does", "yes": "not so, nor its opposite"},
                    ),
                ]
            )
            button(
                "Keep what it does",
                partial(self._keep, lambda: self._words(self._words_form)),
                tell="With B as it stands",
            )
        with _fold("I read a number"):
            self._read_form = TextForm(
                [
                    WordField(
                        key="quantity",
                        label="What",
                        kind="choice",
                        options=_quantities(),
                        start=f"{CORNERS[0]} corner weight",
                    ),
                    WordField(key="value", label="It was", example="372 kg"),
                    WordField(key="spread", label="Give or take (may be left out)", example="2 kg"),
                    WordField(key="radius", label="Radius, of a bend speed", example="50 m"),
                ]
            )
            told = partial(self._keep, lambda: _reading(self._read_form))
            button("Keep the number", told, tell="With B as it stands")
        with _fold("I changed something"):
            ui.label("A is how it stood before, B after: turn on the left what you turned.").classes(
                "fp-soft"
            )
            self._change_form = TextForm(
                [
                    WordField(key="text", label="Against", example="pushes on entry in slow corners"),
                    WordField(
                        key="outcome",
                        label="It got",
                        kind="choice",
                        options={one: one for one in _OUTCOMES},
                        start=_OUTCOMES[0],
                    ),
                ]
            )
            button(
                "Keep what came of it",
                partial(self._keep, lambda: self._comparison(self._change_form)),
                tell="From A to B",
            )

    def _words(self, form: TextForm) -> dict[str, Any]:
        said = {"kind": "words", "text": form.values["text"], "nothing": form.values["nothing"] == "yes"}
        return said

    def _comparison(self, form: TextForm) -> dict[str, Any]:
        differing = self._desk.differing()
        if not differing:
            raise FourpatchError("A and B are alike: turn on the left what you turned on the car.")
        changes = [f"{name}=to {after:g}" for name, _, after in differing]
        stood = self._stands() | {name: position for name, position, _ in differing}
        return {
            "kind": "comparison",
            "text": form.values["text"],
            "outcome": form.values["outcome"],
            "changes": changes,
            "setup": {name: at for name, at in stood.items() if at != self._baseline(name)},
        }

    def _stands(self) -> dict[str, float]:
        """Return where B's adjusters stand that are not at their baseline."""
        places = ((one, self._desk.b.position(one)) for one in self._desk.car.adjusters)
        return {one.name: at for one, at in places if at != one.baseline}

    def _baseline(self, name: str) -> float:
        return next(one.baseline for one in self._desk.car.adjusters if one.name == name)

    async def _keep(self, say: Callable[[], dict[str, Any]]) -> None:
        def keep(*, revision: int, by: str) -> None:
            said = {"setup": self._stands(), **say()}
            keep_evidence(self._shop.notebook, self._desk.car_id, said, revision=revision, by=by)

        await self._change(keep)

    async def _change(self, change: Callable[..., Any]) -> None:
        """Change the car of the notebook, and open the page of it as it is then."""
        self._fault.set_visibility(False)
        try:
            await asyncio.to_thread(change, revision=self._revision, by=self._desk.window)
        except FourpatchError as error:
            self._fault.set_text(fault_text(error))
            self._fault.set_visibility(True)
            for form in self._forms:
                form.show()
        else:
            ui.navigate.reload()

    @property
    def _forms(self) -> tuple[TextForm, ...]:
        return self._words_form, self._read_form, self._change_form

    # What is kept

    def _draw_kept(self) -> None:
        lines = evidence_lines(self._shop.notebook, self._desk.car_id)
        if not lines:
            ui.label(_NONE).classes("fp-soft")
        with ui.element("ol").classes("fp-stack"):
            for number, line in enumerate(lines, start=1):
                with ui.element("li"):
                    plain(f"{line} ")
                    button(f"Take back {number}", partial(self._take_back, number), tell=line)

    async def _take_back(self, number: int) -> None:
        back = partial(take_back_evidence, self._shop.notebook, self._desk.car_id, number)
        await self._change(back)

    # What it taught

    def _ask(self) -> None:
        self._follow(ask(self._shop.jobs, WhatWasLearnt(), on_desk(self._shop, self._desk)))

    def _follow(self, job: Job) -> None:
        if job.over:
            self._ended(job)
        else:
            self._compute.set_enabled(False)
            self._bar.follow(job)

    def _ended(self, job: Job) -> None:
        self._compute.set_enabled(True)
        self._told.clear()
        with self._told:
            if isinstance(job.result, Answered):
                ui.html(job.result.shown, sanitize=False)
            elif job.state == "failed":
                ui.label(job.error).classes("fp-warnbox").props('role="alert"')


def _quantities() -> dict[str, str]:
    """Return what can be read, each with its place."""
    return {
        name: name
        for quantity, one in OBSERVABLES.items()
        for name in ([f"{place} {quantity}" for place in one.places] or [quantity])
    }


def _reading(form: TextForm) -> dict[str, Any]:
    place, _, quantity = form.values["quantity"].partition(" ")
    whole = form.values["quantity"]
    placed = whole not in OBSERVABLES
    said = {
        "kind": "reading",
        "quantity": quantity if placed else whole,
        "place": place if placed else "",
        "value": form.values["value"],
        "spread": form.values["spread"],
    }
    return said | ({"radius": form.values["radius"]} if form.values["radius"] else {})


def _card(label: str) -> ui.element:
    return ui.element("section").classes("fp-card fp-stack").props(f'aria-label="{label}"')


def _fold(title: str, *, opened: bool = False) -> ui.element:
    """Return a fold that is open inside."""
    fold = ui.element("details").classes("fp-fold")
    if opened:
        fold._props["open"] = True
    with fold:
        ui.html(title, tag="summary", sanitize=True)
    return fold
