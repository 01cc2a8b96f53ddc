"""Downforce, drag and the ride heights that carry them."""

from math import pi, radians
from typing import Final

from fourpatch.car.estimation.book import (
    AIR_DENSITY,
    ENDS,
    PRACTICE,
    Book,
    End,
    Known,
    ride_frequency,
    top_speed,
    wheel_load,
)
from fourpatch.car.gravity import GRAVITY


def estimate_aero(book: Book, known: Known) -> None:
    """Estimate downforce and drag, the ride heights that carry them, and the map about these."""
    brief, body, level = known.brief, known.body, known.level
    areas = _downforce_areas(book, known)
    drag = body.drag_area + max(sum(areas.values()) - body.lift_area, 0.0) / level.lift_to_drag
    book.estimate(
        "aero.map.drag.constant",
        drag,
        "15 %",
        f"{body.drag_area:g} m^2 for a {brief.body} + added downforce / {level.lift_to_drag:g}: {PRACTICE}",
    )
    book.estimate("aero.air_density", AIR_DENSITY, "4 %", "dry air at 20 degC at sea level, perfect gas")
    book.estimate("driveline.efficiency", 0.93, "2 %", PRACTICE)
    for end in ENDS:
        book.estimate(
            f"aero.map.{end}_downforce.{end[0]}",  # f against front, r against rear ride height
            -level.per_height * max(areas[end], 0.0),
            "50 %",
            f"{level.per_height / 10:g} % of it lost per mm of its own ride height: {PRACTICE}",
        )
        _ride_height(book, known, end, areas[end])
    _wings(book, known, areas)


_LEVEL_ALIKE = "90 %"
"""Correlation of both axles' downforce on a car that has parts for it: such a car is balanced by whoever
built it, so its front share is unsure by about 4 points and not, as drawn apart, by 13. A choice of this
project, no published source."""


def _downforce_areas(book: Book, known: Known) -> dict[End, float]:
    """Estimate the downforce areas of both axles, unless they are given."""
    brief, own = known.brief, known.body.lift_area + known.level.area
    if brief.front_downforce_area is not None and brief.rear_downforce_area is not None:
        areas: dict[End, float] = {"front": brief.front_downforce_area, "rear": brief.rear_downforce_area}
        for end in ENDS:
            book.given(f"aero.map.{end}_downforce.constant", areas[end])
        return areas
    share = known.front_weight_share - 0.02
    areas = {"front": own * share, "rear": own * (1.0 - share)}
    for end in ENDS:
        book.estimate(
            f"aero.map.{end}_downforce.constant",
            areas[end],
            f"{0.1 + 0.15 * known.level.area:.2g} m**2",
            f"body {known.body.lift_area:g} m^2 + {brief.downforce} downforce {known.level.area:g} m^2, "
            f"front share 2 points below the weight's: {PRACTICE}",
            alike=_LEVEL_ALIKE if known.level.area else "",
        )
    return areas


def _ride_height(book: Book, known: Known, end: End, area: float) -> None:
    """Estimate a ride height: the usual one, or what is left after downforce has pressed the car down.

    Notes
    -----
    At top speed an axle sinks by x = c (1 + s x), with c = q A / (2 k), the ride rate k = m (2 pi f)^2 of
    a corner and the relative gain s of downforce per sinking; 12 mm, and the rake, must be left.
    """
    brief, body = known.brief, known.body
    mass = wheel_load(known, end) / GRAVITY - body.unsprung_share * brief.mass
    pressure = 0.5 * AIR_DENSITY * top_speed(book, known) ** 2
    linear = pressure * max(area, 0.0) / (2.0 * mass * (2.0 * pi * ride_frequency(known, end)) ** 2)
    sinking = linear / max(1.0 - known.level.per_height * linear, 0.5)
    rake, usual = _rake(known, end), usual_ride_height(known, end)
    height = round(max(usual, 0.012 + rake + sinking), 3)
    method = (
        f"{usual * 1e3:.0f} mm for a {brief.body} on {brief.grip} tyres, or {12.0 + rake * 1e3:.0f} mm more "
        f"than the {sinking * 1e3:.0f} mm it sinks at top speed: {PRACTICE}"
    )
    book.estimate(f"{end}.design_ride_height", height, "20 %", method)
    book.estimate(f"{end}.ride_height", height, "20 %", f"as designed; {method}")
    book.estimate(f"aero.map.reference_{end}_height", height, "0 %", "design ride height")
    for edge, factor in (("lowest", 0.2), ("highest", 2.0)):
        value = max(round(factor * height, 4), 0.005)
        book.estimate(f"aero.map.{edge}_{end}_height", value, "20 %", f"{factor:g} x design: {PRACTICE}")


def usual_ride_height(known: Known, end: End) -> float:
    """Return the ride height of the class, whatever downforce does [m]."""
    return known.body.ride_height - known.grip.lowered + _rake(known, end)


def _rake(known: Known, end: End) -> float:
    return known.body.rake if end == "rear" else 0.0


OTHER_AXLE: Final = 0.15
"""Of a wing's gain at its own axle: what it takes from the other, standing outside the wheelbase."""
WING_DRAG: Final = 0.25
"""Of a wing's gain at its own axle: the drag area."""


def _wings(book: Book, known: Known, areas: dict[End, float]) -> None:
    """Estimate what the wings do per angle: nothing on a car without downforce."""
    winged = known.brief.downforce != "none"
    rear = 0.04 * max(areas["rear"], 0.0) / radians(1.0) if winged else 0.0
    nose = winged and known.brief.body == "single-seater"
    front = 0.04 * max(areas["front"], 0.0) / radians(1.0) if nose else 0.0
    why = f"4 % of the axle's downforce per degree: {PRACTICE}"
    none = "no such wing on a car of this kind"
    for wing, own, other, gain in (
        ("front_wing", "front", "rear", front),
        ("rear_wing", "rear", "front", rear),
    ):
        method = why if gain else none
        book.estimate(f"aero.{wing}.{own}_downforce_area_per_angle", gain, "40 %", method)
        book.estimate(
            f"aero.{wing}.{other}_downforce_area_per_angle",
            -OTHER_AXLE * gain,
            "60 %",
            f"15 % of its gain: it stands outside the wheelbase by that share of it, {PRACTICE}"
            if gain
            else none,
        )
        book.estimate(
            f"aero.{wing}.drag_area_per_angle",
            WING_DRAG * gain,
            "50 %",
            f"a quarter of its gain: {PRACTICE}" if gain else none,
        )
        book.estimate(f"aero.{wing}.angle", 0.0, "0 deg", "counted from the position the estimate holds for")
