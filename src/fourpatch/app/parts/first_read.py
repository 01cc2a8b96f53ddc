"""The head of an answer: the sentence a driver reads first, and the mark of how sure it is."""

from html import escape

from nicegui import ui

from fourpatch.app.words import capital, shown_text
from fourpatch.picture.first_answer import GRADE_WORDS, FirstAnswer, Grade

_DOTS: dict[Grade, str] = {"sure": "●●●", "likely": "●●○", "open": "●○○", "disputed": "✕", "computing": "…"}


def draw_first(first: FirstAnswer) -> None:
    """Draw the sentence and the mark."""
    ui.label(shown_text(first.sentence)).classes("fp-first-said")
    because = f"<span>{escape(shown_text(capital(first.because)))}</span>" if first.because else ""
    ui.html(
        f'<p class="fp-first-mark fp-first-{first.grade}" role="status"><b>'
        f'<span class="fp-first-dots" aria-hidden="true">{_DOTS[first.grade]}</span> '
        f"{escape(capital(GRADE_WORDS[first.grade]))}</b>{because}</p>",
        sanitize=False,
    )
