"""A track from above: points beside its centre line, its kerbs, and room for a corner's number."""

from typing import NamedTuple

import numpy as np

from fourpatch.track.corners import Corner
from fourpatch.track.crossing import ComplexArray
from fourpatch.track.layout import TrackLayout
from fourpatch.track.road import FloatArray
from fourpatch.track.track_kerb import TrackKerb


def beside(layout: TrackLayout, offset: FloatArray) -> ComplexArray:
    """Return points beside the centre line, to the left of it, as x + i y. [m]"""
    return np.asarray(layout.x + 1j * layout.y + 1j * np.exp(1j * layout.heading) * offset)


def kerb_middle(layout: TrackLayout, kerb: TrackKerb) -> ComplexArray:
    """Return the middle of a kerb, as x + i y. [m]"""
    along = np.linspace(kerb.start, kerb.start + kerb.length, max(2, round(kerb.length / 2.0)))
    within = along % layout.length if layout.closed else along
    edge, side = (layout.left, 1.0) if kerb.side == "left" else (layout.right, -1.0)
    beyond = np.interp(within, layout.distance, edge) + kerb.offset + 0.5 * kerb.width
    x, y, heading = (np.interp(within, layout.distance, row) for row in (layout.x, layout.y, layout.heading))
    return np.asarray(x + 1j * y + 1j * np.exp(1j * heading) * side * beyond)


class NumberPlace(NamedTuple):
    """Where a corner's number stands: at the outer edge of its apex."""

    edge: complex
    """x + i y. [m]"""
    outward: complex
    """Unit vector away from the road."""


def number_place(layout: TrackLayout, corner: Corner) -> NumberPlace:
    """Return where there is room for a corner's number."""
    at = int(np.argmin(np.abs(layout.distance - corner.apex)))
    side, edge = (-1.0, layout.right) if corner.direction == "left" else (1.0, layout.left)
    outward = complex(1j * np.exp(1j * layout.heading[at]) * side)
    return NumberPlace(complex(layout.x[at], layout.y[at]) + outward * float(edge[at]), outward)
