"""Tyres and wheels."""

from math import degrees, radians, sqrt, tau

from fourpatch.car.estimation.book import (
    OPEN_CARS,
    PRACTICE,
    TYRE_SETS,
    Book,
    End,
    Known,
    mean_load,
    wheel_load,
)
from fourpatch.car.parameters import STINT, STINT_SPREADS, USUAL_TREAD, TyreStint
from fourpatch.car.tyre_size import TREAD_SHARE

_ONE_SIZE, _TWO_SIZES = "90 %", "80 %"


def tyres_alike(known: Known) -> str:
    """Return the correlation of what is not known of front and rear tyres. [%]

    Notes
    -----
    The spread of a class is mostly between makes and compounds, and a car mostly has one make and compound
    all round; what is left between its axles is production and wear, with two sizes also their build. With
    a friction unsure by 8 % the axles' ratio is then unsure by 3.6 % with one size and 5.1 % with two,
    where 11 % came of drawing them apart. A choice of this project, no published source.
    """
    return _ONE_SIZE if known.brief.front_tyre == known.brief.rear_tyre else _TWO_SIZES


def estimate_tyre(book: Book, known: Known, end: End) -> None:
    """Estimate an axle's tyres from their size and class."""
    brief, grip, size = known.brief, known.grip, known.tyres[end]
    tyre = f"{end}.tyre"
    of_class = f"of the class {brief.grip}"
    sets = f"{of_class}; {TYRE_SETS} for road tyres, for others {PRACTICE}"
    alike = tyres_alike(known)
    book.values[f"{tyre}.grip.kind"] = "compact"
    for name, value, spread, method in (
        (
            "nominal_load",
            round(mean_load(book, known) * size.section_width / _mean_width(known), 1),
            "10 %",
            f"mean wheel load with downforce at 50 m/s x section width over mean of both axles: {PRACTICE}",
        ),
        ("peak_friction", grip.friction, grip.friction_spread, sets),
        ("longitudinal_to_lateral", grip.longitudinal_to_lateral, "5 %", sets),
        ("load_sensitivity", 0.12, "0.03", f"mean of {TYRE_SETS} (0.10, 0.15)"),
        ("peak_slip_angle", grip.peak_slip_angle, "20 %", sets),
        ("cornering_stiffness", grip.cornering_stiffness, "18 %", sets),
        ("peak_slip_ratio", grip.peak_slip_ratio, "20 %", sets),
        ("slip_stiffness", grip.slip_stiffness, "20 %", sets),
        ("camber_stiffness", 1.1, "25 %", f"mean of {TYRE_SETS} (1.26, 0.92)"),
        ("best_camber", grip.best_camber, "1 deg", f"{of_class}: {PRACTICE}"),
    ):
        book.estimate(f"{tyre}.grip.{name}", value, spread, method, alike=alike)
    _carcass(book, known, end)
    _tyre_condition(book, known, tyre)
    _tyre_stint(book, known, end)


def _carcass(book: Book, known: Known, end: End) -> None:
    """Estimate what of a tyre follows from its dimensions and pressure."""
    brief, grip, size, tyre = known.brief, known.grip, known.tyres[end], f"{end}.tyre"
    load = wheel_load(known, end)
    rate = round(size.vertical_rate(grip.pressure), -2)
    unsprung = known.body.unsprung_share * brief.mass
    racing = brief.grip in ("semi-slick", "slick")
    for name, value, spread, method in (
        (
            "radius",
            round(size.rolling_radius, 4),
            "1 %",
            "size text (exact) x 3.05 rolling circumference over diameter, makers' standard, from memory",
        ),
        (
            "vertical_rate",
            rate,
            "25 %" if racing else "20 %",
            "Rhyne, Tire Science and Technology 33 (2005) 136, from size and pressure, which lies 13 to 52 % "
            f"above four published rates ({OPEN_CARS}; tyre set of 2006)"
            + (", extrapolated to a racing tyre" if racing else ""),
        ),
        (
            "vertical_damping",
            round(0.02 * 2.0 * sqrt(rate * unsprung), 1),
            "50 %",
            "2 % of critical with the unsprung mass: Kasprzak, damper guide for student formula cars",
        ),
        (
            "relaxation_length_lateral",
            round(size.free_radius, 3),
            "35 %",
            "about the tyre's radius: from memory",
        ),
        (
            "relaxation_length_longitudinal",
            round(size.free_radius / 3.0, 3),
            "40 %",
            "a third of the lateral: from memory",
        ),
        (
            "contact_length",
            max(round(size.contact_length(load=load, pressure=grip.pressure), 3), 0.04),
            "20 %",
            f"static load over pressure and 0.8 x section width, 40 mm at least: {PRACTICE}",
        ),
        (
            "rate_per_pressure",
            round(size.pressure_share_of_rate(grip.pressure), 2),
            "0.1",
            "slope of the same formula",
        ),
    ):
        book.estimate(f"{tyre}.{name}", value, spread, method, alike=tyres_alike(known))


def _mean_width(known: Known) -> float:
    return 0.5 * sum(size.section_width for size in known.tyres.values())


def _tyre_condition(book: Book, known: Known, tyre: str) -> None:
    """Estimate pressure and temperature, and how grip answers to them."""
    grip, of_tyre = known.grip, tyres_alike(known)
    of_class = f"of the class {known.brief.grip}, hot: {PRACTICE}"
    guess = f"size of a simple law whose sign is {PRACTICE}"
    # What the tyre is, is alike; what it is run at, each axle has for itself.
    for name, alike in (("pressure", ""), ("reference_pressure", of_tyre), ("best_pressure", of_tyre)):
        book.estimate(f"{tyre}.{name}", grip.pressure, "10 %", of_class, alike=alike)
    for name, alike in (("temperature", ""), ("best_temperature", of_tyre)):
        book.estimate(f"{tyre}.{name}", grip.temperature, "10 degC", of_class, alike=alike)
    for name, value in (
        ("friction_loss_per_pressure", 0.6),
        ("stiffness_per_pressure", 0.3),
        ("friction_loss_width", 60.0),
        ("stiffness_per_temperature", -0.002),
    ):
        book.estimate(f"{tyre}.{name}", value, "50 %", guess, alike=of_tyre)
    book.estimate(f"{tyre}.worn", 0.0, "0 %", "taken as new")
    book.estimate(f"{tyre}.road_friction", 1.0, "0 %", "a stated dry road, to which the class belongs")


def _tyre_stint(book: Book, known: Known, end: End) -> None:
    """Estimate what laps do to a tyre: what counts per area of tread by its size, its life by its class."""
    grip, size, same = known.grip, known.tyres[end], tyres_alike(known)
    usual = TyreStint()
    area = round(tau * size.free_radius * TREAD_SHARE * size.section_width / USUAL_TREAD, 3)
    by_size = f"as a tread of {USUAL_TREAD:g} m^2, by size: {STINT}"
    sized = ("tread_capacity", "carcass_capacity", "tread_cooling", "carcass_cooling", "tread_to_carcass")
    for name in sized:
        value = round(getattr(usual, name) * area, 1)
        book.estimate(f"{end}.tyre.stint.{name}", value, STINT_SPREADS[name], by_size, alike=same)
    book.estimate(
        f"{end}.tyre.stint.life",
        round(grip.life * area, -5),
        STINT_SPREADS["life"],
        f"of the class {known.brief.grip}, by size: {STINT}",
        alike=same,
    )
    for name in ("sliding_share", "rolling_resistance", "friction_loss_worn"):
        book.estimate(
            f"{end}.tyre.stint.{name}", getattr(usual, name), STINT_SPREADS[name], STINT, alike=same
        )


def estimate_wheel(book: Book, known: Known, end: End) -> None:
    """Estimate a wheel's mass and inertia, and how it is aligned."""
    brief, grip, size = known.brief, known.grip, known.tyres[end]
    mass = round(known.body.unsprung_share * brief.mass, 1)
    book.estimate(
        f"{end}.unsprung_mass",
        mass,
        "15 %",
        f"{known.body.unsprung_share:.2%} of the car; {OPEN_CARS}: 2.7 to 2.9 %, single-seaters {PRACTICE}",
    )
    deflection = wheel_load(known, end) / book[f"{end}.tyre.vertical_rate"]
    book.estimate(
        f"{end}.unsprung_cg_height",
        round(size.free_radius - deflection, 3),
        "5 %",
        "at the wheel centre: loaded radius",
    )
    book.estimate(
        f"{end}.wheel_spin_inertia",
        round(0.6 * mass * (0.8 * size.free_radius) ** 2, 2),
        "25 %",
        f"0.6 of the unsprung mass turns, at 0.8 of the free radius: {PRACTICE}",
    )
    camber = round(degrees(grip.front_camber) * (1.0 if end == "front" else 0.75), 1)
    toe = 0.1 if end == "rear" else 0.05 if brief.grip == "road" else -0.05
    usual = f"usual on {brief.grip} tyres: {PRACTICE}"
    book.estimate(f"{end}.camber", radians(camber), "0.7 deg", usual)
    book.estimate(f"{end}.toe", radians(toe), "0.1 deg", usual)
