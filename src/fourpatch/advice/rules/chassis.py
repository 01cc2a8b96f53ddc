"""Rules about springs, bars, geometry, brakes, differential, aero: common practice, no published source."""

from collections.abc import Callable
from math import radians

from fourpatch.advice.rules.rule import CORNERS, KERBS, ROADS, Change, Claim, Rule, Shift
from fourpatch.car.car import Car
from fourpatch.car.parameters import PlateDifferential
from fourpatch.car.paths import parameter

_BUMPY = ROADS[1:]
_ENDS = ("front", "rear")
_PHASES = {"braking": "under braking", "entry": "on entry", "mid": "at mid-corner", "exit": "on exit"}


def _balance(way: str, *windows: str) -> Claim:
    told = " and ".join(dict.fromkeys(_PHASES[name.split(".")[0]] for name in windows))
    return Claim(
        says=f"the balance {told} goes towards {'understeer' if way == 'rises' else 'oversteer'}",
        about="grip",
        quantity="balance",
        way=way,  # type: ignore[arg-type]
        events=CORNERS,
        windows=windows,
    )


def _transfer(axle: str, way: str) -> Claim:
    return Claim(
        says=f"{'more' if way == 'rises' else 'less'} load moves across the {axle} axle at mid-corner",
        about="lateral share",
        quantity="lateral_transfer",
        axle=axle,  # type: ignore[arg-type]
        way=way,  # type: ignore[arg-type]
        events=CORNERS,
        windows=("mid",),
    )


def _use(axle: str, window: str, phase: str) -> Claim:
    return Claim(
        says=f"the {axle} axle uses less of its grip {phase}",
        about="grip",
        quantity="use",
        axle=axle,  # type: ignore[arg-type]
        way="falls",
        events=CORNERS,
        windows=(window,),
    )


def _over_bumps(axle: str) -> Claim:
    return Claim(
        says=f"the {axle} loses less grip over bumps",
        about="grip",
        quantity="grip_lost",
        axle=axle,  # type: ignore[arg-type]
        way="falls",
        events=_BUMPY,
    )


def _times(name: str, factor: float, *paths: str) -> Change:
    return Change(name=name, shifts=tuple(Shift(path, factor, "times") for path in paths))


def _plus(name: str, **amounts: float) -> Change:
    """Return a change by amounts; a dot in a path is written as two underlines."""
    return Change(
        name=name, shifts=tuple(Shift(p.replace("__", "."), size, "plus") for p, size in amounts.items())
    )


def _without_bar(*ends: str) -> Callable[[Car], str]:
    def lacks(car: Car) -> str:
        none = [end for end in ends if parameter(car, f"{end}.bar.rate").value == 0.0]
        return f"no {' or '.join(none)} anti-roll bar" if none else ""

    return lacks


def _without_wing(end: str) -> Callable[[Car], str]:
    def lacks(car: Car) -> str:
        wing = getattr(car.aero, f"{end}_wing")
        return "" if getattr(wing, f"{end}_downforce_area_per_angle") else f"no adjustable {end} wing"

    return lacks


def _without_plates(car: Car) -> str:
    has = isinstance(car.driveline.rear_differential, PlateDifferential)
    return "" if has and car.driveline.front_drive_share < 1.0 else "no plate differential at the rear"


_SPRINGS = tuple(f"{end}.spring.rate" for end in _ENDS)
_BARS = tuple(f"{end}.bar.rate" for end in _ENDS)

SPRINGS = (
    Rule(
        name="softer-front-springs-turn-more",
        subject="springs",
        saying="Softer front springs give the front more grip in the corner: less push.",
        change=_times("front springs -20 %", 0.8, "front.spring.rate"),
        back=_times("front springs divided by 0.8", 1.25, "front.spring.rate"),
        claims=(_balance("falls", "mid"), _transfer("front", "falls")),
    ),
    Rule(
        name="stiffer-rear-springs-turn-more",
        subject="springs",
        saying="Stiffer rear springs turn the car: less push in the corner.",
        change=_times("rear springs +25 %", 1.25, "rear.spring.rate"),
        back=_times("rear springs divided by 1.25", 0.8, "rear.spring.rate"),
        claims=(_balance("falls", "mid"), _transfer("rear", "rises")),
    ),
    Rule(
        name="softer-springs-for-bumps",
        subject="springs",
        saying="On a bumpy road soften the springs: the wheels follow the bumps better.",
        change=_times("springs -20 %, front and rear", 0.8, *_SPRINGS),
        back=_times("springs divided by 0.8, front and rear", 1.25, *_SPRINGS),
        claims=(_over_bumps("front"), _over_bumps("rear")),
    ),
    Rule(
        name="stiffer-springs-stop-the-dive",
        subject="springs",
        saying="Stiffer front springs stop the nose from diving; the load that moves stays the same.",
        change=_times("front springs +25 %", 1.25, "front.spring.rate"),
        back=_times("front springs divided by 1.25", 0.8, "front.spring.rate"),
        claims=(
            Claim(
                says="the nose dives less under braking",
                about="attitude",
                quantity="ride_height",
                axle="front",
                way="rises",
                events=CORNERS,
                windows=("braking.late",),
            ),
            Claim(
                says="the front axle carries hardly more or less",
                about="load",
                quantity="axle_load",
                axle="front",
                way="stays",
                events=CORNERS,
                windows=("braking.late",),
            ),
        ),
    ),
)

BARS = (
    Rule(
        name="stiffer-front-bar-pushes",
        subject="anti-roll bars",
        saying="A stiffer front bar makes the car push in the corner.",
        change=_times("front bar +30 %", 1.3, "front.bar.rate"),
        back=_times("front bar divided by 1.3", 1.0 / 1.3, "front.bar.rate"),
        claims=(_balance("rises", "mid"), _transfer("front", "rises")),
        lacks=_without_bar("front"),
    ),
    Rule(
        name="stiffer-rear-bar-frees",
        subject="anti-roll bars",
        saying="A stiffer rear bar frees the car in the corner and on the way out.",
        change=_times("rear bar +30 %", 1.3, "rear.bar.rate"),
        back=_times("rear bar divided by 1.3", 1.0 / 1.3, "rear.bar.rate"),
        claims=(_balance("falls", "mid", "exit.early"), _transfer("rear", "rises")),
        lacks=_without_bar("rear"),
    ),
    Rule(
        name="stiffer-rear-bar-costs-drive",
        subject="anti-roll bars",
        saying="A stiffer rear bar lifts the inner rear wheel and costs drive on exit.",
        change=_times("rear bar +30 %", 1.3, "rear.bar.rate"),
        back=_times("rear bar divided by 1.3", 1.0 / 1.3, "rear.bar.rate"),
        claims=(
            Claim(
                says="the inner rear wheel carries less on exit",
                about="lateral share",
                quantity="inner_load",
                axle="rear",
                way="falls",
                events=CORNERS,
                windows=("exit.early",),
            ),
            Claim(
                says="the rear axle uses more of its grip on exit",
                about="grip",
                quantity="use",
                axle="rear",
                way="rises",
                events=CORNERS,
                windows=("exit.early", "exit.late"),
            ),
        ),
        lacks=_without_bar("rear"),
    ),
    Rule(
        name="softer-bars-for-kerbs",
        subject="anti-roll bars",
        saying="On kerbs and bumps soften the bars: one wheel's bump then disturbs the other less.",
        change=_times("bars divided by 1.3, front and rear", 1.0 / 1.3, *_BARS),
        back=_times("bars +30 %, front and rear", 1.3, *_BARS),
        claims=(
            _over_bumps("front"),
            _over_bumps("rear"),
            Claim(
                says="a kerb under one side throws the body up less",
                about="attitude",
                quantity="body_throw",
                way="falls",
                events=KERBS,
            ),
        ),
        lacks=_without_bar("front", "rear"),
    ),
)

GEOMETRY = (
    Rule(
        name="more-front-camber-grips",
        subject="geometry",
        saying="More negative front camber gives the front more grip in the corner.",
        change=_plus("front camber 0.5 deg more negative", front__camber=radians(-0.5)),
        back=_plus("front camber 0.5 deg less negative", front__camber=radians(0.5)),
        claims=(_use("front", "mid", "at mid-corner"), _balance("falls", "mid")),
    ),
    Rule(
        name="more-rear-camber-grips",
        subject="geometry",
        saying="More negative rear camber gives the rear more grip in the corner.",
        change=_plus("rear camber 0.5 deg more negative", rear__camber=radians(-0.5)),
        back=_plus("rear camber 0.5 deg less negative", rear__camber=radians(0.5)),
        claims=(_use("rear", "mid", "at mid-corner"), _balance("rises", "mid")),
    ),
    Rule(
        name="front-toe-out-sharpens-turn-in",
        subject="geometry",
        saying="Toe-out at the front makes the car answer the steering sooner.",
        change=_plus("front toe 0.1 deg further out at each wheel", front__toe=radians(-0.1)),
        back=_plus("front toe 0.1 deg further in at each wheel", front__toe=radians(0.1)),
        claims=(
            Claim(
                says="yaw follows the steering sooner",
                about="grip",
                quantity="yaw_response_time",
                way="falls",
                events=("step steer",),
            ),
        ),
    ),
    Rule(
        name="rear-toe-in-steadies",
        subject="geometry",
        saying="Toe-in at the rear steadies the car.",
        change=_plus("rear toe 0.1 deg further in at each wheel", rear__toe=radians(0.1)),
        back=_plus("rear toe 0.1 deg further out at each wheel", rear__toe=radians(-0.1)),
        claims=(
            Claim(
                says="a disturbance dies away sooner in the corner",
                about="grip",
                quantity="stability_reserve",
                way="falls",
                events=CORNERS,
                windows=("mid",),
            ),
        ),
    ),
    Rule(
        name="lower-is-faster",
        subject="geometry",
        saying="A lower car moves less load across its axles and corners better.",
        change=_plus("3 mm lower, front and rear", front__ride_height=-3e-3, rear__ride_height=-3e-3),
        back=_plus("3 mm higher, front and rear", front__ride_height=3e-3, rear__ride_height=3e-3),
        claims=(
            _use("front", "mid", "at mid-corner"),
            _use("rear", "mid", "at mid-corner"),
            _transfer("front", "falls"),
            _transfer("rear", "falls"),
        ),
    ),
    Rule(
        name="more-rake-frees",
        subject="geometry",
        saying="More rake, a lower nose and a higher tail, frees the car.",
        change=_plus("front 2 mm lower, rear 2 mm higher", front__ride_height=-2e-3, rear__ride_height=2e-3),
        back=_plus("front 2 mm higher, rear 2 mm lower", front__ride_height=2e-3, rear__ride_height=-2e-3),
        claims=(_balance("falls", "mid"),),
    ),
)

BRAKES = (
    Rule(
        name="rearward-bias-frees-entry",
        subject="brakes",
        saying="Brake bias further to the rear turns the car in: less push under braking and on entry.",
        change=_plus("brake bias 2 points rearward", brakes__front_share=-0.02),
        back=_plus("brake bias 2 points forward", brakes__front_share=0.02),
        claims=(_balance("falls", "braking", "entry.early"), _balance("falls", "entry.late")),
    ),
)

DIFFERENTIAL = (
    Rule(
        name="more-power-lock-drives",
        subject="differential",
        saying="More lock under power drives better out of the corner.",
        change=_plus("power lock +10 points", driveline__rear_differential__power_lock=0.1),
        back=_plus("power lock -10 points", driveline__rear_differential__power_lock=-0.1),
        claims=(_use("rear", "exit.late", "late on exit"),),
        lacks=_without_plates,
    ),
    Rule(
        name="more-coast-lock-calms-entry",
        subject="differential",
        saying="More lock on the overrun calms the entry.",
        change=_plus("coast lock +10 points", driveline__rear_differential__coast_lock=0.1),
        back=_plus("coast lock -10 points", driveline__rear_differential__coast_lock=-0.1),
        claims=(_balance("rises", "entry.early", "entry.late"),),
        lacks=_without_plates,
    ),
    Rule(
        name="more-preload-pushes",
        subject="differential",
        saying="More preload makes the car push on entry and at mid-corner.",
        change=_plus("preload +30 N·m", driveline__rear_differential__preload=30.0),
        back=_plus("preload -30 N·m", driveline__rear_differential__preload=-30.0),
        claims=(_balance("rises", "entry.late", "mid"),),
        lacks=_without_plates,
    ),
)

AERO = (
    Rule(
        name="more-rear-wing-steadies",
        subject="aero",
        saying="More rear wing steadies the car, the more the faster the corner: it pushes more.",
        change=_plus("rear wing +2 deg", aero__rear_wing__angle=radians(2.0)),
        back=_plus("rear wing -2 deg", aero__rear_wing__angle=radians(-2.0)),
        claims=(_balance("rises", "mid"), _use("rear", "mid", "at mid-corner")),
        lacks=_without_wing("rear"),
    ),
    Rule(
        name="more-front-wing-frees",
        subject="aero",
        saying="More front wing turns the car in fast corners.",
        change=_plus("front wing +2 deg", aero__front_wing__angle=radians(2.0)),
        back=_plus("front wing -2 deg", aero__front_wing__angle=radians(-2.0)),
        claims=(_balance("falls", "mid"), _use("front", "mid", "at mid-corner")),
        lacks=_without_wing("front"),
    ),
    Rule(
        name="lower-front-adds-front-downforce",
        subject="aero",
        saying="A lower nose works its floor or splitter harder: more downforce in front.",
        change=_plus("front 3 mm lower", front__ride_height=-3e-3),
        back=_plus("front 3 mm higher", front__ride_height=3e-3),
        claims=(
            Claim(
                says="the front axle is pressed down more at mid-corner",
                about="load",
                quantity="downforce",
                axle="front",
                way="rises",
                events=CORNERS[2:],
                windows=("mid",),
            ),
            _balance("falls", "mid"),
        ),
    ),
)

RULES = (*SPRINGS, *BARS, *GEOMETRY, *BRAKES, *DIFFERENTIAL, *AERO)
"""Every rule about the rest of the car."""
