"""A button that lets a name be written anew in its place."""

from collections.abc import Callable

from nicegui import ui

from fourpatch.app.parts.button import button

LONGEST = 80
"""Letters of a name."""


def rename_button(name: str, on_rename: Callable[[str], object]) -> None:
    """Draw the button; pressed, it becomes a field, and Enter or leaving it gives the name.

    Parameters
    ----------
    name : as it is.
    on_rename : told the new one; not called for the same.
    """
    with ui.element("span") as place:

        def done(text: str) -> None:
            place.clear()
            with place:
                rename_button(name, on_rename)
            if text.strip() != name:
                on_rename(text.strip())

        def begin() -> None:
            place.clear()
            with place:
                field = ui.element("input").classes("fp-field").props(f'maxlength="{LONGEST}"')
                field._props |= {"^value": name, "aria-label": f"New name of {name}", "autofocus": True}
                field.on("blur", lambda event: done(str(event.args)), js_handler=_VALUE)
                field.on("keydown.enter", js_handler="(e) => e.target.blur()")
            ui.run_javascript(f"getHtmlElement({field.id})?.select()")

        button("Rename", begin, tell=f"Give {name} another name")


_VALUE = "(e) => emit(e.target.value)"
