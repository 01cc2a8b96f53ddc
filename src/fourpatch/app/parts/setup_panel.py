"""The set-up in hand: its car, its steppers, undo and redo, and the reference A beside it."""

import asyncio
from collections.abc import Callable, Mapping

from nicegui import events, ui

from fourpatch.app.fitting import fitting
from fourpatch.app.keeping import change_text
from fourpatch.app.parts.button import button
from fourpatch.app.parts.notice import notice
from fourpatch.app.parts.plain import plain
from fourpatch.app.parts.stepper_board import StepperBoard
from fourpatch.app.shop import Shop
from fourpatch.app.state import Desk

_ALL = "All steppers"
_MISFIT = "The car has been changed since this set-up was kept."


class SetupPanel:
    """All steppers of the desk's car, kept in step with the desk whoever changes it."""

    def __init__(self, shop: Shop, desk: Desk, *, on_tell: Callable[[str], None] = lambda name: None) -> None:
        """Draw the panel.

        Parameters
        ----------
        on_tell : told the adjuster that is pointed at.
        """
        self._desk = desk
        self._shown = (desk.a, desk.b)
        self._keeper = shop.keeper(desk)
        client = ui.context.client
        client.on_disconnect(self._keeper.keep_now)
        client.on_delete(lambda: shop.forget(self._keeper))
        self._keeper.told.append(self.say_kept)
        self._section = ui.element("section").classes("fp-card fp-setup fp-setup-folded")
        with self._section.props('aria-label="Set-up"'):
            with ui.element("div").classes("fp-row fp-setup-head"):
                plain(desk.car.name, "h2")
                self._all = button(_ALL, self._fold, tell="Show every stepper, or the one in hand alone")
                self._all.classes("fp-setup-all").props('aria-expanded="false"')
                self._undo = button("Undo", desk.undo, tell="Take the last change of B back (Ctrl+Z)")
                self._redo = button("Redo", desk.redo, tell="Do again what was taken back (Ctrl+Y)")
                self._back = button("B back to A", desk.back_to_a, tell="Put every stepper where A stands")
                self._hold = button(
                    "Keep B as A", self._keep_as_a, tell="Make B, as it stands, the new reference"
                )
                for one in (self._redo, self._hold):
                    one.classes("fp-setup-more")
            self._kept = ui.label().classes("fp-small fp-soft").props('role="status"')
            self._own = button("Keep mine as a set-up of its own", self._keep_as_own)
            self._newer = button("Open the newer one", ui.navigate.reload, tell="Give up what is turned here")
            self._anew = button("Load the page again", ui.navigate.reload, tell="With the car as it is now")
            self._take = button("Keep it so", self._take_fit, tell="Keep B as it stands now on this car")
            self.board = StepperBoard(
                desk.car,
                desk.b,
                desk.a,
                drawer=f"fp-turned-{desk.setup_id}",
                on_turn=self._turned,
                on_find=self._found,
                on_tell=on_tell,
                on_undo=desk.undo,
                on_redo=desk.redo,
            )
        ui.keyboard(on_key=self._key, ignore=["input", "select", "textarea"])
        desk.changed.append(self._follow)
        desk.seated.append(self._follow)
        self._follow()
        self.say_kept()

    def keep_now(self) -> None:
        """Keep B at once, before something else is done with it."""
        self._keeper.keep_now()
        self.say_kept()

    def on_kept(self, told: Callable[[], None]) -> None:
        """Have something told whenever B has been kept."""
        self._keeper.told.append(told)

    def _fold(self) -> None:
        """Show all steppers on a narrow window, or the row in hand alone; a wide one shows them anyway."""
        folded = "fp-setup-folded" not in self._section.classes
        self._section.classes(**({"add": "fp-setup-folded"} if folded else {"remove": "fp-setup-folded"}))
        self._all.set_text(_ALL if folded else "One stepper")
        self._all.props(f'aria-expanded="{str(not folded).lower()}"')

    def _turned(self, values: Mapping[str, float], sequence: int) -> None:
        self._shown = (self._desk.a, self._desk.b)
        self._desk.turn(values, sequence)

    def _found(self, values: Mapping[str, float]) -> None:
        """Put into B what was turned before the server was away and may not have been kept, and say so."""
        desk = self._desk
        b = fitting(desk.car, desk.b.model_copy(update={"values": {**desk.b.values, **values}}))
        if dict(b.values) == dict(desk.b.values):
            return
        turned = change_text(desk.b.values, b.values)
        desk.put(b)
        text = f"Turned before the workbench was away, and in B again: {turned}. Undo takes it back."
        notice(text)

    def _follow(self) -> None:
        desk = self._desk
        # What a stepper did it shows already; an echo would overtake the hand.
        if not desk.turned_by_hand and (desk.a, desk.b) != self._shown:
            self.board.put(setup=desk.b, reference=desk.a, sequence=desk.sequence)
        self._shown = (desk.a, desk.b)
        for one, possible in (
            (self._undo, desk.can_undo),
            (self._redo, desk.can_redo),
            (self._back, bool(desk.differing())),
            (self._hold, bool(desk.differing())),
        ):
            one.set_enabled(possible)

    async def _keep_as_a(self) -> None:
        """Make B the reference; the address says so, so that other pages and a reload find it."""
        await asyncio.to_thread(self._keeper.keep_now)
        self._desk.hold_as_a()
        ui.run_javascript(f"{self._address()} history.replaceState(history.state, '', u)")

    def _take_fit(self) -> None:
        """Keep B where the car as it is now has put it."""
        self._keeper.take_fit()
        self.say_kept()

    def _keep_as_own(self) -> None:
        """Go on with a set-up of its own, opened anew so that all of the page speaks of it."""
        self._keeper.keep_as_own()
        ui.run_javascript(f"{self._address()} location.href = u")

    def _address(self) -> str:
        """Return JavaScript for the page's address `u` with what is open now; what else it says stays."""
        named = "".join(
            f"u.searchParams.set('{key}', '{value}');" for key, value in self._desk.query().items()
        )
        return f"const u = new URL(location); {named}"

    def say_kept(self) -> None:
        """Say how B is called, and whether it is kept."""
        keeper, desk = self._keeper, self._desk
        self.board.settle(keeper.kept_turn)
        misfit = f"{_MISFIT} {desk.misfit}" if desk.misfit else ""
        self._kept.set_text(keeper.fault or misfit or f"B: {desk.b.name}, kept in the notebook")
        self._kept.classes(**({"add": "fp-warnbox"} if keeper.fault or misfit else {"remove": "fp-warnbox"}))
        self._own.set_visibility(keeper.conflict)
        self._newer.set_visibility(keeper.conflict)
        self._anew.set_visibility(keeper.outdated)
        self._take.set_visibility(bool(desk.misfit))

    def _key(self, event: events.KeyEventArguments) -> None:
        """Undo and redo by the keys everybody knows."""
        key, modifiers, action = event.key, event.modifiers, event.action
        if not action.keydown or not (modifiers.ctrl or modifiers.meta):
            return
        if key.name.lower() == "z":
            (self._desk.redo if modifiers.shift else self._desk.undo)()
        elif key.name.lower() == "y":
            self._desk.redo()
