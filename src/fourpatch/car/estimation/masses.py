"""Tracks, centre of gravity, fuel and inertias."""

from fourpatch.car.estimation.aero import usual_ride_height
from fourpatch.car.estimation.book import ENDS, OPEN_CARS, PRACTICE, Book, Known, sprung_mass


def estimate_masses(book: Book, known: Known) -> None:
    """Write the masses, and estimate tracks, height of the centre of gravity and the fuel's place."""
    brief, body, grip = known.brief, known.body, known.grip
    book.given("chassis.mass", brief.mass)
    book.given("chassis.front_weight_share", known.front_weight_share)
    book.given("chassis.wheelbase", brief.wheelbase)
    for end in ENDS:
        book.estimate(
            f"{end}.track_width",
            round(body.track_share * brief.wheelbase, 3),
            "7 %",
            f"{body.track_share:g} x wheelbase for a {brief.body}; {OPEN_CARS}: 0.53 to 0.64, mean 0.584",
        )
    front = known.front_weight_share
    raised = sum(
        share * (book[f"{end}.design_ride_height"] - usual_ride_height(known, end))
        for end, share in zip(ENDS, (front, 1.0 - front), strict=True)
    )
    height = round(body.cg_height - grip.lowered + raised, 3)
    book.estimate(
        "chassis.cg_height",
        height,
        "30 mm",
        f"{body.cg_height * 1e3:.0f} mm for a {brief.body}, lowered {grip.lowered * 1e3:.0f} mm on "
        f"{brief.grip} tyres, raised {raised * 1e3:.0f} mm with its ride heights for downforce; "
        f"{OPEN_CARS}: saloons 558 and 575 mm; race cars 280 to 500 mm, from memory",
    )
    book.estimate("aero.drag_height", height, "20 %", f"at the centre of gravity: {PRACTICE}")
    book.estimate("fuel.mass", 20.0, "10 kg", "a stated amount for a short run")
    book.estimate(
        "fuel.distance_behind_front_axle",
        round(body.tank_share * brief.wheelbase, 2),
        "20 %",
        f"{body.tank_share:g} x wheelbase for a {brief.body}: {PRACTICE}",
    )
    book.estimate("fuel.height", 0.3, "20 %", f"low in the car: {PRACTICE}")


def estimate_inertias(book: Book, known: Known) -> None:
    """Estimate the three inertias.

    Notes
    -----
    Yaw: f m a b. Pitch of the sprung mass: 1.04 times its yaw inertia, which is the whole car's less
    that of the wheels; the three open cars give 1.05, 1.03 and 1.04. Roll: m_s (k t)^2.
    """
    brief, body = known.brief, known.body
    ahead = brief.wheelbase * (1.0 - known.front_weight_share)
    behind = brief.wheelbase - ahead
    yaw = body.yaw_factor * brief.mass * ahead * behind
    track = 0.5 * (book["front.track_width"] + book["rear.track_width"])
    wheels = sum(
        2.0 * book[f"{end}.unsprung_mass"] * (arm**2 + 0.25 * book[f"{end}.track_width"] ** 2)
        for end, arm in (("front", ahead), ("rear", behind))
    )
    book.estimate(
        "chassis.yaw_inertia",
        round(yaw, 1),
        "8 %" if body.yaw_factor == 1.0 else "15 %",
        f"{body.yaw_factor:g} x m a b; {OPEN_CARS}: 0.94, 1.00, 1.10; sports and single-seaters {PRACTICE}",
    )
    book.estimate(
        "chassis.pitch_inertia",
        round(1.04 * (yaw - wheels), 1),
        "10 %",
        f"1.04 x the sprung mass's yaw inertia, derived from {OPEN_CARS}: 1.03 to 1.05",
    )
    book.estimate(
        "chassis.roll_inertia",
        round(sprung_mass(book, known) * (body.roll_gyration * track) ** 2, 1),
        "15 %" if body.roll_gyration == 0.34 else "25 %",
        f"sprung mass x ({body.roll_gyration:g} x track)^2; {OPEN_CARS}: saloons 0.336 and 0.337, van 0.387",
    )
