"""Links to a sheet to print, on either paper."""

from html import escape

from nicegui import ui


def sheet_buttons(address: str, query: str = "") -> None:
    """Draw a link for each paper.

    Parameters
    ----------
    query : what else the address asks, without the paper.
    """
    for paper, name in (("a4", "A4"), ("letter", "Letter")):
        asked = "&".join(part for part in (query, f"paper={paper}") if part)
        ui.html(
            f'<a class="fp-button" href="{escape(f"{address}?{asked}")}" download '
            f'title="A sheet to print, PDF">Sheet {name}</a>',
            tag="span",
            sanitize=False,
        )
