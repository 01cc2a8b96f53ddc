"""A word with its definition a hover, a key or a touch away."""

import itertools
from html import escape

from nicegui import ui
from nicegui.element import Element

from fourpatch.app.answers.definitions import definition

_COUNT = itertools.count(1)


def term(text: str, key: str) -> Element:
    """Draw a word that tells what it means.

    Parameters
    ----------
    text : as it stands in the sentence.
    key : of its definition in `answers.definitions.definitions`; an unknown one is a fault of ours.
    """
    return ui.html(term_html(text, key), tag="span", sanitize=False)


def term_html(text: str, key: str) -> str:
    """Return the same as HTML, to stand within other HTML.

    Notes
    -----
    A native button opens a native popover: by key and touch without any script. `term.head.js` opens it on
    hovering and on focus too, and puts it beside the word.
    """
    one = definition(key)
    unit = f' <span class="fp-soft">[{escape(one.unit)}]</span>' if one.unit else ""
    name = f"fp-word-{next(_COUNT)}"
    return (
        f'<button type="button" class="fp-term" popovertarget="{name}" aria-describedby="{name}">'
        f'{escape(text)}</button><span class="fp-word" id="{name}" popover="auto"><b>{escape(one.name)}</b>'
        f"{unit} {escape(one.meaning)}</span>"
    )
