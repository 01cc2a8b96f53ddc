"""Steering, brakes, engine, gears and differentials."""

from math import pi, radians

import numpy as np

from fourpatch.car.estimation.book import ENDS, PRACTICE, Book, End, Known, mean_load, top_speed
from fourpatch.car.parameters import STINT, STINT_SPREADS, Driveline


def estimate_steering_and_brakes(book: Book, known: Known) -> None:
    """Estimate steering, and brakes from the ideal distribution."""
    brief, grip = known.brief, known.grip
    usual = f"usual for a {brief.body}: {PRACTICE}"
    book.estimate("steering.ratio", known.body.steering_ratio, "15 %", usual)
    book.estimate("steering.ackermann_share", 0.5, "0.3", usual)
    book.estimate("steering.caster", radians(5.0 if brief.grip == "road" else 6.5), "1.5 deg", usual)
    friction = grip.friction * grip.longitudinal_to_lateral
    share = known.front_weight_share + 0.95 * friction * book["chassis.cg_height"] / brief.wheelbase
    book.estimate(
        "brakes.front_share",
        min(round(200.0 * share) / 200.0, 0.88),
        "6 %",
        f"ideal at {0.95 * friction:.2f} g, 0.95 of the tyres' peak: front weight share + deceleration x "
        "height / wheelbase, so that the front locks first below it; half percents (derived here)",
    )
    book.estimate(
        "brakes.full_pedal_torque",
        round(1.3 * friction * 4.0 * mean_load(book, known) * known.tyres["front"].rolling_radius, -1),
        "20 %",
        f"1.3 x what locks all wheels with downforce at 50 m/s: {PRACTICE}",
    )


def estimate_driveline(book: Book, known: Known) -> None:
    """Estimate engine, gears and differentials."""
    brief, body = known.brief, known.body
    if brief.driven == "all":
        book.estimate("driveline.front_drive_share", 0.4, "0.1", f"all driven: {PRACTICE}")
    else:
        book.given("driveline.front_drive_share", 1.0 if brief.driven == "front" else 0.0)
    share = np.linspace(0.2, 1.1, 10)
    speed = body.peak_power_speed * share
    torque = known.power / body.peak_power_speed * (1.0 + share - share**2)
    curve = "P (1 + s - s^2) / peak speed, s engine speed over peak speed: petrol engine, Genta, from memory"
    at_peak = f"peak power at {body.peak_power_speed * 30 / pi:.0f} rpm for a {brief.body}: {PRACTICE}"
    book.estimate("driveline.engine_speed", [round(float(v), 1) for v in speed], "12 %", at_peak)
    book.estimate(
        "driveline.engine_torque", [round(float(v), 1) for v in torque], "12 %", f"{curve}; {at_peak}"
    )
    book.estimate(
        "driveline.overrun_torque",
        round(min(0.28 * float(torque.max()), 500.0), 1),  # no car is taken to have more
        "40 %",
        "0.28 of the largest torque: friction and pumping pressure 3.5 bar against 12.5 bar, from memory",
    )
    usual = Driveline.model_fields["fuel_per_work"].default
    book.estimate("driveline.fuel_per_work", usual, STINT_SPREADS["fuel_per_work"], f"petrol engine: {STINT}")
    _gears(book, known)
    _differentials(book, known)


def _gears(book: Book, known: Known) -> None:
    """Estimate six gears: the top one reaches top speed at peak power, steps shrink upward.

    Notes
    -----
    Steps follow a q^0 … a q^4 with q = 1.07 growing downward, and multiply to the class's spread.
    """
    speed = known.brief.top_speed or top_speed(book, known)
    driven: End = "front" if known.brief.driven == "front" else "rear"
    final = 3.9
    top = known.body.peak_power_speed * known.tyres[driven].rolling_radius / (speed * final)
    growth = 1.07 ** np.arange(5.0)  # from the highest step down
    steps = growth * (known.grip.gears_spread / growth.prod()) ** 0.2
    ratios = top * np.cumprod(np.r_[1.0, steps])[::-1]
    known_speed = "given" if known.brief.top_speed else "from power, drag and rolling resistance 0.013"
    book.estimate(
        "driveline.gear_ratios",
        [round(float(ratio), 3) for ratio in ratios],
        "8 %",
        f"top speed {3.6 * speed:.0f} km/h ({known_speed}) at peak power; spread {known.grip.gears_spread:g} "
        f"over six gears, steps shrinking by 1.07 upward: {PRACTICE}",
    )
    book.estimate(
        "driveline.final_drive", final, "8 %", "a stated value: only its product with the gears acts"
    )


def _differentials(book: Book, known: Known) -> None:
    brief = known.brief
    method = (
        f"of a {'front' if brief.driven == 'front' else 'rear'}-driven axle on {brief.grip} tyres: {PRACTICE}"
    )
    for end in ENDS:
        stem = f"driveline.{end}_differential"
        if brief.driven not in (end, "all") or brief.grip == "road":
            book.values[f"{stem}.kind"] = "open"
        elif brief.grip == "sport-road":
            book.values[f"{stem}.kind"] = "torque-biasing"
            book.estimate(f"{stem}.bias_ratio", 2.0, "20 %", method)
            book.estimate(f"{stem}.preload", 0.0, "20 N*m", method)
        else:
            book.values[f"{stem}.kind"] = "plate"
            book.estimate(f"{stem}.preload", 50.0, "50 %", method)
            book.estimate(f"{stem}.power_lock", 0.3 if end == "front" else 0.4, "30 %", method)
            book.estimate(f"{stem}.coast_lock", 0.15 if end == "front" else 0.25, "40 %", method)
