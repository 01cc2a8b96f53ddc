"""A whole car from about ten numbers: what is not given is estimated, and says how and how surely.

Every parameter of the car gets a `Provenance`: given, or estimated with its method, the mark of its
source and one standard deviation. Marks: *open cars*, *sets A and B* and *common practice* as in
`classes`; *derived here* is mechanics, *from memory* was not looked up. All holds without fuel.
"""

from math import degrees, pi, radians, sqrt
from typing import Annotated, Any, Literal, NamedTuple, Self

import numpy as np
from pydantic import Field, field_validator, model_validator

from fourpatch.car.car import Car
from fourpatch.car.classes import BODY, DOWNFORCE, GRIP, Body, BodyKind, Downforce, DownforceLevel, Grip, GripClass
from fourpatch.car.default_adjusters import default_adjusters
from fourpatch.car.pack import GRAVITY
from fourpatch.car.parameters import Area, Part
from fourpatch.car.provenance import GIVEN, Provenance
from fourpatch.car.tyre_size import TyreSize, tyre_size
from fourpatch.units import Unit

End = Literal["front", "rear"]

ENDS: tuple[End, End] = ("front", "rear")
PRACTICE = "common practice, no published source"
OPEN_CARS = "three open vehicle data sets (CommonRoad: Vehicle Models, 2020)"
TYRE_SETS = "published tyre sets of 1987 and 2006"

_AIR_DENSITY = 1.2
_DOWNFORCE_SPEED = 50.0  # m/s at which tyres and brakes are sized
_ROLLING_RESISTANCE = 0.013


class CarBrief(Part):
    """What a driver knows of a car without measuring it."""

    name: str = Field(min_length=1, max_length=80)
    """What the car is called."""
    mass: Annotated[float, Unit("kg", "kg", 250.0, 4000.0)]
    """Whole car with driver, without fuel."""
    front_weight_share: Annotated[float, Unit("1", "%", 0.3, 0.7)]
    """Share of the weight on the front axle."""
    wheelbase: Annotated[float, Unit("m", "mm", 1.5, 4.0)]
    """Front to rear axle."""
    driven: Literal["front", "rear", "all"]
    """Driven wheels."""
    power: Annotated[float, Unit("W", "kW", 2e4, 1.5e6)]
    """Largest power of the engine."""
    front_tyre: str
    """Size text, such as 205/55R16."""
    rear_tyre: str
    """Size text."""
    grip: Grip
    """Class of the tyres."""
    body: Body
    """Kind of the car; a saloon stands for coupes and estates, sports for mid-engined and GT cars."""
    downforce: Downforce = "none"
    """Level of downforce: low for a lip and a small wing, high for a car made for it."""
    front_downforce_area: Area | None = None
    """Downforce over dynamic pressure at the front axle, where known; with the rear one, replaces the level."""
    rear_downforce_area: Area | None = None
    """Downforce over dynamic pressure at the rear axle, where known."""
    top_speed: Annotated[float, Unit("m/s", "km/h", 25.0, 130.0)] | None = None
    """Speed the car is geared for; without it, the speed at which drag takes all power."""

    @field_validator("front_tyre", "rear_tyre")
    @classmethod
    def _is_a_size(cls, text: str) -> str:
        tyre_size(text)
        return text

    @model_validator(mode="after")
    def _both_areas_or_none(self) -> Self:
        if (self.front_downforce_area is None) != (self.rear_downforce_area is None):
            raise ValueError("give front_downforce_area and rear_downforce_area together, or neither")
        return self


class _Known(NamedTuple):
    """The brief, read."""

    brief: CarBrief
    grip: GripClass
    body: BodyKind
    level: DownforceLevel
    tyres: dict[End, TyreSize]


class _Book:
    """Values by dotted name, and where each came from."""

    def __init__(self) -> None:
        self.values: dict[str, Any] = {}
        self.provenance: dict[str, Provenance] = {}

    def __getitem__(self, path: str) -> Any:
        return self.values[path]

    def given(self, path: str, value: Any) -> None:
        self.values[path] = value
        self.provenance[path] = GIVEN

    def estimate(self, path: str, value: Any, spread: str, method: str) -> None:
        self.values[path] = value
        self.provenance[path] = Provenance(source="estimated", method=method, spread=spread)

    def nested(self) -> dict[str, Any]:
        """Return the values as tables within tables, as the car's model reads them."""
        tree: dict[str, Any] = {}
        for path, value in self.values.items():
            *parts, last = path.split(".")
            table = tree
            for part in parts:
                table = table.setdefault(part, {})
            table[last] = value
        return tree


def estimate_car(brief: CarBrief) -> Car:
    """Return a whole car made from a brief, with the provenance of every parameter.

    Parameters
    ----------
    brief : what is known.

    Returns
    -------
    Car
        With a default list of adjusters whose baseline is the estimate.

    Notes
    -----
    The spreads are those of the single values. They are kept as if independent, which overstates
    what depends on two estimates that make up for each other, such as spring rate and motion ratio.

    Examples
    --------
    >>> car = estimate_car(CarBrief(
    ...     name="Example", mass=1150.0, front_weight_share=0.62, wheelbase=2.55, driven="front", power=120e3,
    ...     front_tyre="205/50R16", rear_tyre="205/50R16", grip="semi-slick", body="hatchback"))
    >>> car.provenance["chassis.yaw_inertia"].spread
    '8 %'
    """
    known = _Known(
        brief=brief,
        grip=GRIP[brief.grip],
        body=BODY[brief.body],
        level=DOWNFORCE[brief.downforce],
        tyres={"front": tyre_size(brief.front_tyre), "rear": tyre_size(brief.rear_tyre)},
    )
    book = _Book()
    _aero(book, known)
    _masses(book, known)
    for end in ENDS:
        _tyre(book, known, end)
        _wheel(book, known, end)
    _inertias(book, known)
    _steering_and_brakes(book, known)
    _driveline(book, known)
    for end in ENDS:
        _geometry(book, known, end)
        _spring_and_damper(book, known, end)
        _stops(book, known, end)
    _bars(book, known)
    _absent(book)
    car = Car.model_validate({"name": brief.name, "note": _NOTE, **book.nested(), "provenance": book.provenance})
    return car.model_copy(update={"adjusters": default_adjusters(car)})


_NOTE = "Estimated from a brief: see the provenance of each parameter, and replace what you can measure."


def _at(pair: tuple[float, float], end: End) -> float:
    return pair[ENDS.index(end)]


def _aero(book: _Book, known: _Known) -> None:
    """Estimate downforce and drag, the ride heights that carry them, and the map about these."""
    brief, body, level = known.brief, known.body, known.level
    areas = _downforce_areas(book, known)
    drag = body.drag_area + max(sum(areas.values()) - body.lift_area, 0.0) / level.lift_to_drag
    book.estimate(
        "aero.map.drag.constant",
        drag,
        "15 %",
        f"{body.drag_area:g} m^2 for a {brief.body} + added downforce area / {level.lift_to_drag:g}: {PRACTICE}",
    )
    book.estimate("aero.air_density", _AIR_DENSITY, "4 %", "dry air at 20 degC at sea level, perfect gas")
    book.estimate("driveline.efficiency", 0.93, "2 %", PRACTICE)
    for end, slope in (("front", "f"), ("rear", "r")):
        book.estimate(
            f"aero.map.{end}_downforce.{slope}",
            -level.per_height * max(areas[end], 0.0),
            "50 %",
            f"{level.per_height / 10:g} % of it lost per mm of its own ride height: {PRACTICE}",
        )
        _ride_height(book, known, end, areas[end])
    _wings(book, known, areas)


def _downforce_areas(book: _Book, known: _Known) -> dict[End, float]:
    """Estimate the downforce areas of both axles, unless they are given."""
    brief, own = known.brief, known.body.lift_area + known.level.area
    if brief.front_downforce_area is not None and brief.rear_downforce_area is not None:
        areas: dict[End, float] = {"front": brief.front_downforce_area, "rear": brief.rear_downforce_area}
        for end in ENDS:
            book.given(f"aero.map.{end}_downforce.constant", areas[end])
        return areas
    share = brief.front_weight_share - 0.02
    areas = {"front": own * share, "rear": own * (1.0 - share)}
    for end in ENDS:
        book.estimate(
            f"aero.map.{end}_downforce.constant",
            areas[end],
            f"{0.1 + 0.15 * known.level.area:.2g} m**2",
            f"body {known.body.lift_area:g} m^2 + {brief.downforce} downforce {known.level.area:g} m^2, front share 2 "
            f"points below the weight's: {PRACTICE}",
        )
    return areas


def _ride_height(book: _Book, known: _Known, end: End, area: float) -> None:
    """Estimate a ride height: the usual one, or what is left after downforce has pressed the car down.

    Notes
    -----
    At top speed an axle sinks by x = c (1 + s x), with c = q A / (2 k), the ride rate k = m (2 pi f)^2 of
    a corner and the relative gain s of downforce per sinking; 12 mm must be left.
    """
    brief, body = known.brief, known.body
    mass = _wheel_load(known, end) / GRAVITY - body.unsprung_share * brief.mass
    pressure = 0.5 * _AIR_DENSITY * _top_speed(book, known) ** 2
    linear = pressure * max(area, 0.0) / (2.0 * mass * (2.0 * pi * _ride_frequency(known, end)) ** 2)
    sinking = linear / max(1.0 - known.level.per_height * linear, 0.5)
    usual = body.ride_height - known.grip.lowered + (body.rake if end == "rear" else 0.0)
    height = round(max(usual, 0.012 + sinking), 3)
    method = (
        f"{usual * 1e3:.0f} mm for a {brief.body} on {brief.grip} tyres, or 12 mm more than the {sinking * 1e3:.0f} mm it "
        f"sinks at top speed: {PRACTICE}"
    )
    book.estimate(f"{end}.design_ride_height", height, "20 %", method)
    book.estimate(f"{end}.ride_height", height, "20 %", f"as designed; {method}")
    book.estimate(f"aero.map.reference_{end}_height", height, "0 %", "design ride height")
    for edge, factor in (("lowest", 0.2), ("highest", 2.0)):
        value = max(round(factor * height, 4), 0.005)
        book.estimate(f"aero.map.{edge}_{end}_height", value, "20 %", f"{factor:g} x design: {PRACTICE}")


def _wings(book: _Book, known: _Known, areas: dict[End, float]) -> None:
    """Estimate what the wings do per angle: nothing on a car without downforce."""
    winged = known.brief.downforce != "none"
    rear = 0.04 * max(areas["rear"], 0.0) / radians(1.0) if winged else 0.0
    nose = winged and known.brief.body == "single-seater"
    front = 0.04 * max(areas["front"], 0.0) / radians(1.0) if nose else 0.0
    why = f"4 % of the axle's downforce per degree: {PRACTICE}"
    none = "no such wing on a car of this kind"
    for wing, own, other, gain in (("front_wing", "front", "rear", front), ("rear_wing", "rear", "front", rear)):
        method = why if gain else none
        book.estimate(f"aero.{wing}.{own}_downforce_area_per_angle", gain, "40 %", method)
        book.estimate(
            f"aero.{wing}.{other}_downforce_area_per_angle",
            -0.15 * gain,
            "60 %",
            f"15 % of its gain: it stands outside the wheelbase by that share of it, {PRACTICE}" if gain else none,
        )
        book.estimate(
            f"aero.{wing}.drag_area_per_angle", gain / 4.0, "50 %", f"a quarter of its gain: {PRACTICE}" if gain else none
        )
        book.estimate(f"aero.{wing}.angle", 0.0, "0 deg", "counted from the position the estimate holds for")


def _masses(book: _Book, known: _Known) -> None:
    """Write the masses, and estimate tracks, height of the centre of gravity and the fuel's place."""
    brief, body, grip = known.brief, known.body, known.grip
    book.given("chassis.mass", brief.mass)
    book.given("chassis.front_weight_share", brief.front_weight_share)
    book.given("chassis.wheelbase", brief.wheelbase)
    for end in ENDS:
        book.estimate(
            f"{end}.track_width",
            round(body.track_share * brief.wheelbase, 3),
            "7 %",
            f"{body.track_share:g} x wheelbase for a {brief.body}; {OPEN_CARS}: 0.53 to 0.64, mean 0.584",
        )
    height = round(body.cg_height - grip.lowered, 3)
    book.estimate(
        "chassis.cg_height",
        height,
        "30 mm",
        f"{body.cg_height * 1e3:.0f} mm for a {brief.body}, lowered {grip.lowered * 1e3:.0f} mm on {brief.grip} tyres; "
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


def _wheel_load(known: _Known, end: End) -> float:
    """Static load of one wheel. [N]"""
    front = known.brief.front_weight_share
    return 0.5 * known.brief.mass * GRAVITY * (front if end == "front" else 1.0 - front)


def _mean_load(book: _Book, known: _Known) -> float:
    """Mean wheel load with downforce at 50 m/s. [N]"""
    downforce = sum(max(book[f"aero.map.{end}_downforce.constant"], 0.0) for end in ENDS)
    return 0.25 * (known.brief.mass * GRAVITY + 0.5 * _AIR_DENSITY * _DOWNFORCE_SPEED**2 * downforce)


def _mean_width(known: _Known) -> float:
    return 0.5 * sum(size.section_width for size in known.tyres.values())


def _tyre(book: _Book, known: _Known, end: End) -> None:
    """Estimate an axle's tyres from their size and class."""
    brief, grip, size = known.brief, known.grip, known.tyres[end]
    tyre = f"{end}.tyre"
    load = _wheel_load(known, end)
    of_class = f"of the class {brief.grip}"
    sets = f"{of_class}; {TYRE_SETS} for road tyres, for others {PRACTICE}"
    book.values[f"{tyre}.grip.kind"] = "compact"
    for name, value, spread, method in (
        (
            "nominal_load",
            round(_mean_load(book, known) * size.section_width / _mean_width(known), 1),
            "10 %",
            f"mean wheel load with downforce at 50 m/s x section width over the mean of both axles: {PRACTICE}",
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
        book.estimate(f"{tyre}.grip.{name}", value, spread, method)
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
            "Rhyne, Tire Science and Technology 33 (2005) 136, from size and pressure; four published rates lie 13 to 52 % "
            f"below it ({OPEN_CARS}; tyre set of 2006)" + (", extrapolated to a racing tyre" if racing else ""),
        ),
        (
            "vertical_damping",
            round(0.02 * 2.0 * sqrt(rate * unsprung), 1),
            "50 %",
            "2 % of critical with the unsprung mass: Kasprzak, damper guide for student formula cars",
        ),
        ("relaxation_length_lateral", round(size.free_radius, 3), "35 %", "about the tyre's radius: from memory"),
        ("relaxation_length_longitudinal", round(size.free_radius / 3.0, 3), "40 %", "a third of the lateral: from memory"),
        (
            "contact_length",
            round(size.contact_length(load=load, pressure=grip.pressure), 3),
            "20 %",
            f"static load over pressure and 0.8 x section width: {PRACTICE}",
        ),
        ("rate_per_pressure", round(size.pressure_share_of_rate(grip.pressure), 2), "0.1", "slope of the same formula"),
    ):
        book.estimate(f"{tyre}.{name}", value, spread, method)
    _tyre_condition(book, known, tyre)


def _tyre_condition(book: _Book, known: _Known, tyre: str) -> None:
    """Estimate pressure and temperature, and how grip answers to them."""
    grip = known.grip
    of_class = f"of the class {known.brief.grip}, hot: {PRACTICE}"
    guess = f"size of a simple law whose sign is {PRACTICE}"
    for name in ("pressure", "reference_pressure", "best_pressure"):
        book.estimate(f"{tyre}.{name}", grip.pressure, "10 %", of_class)
    for name in ("temperature", "best_temperature"):
        book.estimate(f"{tyre}.{name}", grip.temperature, "10 degC", of_class)
    for name, value in (
        ("friction_loss_per_pressure", 0.6),
        ("stiffness_per_pressure", 0.3),
        ("friction_loss_width", 60.0),
        ("stiffness_per_temperature", -0.002),
    ):
        book.estimate(f"{tyre}.{name}", value, "50 %", guess)


def _wheel(book: _Book, known: _Known, end: End) -> None:
    """Estimate a wheel's mass and inertia, and how it is aligned."""
    brief, grip, size = known.brief, known.grip, known.tyres[end]
    mass = round(known.body.unsprung_share * brief.mass, 1)
    book.estimate(
        f"{end}.unsprung_mass",
        mass,
        "15 %",
        f"{known.body.unsprung_share:.2%} of the car; {OPEN_CARS}: 2.7 to 2.9 %, single-seaters {PRACTICE}",
    )
    deflection = _wheel_load(known, end) / book[f"{end}.tyre.vertical_rate"]
    book.estimate(
        f"{end}.unsprung_cg_height", round(size.free_radius - deflection, 3), "5 %", "at the wheel centre: loaded radius"
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


def _inertias(book: _Book, known: _Known) -> None:
    """Estimate the three inertias.

    Notes
    -----
    Yaw: f m a b. Pitch of the sprung mass: 1.04 times its yaw inertia, which is the whole car's less
    that of the wheels; the three open cars give 1.05, 1.03 and 1.04. Roll: m_s (k t)^2.
    """
    brief, body = known.brief, known.body
    ahead = brief.wheelbase * (1.0 - brief.front_weight_share)
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
        round(_sprung_mass(book, known) * (body.roll_gyration * track) ** 2, 1),
        "15 %" if body.roll_gyration == 0.34 else "25 %",
        f"sprung mass x ({body.roll_gyration:g} x track)^2; {OPEN_CARS}: saloons 0.336 and 0.337, van 0.387",
    )


def _sprung_mass(book: _Book, known: _Known) -> float:
    return float(known.brief.mass - 2.0 * sum(book[f"{end}.unsprung_mass"] for end in ENDS))


def _sprung_corner_mass(book: _Book, known: _Known, end: End) -> float:
    return float(_wheel_load(known, end) / GRAVITY - book[f"{end}.unsprung_mass"])


def _geometry(book: _Book, known: _Known, end: End) -> None:
    """Estimate what an axle's links do."""
    body, geometry = known.body, f"{end}.geometry"
    usual = f"usual for a {known.brief.body}: {PRACTICE}"
    book.estimate(f"{geometry}.spring_motion_ratio.value", _at(body.spring_ratio, end), "10 %", usual)
    book.estimate(f"{geometry}.damper_motion_ratio.value", _at(body.damper_ratio, end), "10 %", usual)
    book.estimate(f"{geometry}.roll_centre_height.value", _at(body.roll_centre, end), "30 mm", usual)
    book.estimate(f"{geometry}.roll_centre_height.slope", -1.2, "0.6 m/m", f"it sinks with the body: {PRACTICE}")
    camber, spread = (-0.45, "0.15 rad/m") if end == "front" else (-0.48, "0.35 rad/m")
    book.estimate(
        f"{geometry}.camber_change.slope",
        camber,
        spread,
        f"mean of {OPEN_CARS}: -0.62, -0.39, -0.33 rad/m in front, -0.21, -0.91, -0.33 at the rear",
    )
    steer = -0.02 if end == "front" else 0.01
    book.estimate(f"{geometry}.bump_steer.slope", steer, "0.03 rad/m", f"a little roll understeer: {PRACTICE}")
    ratio = book["chassis.cg_height"] / known.brief.wheelbase
    brakes = book["brakes.front_share"] if end == "front" else 1.0 - book["brakes.front_share"]
    drive = 1.0 - book["driveline.front_drive_share"]
    book.estimate(
        f"{geometry}.braking_support.value",
        round(0.2 * ratio / brakes, 4),
        "60 %",
        "20 % anti-dive or anti-lift under braking (road cars 0 to 50 %, race cars 0 to 30 %: from memory)",
    )
    squat = 0.2 * ratio / drive if end == "rear" and drive > 0.0 else 0.0
    book.estimate(
        f"{geometry}.driving_support.value",
        round(squat, 4),
        "60 %" if squat else "0.02",
        "20 % anti-squat (25 % is called the practical limit of an independent rear axle, seen second hand)"
        if squat
        else f"none: {PRACTICE}",
    )


def _ride_frequency(known: _Known, end: End) -> float:
    front = known.grip.ride_frequency + known.level.added_frequency
    return front * (known.grip.rear_to_front_frequency if end == "rear" else 1.0)


def _spring_and_damper(book: _Book, known: _Known, end: End) -> None:
    """Estimate springs from a ride frequency and dampers from a damping ratio.

    Notes
    -----
    Ride frequency: sprung mass of the corner on wheel rate and tyre in series. Damping ratio:
    c / (2 sqrt(k m)) with wheel rate and sprung mass of the corner, mean of bump and rebound.
    """
    grip, mass = known.grip, _sprung_corner_mass(book, known, end)
    frequency = _ride_frequency(known, end)
    tyre = book[f"{end}.tyre.vertical_rate"]
    ride_rate = min(mass * (2.0 * pi * frequency) ** 2, 0.6 * tyre)
    wheel_rate = ride_rate * tyre / (tyre - ride_rate)
    ratio = book[f"{end}.geometry.spring_motion_ratio.value"]
    book.estimate(
        f"{end}.spring.rate",
        round(wheel_rate / ratio**2, -3),
        "25 %",
        f"ride frequency {frequency:.2f} Hz of the class {known.brief.grip} with {known.brief.downforce} downforce, "
        f"tyre in series; {OPEN_CARS}: front 1.20 to 1.44, rear 1.43 to 1.65 Hz; race cars 1.5 to 2.0, with high "
        "downforce 3 to 5 Hz (Giaraffa, Springs and Dampers, part one); whole N/mm",
    )
    damping = 2.0 * grip.damping_ratio * sqrt(wheel_rate * mass)
    damping /= book[f"{end}.geometry.damper_motion_ratio.value"] ** 2
    book.values[f"{end}.damper.kind"] = "two-slope"
    for direction, share in (("bump", 1.0), ("rebound", grip.rebound_to_bump)):
        low = damping * 2.0 * share / (1.0 + grip.rebound_to_bump)
        stem = f"{end}.damper.{direction}"
        book.estimate(
            f"{stem}.low_speed",
            round(low, -1),
            "30 %",
            f"damping ratio {grip.damping_ratio:g} (road 0.2 to 0.4, from memory; race 0.6 to 0.7, Ortiz 2009; "
            f"{OPEN_CARS}: 0.27 to 0.40), rebound/bump {grip.rebound_to_bump:.2g}: {PRACTICE}",
        )
        book.estimate(f"{stem}.high_speed", round(0.5 * low, -1), "40 %", f"half of the low-speed slope: {PRACTICE}")
        book.estimate(f"{stem}.knee_speed", grip.knee_speed, "40 %", f"of the class {known.brief.grip}: {PRACTICE}")
    book.estimate(f"{end}.damper.friction", 30.0, "20 N", f"of seals and joints: {PRACTICE}")


def _wheel_rate(book: _Book, end: End) -> float:
    return float(book[f"{end}.spring.rate"] * book[f"{end}.geometry.spring_motion_ratio.value"] ** 2)


def _stops(book: _Book, known: _Known, end: End) -> None:
    """Estimate bump stop and droop stop."""
    rate = _wheel_rate(book, end)
    deflection = GRAVITY * _sprung_corner_mass(book, known, end) / rate
    gap = 0.02 if known.brief.body == "single-seater" else known.grip.bump_gap
    stiff = round(rate, -3)
    for name, value, spread, method in (
        ("bump_stop.gap", gap, "30 %", f"of the class {known.brief.grip}: {PRACTICE}"),
        ("bump_stop.rate", stiff, "50 %", f"as stiff at contact as the spring: {PRACTICE}"),
        ("bump_stop.progression", stiff / 0.02, "50 %", f"twice its force 20 mm on: {PRACTICE}"),
        (
            "droop_stop.gap",
            round(min(0.9 * deflection, 0.09), 3),
            "30 %",
            f"0.9 of the static deflection, 90 mm at most, so that the spring stays loaded: {PRACTICE}",
        ),
        ("droop_stop.rate", 3e5, "50 %", f"of the order of the tyre: {PRACTICE}"),
    ):
        book.estimate(f"{end}.{name}", value, spread, method)


class _Roll(NamedTuple):
    """What the roll of a car turns on; pairs are front, rear."""

    moment: float
    """Sprung mass times its arm above the roll axis. [kg m]"""
    track: tuple[float, float]
    fixed: tuple[float, float]
    """Load transfer per acceleration through links and wheels. [kg]"""
    springs: tuple[float, float]
    """Roll stiffness of the springs, without bar and tyres. [N m/rad]"""
    tyres: tuple[float, float]


def _roll(book: _Book, known: _Known) -> _Roll:
    track = tuple(float(book[f"{end}.track_width"]) for end in ENDS)
    sprung = tuple(2.0 * _sprung_corner_mass(book, known, end) for end in ENDS)
    centre = tuple(float(book[f"{end}.geometry.roll_centre_height.value"]) for end in ENDS)
    wheels = tuple(2.0 * book[f"{end}.unsprung_mass"] * book[f"{end}.unsprung_cg_height"] for end in ENDS)
    moment = known.brief.mass * book["chassis.cg_height"] - sum(wheels)
    return _Roll(
        moment=moment - sum(m * h for m, h in zip(sprung, centre, strict=True)),
        track=(track[0], track[1]),
        fixed=(
            (sprung[0] * centre[0] + wheels[0]) / track[0],
            (sprung[1] * centre[1] + wheels[1]) / track[1],
        ),
        springs=(
            0.5 * _wheel_rate(book, "front") * track[0] ** 2,
            0.5 * _wheel_rate(book, "rear") * track[1] ** 2,
        ),
        tyres=(
            0.5 * book["front.tyre.vertical_rate"] * track[0] ** 2,
            0.5 * book["rear.tyre.vertical_rate"] * track[1] ** 2,
        ),
    )


def _series(one: float, other: float) -> float:
    return one * other / (one + other)


def _roll_stiffness(roll: _Roll, *, gradient: float, share: float) -> tuple[float, float]:
    """Return the roll stiffness at the ground that each axle needs. [N m/rad]

    Parameters
    ----------
    gradient : roll angle per lateral acceleration. [rad s^2/m]
    share : front axle's part of lateral load transfer.

    Notes
    -----
    phi = m_s d a / (K - m_s d g). With A_i the transfer per acceleration through links and wheels,
    share s means K_f phi ((1 - s)/t_f + s/t_r) = a (s (K phi/a/t_r + A_r) - (1 - s) A_f). Where an axle's
    springs alone are stiffer than that, they are taken as they are and the other axle follows from the
    share; then the car rolls less than asked.

    Source: derived here from roll moments, without flex of the chassis.
    """
    (t_f, t_r), moment = roll.track, roll.moment
    least = [_series(spring, tyre) for spring, tyre in zip(roll.springs, roll.tyres, strict=True)]
    total = moment * (1.0 / gradient + GRAVITY)
    uneven = share * roll.fixed[1] - (1.0 - share) * roll.fixed[0]
    front = (share * total / t_r + uneven / gradient) / ((1.0 - share) / t_f + share / t_r)
    rear = total - front
    held = GRAVITY - least[1] / moment, GRAVITY - least[0] / moment
    if rear < least[1]:
        rear = least[1]
        front = (share * rear / t_r - uneven * held[0]) / ((1.0 - share) / t_f - uneven / moment)
    elif front < least[0]:
        front = least[0]
        rear = ((1.0 - share) * front / t_f + uneven * held[1]) / (share / t_r + uneven / moment)
    return max(front, least[0]), max(rear, least[1])


def _bars(book: _Book, known: _Known) -> None:
    """Estimate both bars from a roll gradient and a front share of lateral load transfer."""
    gradient, share = _roll_targets(known)
    roll = _roll(book, known)
    needed = _roll_stiffness(roll, gradient=gradient / GRAVITY, share=share)
    ratio = 0.7
    for place, end in enumerate(ENDS):
        ground = min(needed[place], 0.8 * roll.tyres[place])
        suspension = ground * roll.tyres[place] / (roll.tyres[place] - ground)
        bar = max(suspension - roll.springs[place], 0.0) / (ratio * roll.track[place]) ** 2
        book.estimate(
            f"{end}.bar.rate",
            round(bar, -3),
            "40 %" if bar > 500.0 else "3 N/mm",
            f"roll gradient {degrees(gradient):.2g} deg/g at most (Milliken and Milliken, Race Car Vehicle Dynamics, ch. "
            f"16, from memory, and {PRACTICE}), front share of lateral load transfer {share:.1%}, "
            f"{100 * (share - known.brief.front_weight_share):+.0f} points from the weight's ({OPEN_CARS}: rear drive "
            f"+2.7 and +3.2, front drive -4.3); whole N/mm",
        )
        book.estimate(f"{end}.bar.motion_ratio", ratio, "10 %", PRACTICE)


def _roll_targets(known: _Known) -> tuple[float, float]:
    """Return roll gradient [rad per g] and front share of lateral load transfer."""
    gradient = min(known.grip.roll_gradient, known.body.largest_roll_gradient, known.level.largest_roll_gradient)
    beyond = -0.04 if known.brief.driven == "front" else 0.03
    return gradient, known.brief.front_weight_share + beyond


def _steering_and_brakes(book: _Book, known: _Known) -> None:
    """Estimate steering, and brakes from the ideal distribution."""
    brief, grip = known.brief, known.grip
    usual = f"usual for a {brief.body}: {PRACTICE}"
    book.estimate("steering.ratio", known.body.steering_ratio, "15 %", usual)
    book.estimate("steering.ackermann_share", 0.5, "0.3", usual)
    book.estimate("steering.caster", radians(5.0 if brief.grip == "road" else 6.5), "1.5 deg", usual)
    friction = grip.friction * grip.longitudinal_to_lateral
    share = brief.front_weight_share + 0.95 * friction * book["chassis.cg_height"] / brief.wheelbase
    book.estimate(
        "brakes.front_share",
        min(round(200.0 * share) / 200.0, 0.88),
        "6 %",
        f"ideal at {0.95 * friction:.2f} g, 0.95 of the tyres' peak: front weight share + deceleration x height / "
        "wheelbase, so that the front locks first below it; half percents (derived here)",
    )
    book.estimate(
        "brakes.full_pedal_torque",
        round(1.3 * friction * 4.0 * _mean_load(book, known) * known.tyres["front"].rolling_radius, -1),
        "20 %",
        f"1.3 x what locks all wheels with downforce at 50 m/s: {PRACTICE}",
    )


def _driveline(book: _Book, known: _Known) -> None:
    """Estimate engine, gears and differentials."""
    brief, body = known.brief, known.body
    if brief.driven == "all":
        book.estimate("driveline.front_drive_share", 0.4, "0.1", f"all driven: {PRACTICE}")
    else:
        book.given("driveline.front_drive_share", 1.0 if brief.driven == "front" else 0.0)
    share = np.linspace(0.2, 1.1, 10)
    speed = body.peak_power_speed * share
    torque = brief.power / body.peak_power_speed * (1.0 + share - share**2)
    curve = "P (1 + s - s^2) / peak speed, s engine speed over peak speed: petrol engine, Genta, from memory"
    at_peak = f"peak power at {body.peak_power_speed * 30 / pi:.0f} rpm for a {brief.body}: {PRACTICE}"
    book.estimate("driveline.engine_speed", [round(float(v), 1) for v in speed], "12 %", at_peak)
    book.estimate("driveline.engine_torque", [round(float(v), 1) for v in torque], "12 %", f"{curve}; {at_peak}")
    book.estimate(
        "driveline.overrun_torque",
        round(0.28 * float(torque.max()), 1),
        "40 %",
        "0.28 of the largest torque: friction and pumping pressure 3.5 bar against 12.5 bar, from memory",
    )
    _gears(book, known)
    _differentials(book, known)


def _top_speed(book: _Book, known: _Known) -> float:
    """Return the speed at which drag and rolling resistance take all power. [m/s]"""
    drag = 0.5 * _AIR_DENSITY * book["aero.map.drag.constant"]
    rolling = _ROLLING_RESISTANCE * known.brief.mass * GRAVITY
    roots = np.roots([drag, 0.0, rolling, -book["driveline.efficiency"] * known.brief.power])
    return float(roots[np.abs(roots.imag) < 1e-9].real.max())


def _gears(book: _Book, known: _Known) -> None:
    """Estimate six gears: the top one reaches top speed at peak power, steps shrink upward.

    Notes
    -----
    Steps follow a q^0 … a q^4 with q = 1.07 growing downward, and multiply to the class's spread.
    """
    speed = known.brief.top_speed or _top_speed(book, known)
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
        f"top speed {3.6 * speed:.0f} km/h ({known_speed}) at peak power; spread {known.grip.gears_spread:g} over six "
        f"gears, steps shrinking by 1.07 upward: {PRACTICE}",
    )
    book.estimate("driveline.final_drive", final, "8 %", "a stated value: only its product with the gears acts")


def _differentials(book: _Book, known: _Known) -> None:
    brief = known.brief
    method = f"of a {'front' if brief.driven == 'front' else 'rear'}-driven axle on {brief.grip} tyres: {PRACTICE}"
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


_ABSENT = {
    "chassis.cross_weight_share": (0.5, "1 %", "cross weight set level"),
    "chassis.cg_lateral_offset": (0.0, "20 mm", "driver's side not known: centre of gravity in the middle"),
}
_ABSENT_PER_AXLE = {
    "spring.helper_rate": "no helper spring",
    "spring.helper_block_force": "no helper spring",
    "heave.rate": "no heave spring",
    "heave.preload": "no heave spring",
    "heave.gap": "no heave spring",
    "heave.bump": "no heave damper",
    "heave.rebound": "no heave damper",
    "geometry.spring_motion_ratio.slope": "motion ratio taken constant",
    "geometry.spring_motion_ratio.curvature": "motion ratio taken constant",
    "geometry.damper_motion_ratio.slope": "motion ratio taken constant",
    "geometry.damper_motion_ratio.curvature": "motion ratio taken constant",
    "geometry.roll_centre_height.curvature": "taken linear",
    "geometry.camber_change.curvature": "taken linear",
    "geometry.bump_steer.curvature": "taken linear",
    "geometry.braking_support.slope": "taken constant",
    "geometry.braking_support.curvature": "taken constant",
    "geometry.driving_support.slope": "taken constant",
    "geometry.driving_support.curvature": "taken constant",
}


def _absent(book: _Book) -> None:
    """Write down what is left out."""
    for path, (value, spread, method) in _ABSENT.items():
        book.estimate(path, value, spread, method)
    for end in ENDS:
        for name, method in _ABSENT_PER_AXLE.items():
            book.estimate(f"{end}.{name}", 0.0, "0 %", method)
        book.estimate(f"{end}.heave.motion_ratio", 1.0, "0 %", "no heave spring")
    for surface, names in (
        ("front_downforce", ("r", "ff", "fr", "rr")),
        ("rear_downforce", ("f", "ff", "fr", "rr")),
        ("drag", ("f", "r", "ff", "fr", "rr")),
    ):
        for name in names:
            book.estimate(f"aero.map.{surface}.{name}", 0.0, "0 %", "taken as without effect")
