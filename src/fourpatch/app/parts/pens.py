"""How lines of A and B are drawn: A thin and dotted, B thick; the rear axle with long dashes too."""

from typing import Any

PARTS = {"elastic": "front", "geometric": "road", "unsprung": "ink-soft", "damper": "warn"}
"""Inks of the paths of load transfer."""

_LONG = [14, 3]
_A = {"width": 1, "dash": [2, 3]}


def axle_pens(*, digits: int = 0) -> list[dict[str, Any]]:
    """Return the pens of front and rear with A, then with B."""
    return [
        *({"label": f"{axle} A", "ink": axle, "digits": digits, **_A} for axle in ("front", "rear")),
        {"label": "front B", "ink": "front", "digits": digits, "width": 2},
        {"label": "rear B", "ink": "rear", "digits": digits, "width": 2, "dash": _LONG},
    ]


def tyre_pens() -> list[dict[str, Any]]:
    """Return the pens of four tyres with A, then with B."""
    corners = ("FL", "FR", "RL", "RR")
    b = {"FL": {}, "FR": {"dash": [6, 2]}, "RL": {"dash": _LONG}, "RR": {"dash": [14, 3, 3, 3]}}
    return [
        *({"label": f"{one} A", "ink": one.lower(), **_A} for one in corners),
        *({"label": f"{one} B", "ink": one.lower(), "width": 2, **b[one]} for one in corners),
    ]


def named_pens(inks: dict[str, str], *, digits: int = 0) -> list[dict[str, Any]]:
    """Return the pens of lines by name and ink, with A, then with B."""
    return [
        *({"label": f"{name} A", "ink": ink, "digits": digits, **_A} for name, ink in inks.items()),
        *({"label": f"{name} B", "ink": ink, "digits": digits, "width": 2} for name, ink in inks.items()),
    ]


def one_line_pens(name: str, *, digits: int = 0, step: bool = False) -> list[dict[str, Any]]:
    """Return the pens of one line with A, grey, and with B, green."""
    more = {"digits": digits, "step": step}
    return [
        {"label": f"{name} A", "ink": "a", "width": 1.5, "dash": [4, 4], **more},
        {"label": f"{name} B", "ink": "b", "width": 2, **more},
    ]
