"""Laps as dots in the order driven: filled before the change, open squares after, crosses count little."""

from collections.abc import Sequence
from html import escape

from nicegui import ui
from nicegui.element import Element

from fourpatch.advice.change_design import places_of
from fourpatch.advice.change_effect import ChangeEffect
from fourpatch.picture.shown import lap_time_text
from fourpatch.recording.timed_laps import TimedLap

_WIDTH, _HEIGHT, _EDGE, _LEFT = 640.0, 200.0, 14.0, 46.0  # of the picture [px]
_ROOM = 2.5
"""How many times the spread of the laps that count the picture is high; a lap beyond stands at its edge."""


def lap_dots(laps: Sequence[TimedLap], found: ChangeEffect) -> Element:
    """Draw the laps of both set-ups."""
    return ui.html(dots_svg(laps, found), sanitize=False)


def dots_svg(laps: Sequence[TimedLap], found: ChangeEffect) -> str:
    """Return the picture as SVG; its numbers stand in titles, for a pointer and a reader."""
    little = {(one.run, one.lap) for one in found.spoiled}
    counts = [not one.left_out and (one.run, one.lap) not in little for one in laps]
    shown = [one.time for one, yes in zip(laps, counts, strict=True) if yes]
    middle = 0.5 * (min(shown) + max(shown))
    half = 0.5 * _ROOM * max(max(shown) - min(shown), 0.2) / 2.0
    places = places_of(laps)
    last = max(max(places), 1)
    drawn = []
    for one, place, yes in zip(laps, places, counts, strict=True):
        if one.setup not in (found.before, found.after):
            continue
        x = _LEFT + _EDGE + place / last * (_WIDTH - _LEFT - 2.0 * _EDGE)
        up = min(max((one.time - middle) / half, -1.0), 1.0)
        y = _HEIGHT / 2.0 - up * (_HEIGHT / 2.0 - _EDGE)
        kind = "a" if one.setup == found.before else "b"
        said = f"{one.setup}, run {one.run}, lap {one.lap}: {lap_time_text(one.time)}"
        said += "" if yes else ", counts little or nothing"
        drawn.append(f"<g><title>{escape(said)}</title>{_mark(kind, x, y, counts=yes)}</g>")
    lines = "".join(
        f'<line class="fp-dots-line" x1="{_LEFT}" x2="{_WIDTH}" y1="{y:.1f}" y2="{y:.1f}"/>'
        f'<text class="fp-dots-text" x="{_LEFT - 4}" y="{y + 4:.1f}" text-anchor="end">{time:.1f}</text>'
        for up in (-0.8, 0.0, 0.8)
        for time, y in [(middle + up * half, _HEIGHT / 2.0 - up * (_HEIGHT / 2.0 - _EDGE))]
    )
    label = (
        f"Lap times in seconds in the order driven: {len(drawn)} laps with {found.before} and {found.after}"
    )
    return (
        f'<svg class="fp-dots" viewBox="0 0 {_WIDTH:.0f} {_HEIGHT:.0f}" role="img" '
        f'aria-label="{escape(label)}">{lines}{"".join(drawn)}</svg>'
        f'<p class="fp-small fp-soft"><span class="fp-dots-key fp-dots-a" aria-hidden="true">●</span> '
        f"{escape(found.before)} &ensp;"
        f'<span class="fp-dots-key fp-dots-b" aria-hidden="true">◻</span> {escape(found.after)} &ensp; '
        "× counts little or nothing; lap time [s] in the order driven</p>"
    )


def _mark(kind: str, x: float, y: float, *, counts: bool) -> str:
    if not counts:
        return f'<path class="fp-dots-out fp-dots-{kind}" d="M{x - 4:.1f} {y - 4:.1f}l8 8m0 -8l-8 8"/>'
    if kind == "a":
        return f'<circle class="fp-dots-a" cx="{x:.1f}" cy="{y:.1f}" r="4.5"/>'
    return f'<rect class="fp-dots-b" x="{x - 4:.1f}" y="{y - 4:.1f}" width="8" height="8"/>'
