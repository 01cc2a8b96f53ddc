"""What is said over the page until it is closed: without a sign that a reader would spell out."""

from nicegui import ui


def notice(text: str, *, warning: bool = False) -> None:
    """Say something; a warning is read out at once.

    Parameters
    ----------
    warning : whether something went wrong.
    """
    said = ui.notification(
        text,
        timeout=0,
        close_button="Close",
        multi_line=True,
        classes="fp-notice fp-notice-bad" if warning else "fp-notice",
    )
    said.props(f'role="{"alert" if warning else "status"}"')
