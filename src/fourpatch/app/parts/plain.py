"""Words that are only words: a name somebody gave is shown as it was typed, whatever it holds."""

from html import escape

from nicegui import ui


def plain(text: str, tag: str = "span") -> ui.html:
    """Draw a text in which nothing is markup, not even "</script>".

    Parameters
    ----------
    tag : name of the HTML element that holds it.
    """
    return ui.html(escape(text), tag=tag, sanitize=False)
