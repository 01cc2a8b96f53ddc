"""The driver's style on the lap's page: chosen from the notebook, changed, kept there."""

import json
from collections.abc import Callable

from nicegui import events, ui

from fourpatch.app.parts.button import button
from fourpatch.app.parts.choice import Choice
from fourpatch.app.parts.quantity_form import QuantityForm
from fourpatch.app.shop import Shop
from fourpatch.app.state import Desk
from fourpatch.errors import FourpatchError
from fourpatch.events.driver_style import DriverStyle
from fourpatch.notebook.entries import Entry
from fourpatch.notebook.kinds import LONGEST_NAME
from fourpatch.notebook.notebook import USUAL_STYLE

_ADDRESS = (
    "const u = new URL(location); u.searchParams.set('style', {key}); history.replaceState(null, '', u)"
)


class StylePanel:
    """One style in hand."""

    def __init__(
        self, shop: Shop, desk: Desk, *, wanted: str, on_change: Callable[[DriverStyle], object]
    ) -> None:
        """Draw the panel.

        Parameters
        ----------
        wanted : id of the style to begin with; the usual one where there is none such.
        on_change : told the style whenever another is in hand.
        """
        self._styles, self._desk, self._on_change = shop.notebook.styles, desk, on_change
        self.style = self._kept = DriverStyle()
        self._name = ""
        self._chosen: Entry | None = None
        self._choice = ui.element("div").classes("fp-row")
        with ui.element("details"):
            ui.html("The driver's style", tag="summary", sanitize=True)
            self._form = ui.element("div")
            self._draw_keeping()
        entries = self._styles.listed()
        usual = next((one for one in entries if one.name == USUAL_STYLE), None)
        first = next((one for one in entries if str(one.id) == wanted), usual or next(iter(entries), None))
        if first is not None:
            self._open(first)
        self._draw()

    @property
    def _by(self) -> str:
        return self._desk.window

    def _draw_keeping(self) -> None:
        with ui.element("div").classes("fp-row"):
            self._save = button("Save the change", self._save_change, tell="As a new revision of this style")
            name = ui.element("input").classes("fp-field").props('placeholder="name of a new style"')
            name._props |= {"aria-label": "Name of a new style", "maxlength": LONGEST_NAME}
            name.on("input", self._named, js_handler="(event) => emit(event.target.value)")
            self._new = button("Save as a new style", self._save_new, tell="This one stays as it was")
        self._told = ui.label().classes("fp-small fp-soft").props('role="status"')
        self._fault = ui.label().classes("fp-warnbox").props('role="alert"')
        self._say_fault("")

    def _draw(self) -> None:
        """Draw the choice and the form of the style in hand."""
        options = {str(one.id): one.name for one in self._styles.listed()}
        value = str(self._chosen.id) if self._chosen else ""
        self._choice.clear()
        with self._choice:
            Choice(
                "Driven in the style",
                options or {"": "none is kept"},
                value,
                on_choose=self._choose,
                tell="Styles are kept in the notebook",
            )
        self._form.clear()
        with self._form:
            QuantityForm(self.style, title="Driver style", on_change=self._take)
        self._tell()

    def _tell(self) -> None:
        changed = self.style != self._kept
        self._save.set_enabled(changed and self._chosen is not None)
        self._new.set_enabled(bool(self._name.strip()))
        if self._chosen is None:
            self._told.set_text("Not kept in the notebook.")
        elif changed:
            self._told.set_text(f"Changed from {self._chosen.name}; the change is not kept yet.")
        else:
            self._told.set_text(f"{self._chosen.name}, revision {self._chosen.revision}, as kept.")

    def _open(self, entry: Entry) -> None:
        try:
            self.style = self._kept = self._styles.read(entry.id, entry.revision)
        except FourpatchError as error:
            self._say_fault(str(error))
        else:
            self._chosen = entry

    def _choose(self, key: str) -> None:
        entry = next((one for one in self._styles.listed() if str(one.id) == key), None)
        if entry is None:
            self._say_fault("That style was put away. Restore it on the notebook's page, or choose another.")
            return
        self._say_fault("")
        self._open(entry)
        self._follow()

    def _take(self, style: DriverStyle) -> None:
        self.style = style
        self._tell()
        self._on_change(style)

    def _named(self, event: events.GenericEventArguments) -> None:
        self._name = str(event.args)[:LONGEST_NAME]
        self._tell()

    def _save_change(self) -> None:
        chosen = self._chosen
        if chosen is not None:
            self._keep(
                lambda: self._styles.change(chosen.id, self.style, revision=chosen.revision, by=self._by)
            )

    def _save_new(self) -> None:
        self._keep(lambda: self._styles.add(self.style, name=self._name.strip(), by=self._by))

    def _keep(self, keep: Callable[[], Entry]) -> None:
        try:
            self._chosen, self._kept = keep(), self.style
        except FourpatchError as error:
            self._say_fault(f"The style is not kept. {error}")
            return
        self._say_fault("")
        self._follow()

    def _follow(self) -> None:
        """Have page and address follow another style."""
        self._draw()
        self._on_change(self.style)
        if self._chosen is not None:
            with self._choice:
                ui.run_javascript(_ADDRESS.format(key=json.dumps(str(self._chosen.id))))

    def _say_fault(self, text: str) -> None:
        self._fault.set_text(text)
        self._fault.set_visibility(bool(text))
