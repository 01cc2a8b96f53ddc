"""Rules about dampers. All are common practice, no published source, in our own words."""

from fourpatch.advice.rules.rule import CORNERS, KERBS, ROADS, TURN_INS, Change, Claim, Damping, Rule

_ENTRY = ("entry.early", "entry.late")
_EXIT = ("exit.early", "exit.late")
_BOTH_ENTRIES = (*TURN_INS, *CORNERS)
_BUMPY = ROADS[1:]

SYMMETRIC = Change(name="rebound equal to bump, their sum kept", ratio=1.0)
HALF_AGAIN = Change(name="rebound 1.5 times bump, their sum kept", ratio=1.5)
BUMP_ABOVE = Change(name="bump 1.5 times rebound, their sum kept", ratio=1.0 / 1.5)
THREE_TIMES = Change(name="rebound 3 times bump, their sum kept", ratio=3.0)

_HOLD_NOSE = Change(
    name="front rebound +50 %, rear rebound divided by 1.5",
    dampers=(Damping("front", rebound=1.5), Damping("rear", rebound=1.0 / 1.5)),
)
_FREE_NOSE = Change(
    name="front rebound divided by 1.5, rear rebound +50 %",
    dampers=(Damping("front", rebound=1.0 / 1.5), Damping("rear", rebound=1.5)),
)


def _lasts(way: str) -> Claim:
    """Return the claim that what an entry gains is still there just after."""
    return Claim(
        says="it stays so into mid-corner",
        about="grip",
        quantity="balance",
        way=way,  # type: ignore[arg-type]
        events=_BOTH_ENTRIES,
        windows=("mid.early",),
    )


def _bump(axle: str, factor: float, name: str) -> Change:
    return Change(name=name, dampers=tuple(Damping(end, bump=factor) for end in axle.split()))  # type: ignore[arg-type]


BUMP_BELOW_REBOUND = Rule(
    name="bump-below-rebound",
    subject="dampers",
    saying="Bump belongs below rebound: a wheel that rises easily and returns under control keeps its grip.",
    before=SYMMETRIC,
    change=HALF_AGAIN,
    back=BUMP_ABOVE,
    claims=(
        *(
            Claim(
                says=f"the {axle} loses less grip over bumps",
                about="grip",
                quantity="grip_lost",
                axle=axle,
                way="falls",
                events=ROADS,
            )
            for axle in ("front", "rear")
        ),
        Claim(
            says="a kerb throws the body up less",
            about="attitude",
            quantity="body_throw",
            way="falls",
            events=KERBS,
        ),
        *(
            Claim(
                says=f"the {axle} is drawn down on a rough road",
                about="attitude",
                quantity="ride_height",
                axle=axle,
                way="falls",
                events=ROADS,
            )
            for axle in ("front", "rear")
        ),
    ),
)

REBOUND_HALF_AGAIN = Rule(
    name="rebound-half-again",
    subject="dampers",
    saying="Rebound at least half again as stiff as bump is a safe start.",
    before=SYMMETRIC,
    change=HALF_AGAIN,
    back=THREE_TIMES,
    claims=(
        *(
            Claim(
                says=f"the {axle} loses hardly more grip over bumps",
                about="grip",
                quantity="grip_lost",
                axle=axle,
                way="costs little",
                events=ROADS,
            )
            for axle in ("front", "rear")
        ),
        *(
            Claim(
                says=f"the {axle} wheels leave a kerb for hardly longer",
                about="load",
                quantity="longest_flight",
                axle=axle,
                way="costs little",
                events=KERBS,
            )
            for axle in ("front", "rear")
        ),
    ),
)

SMOOTHER_ROAD = Rule(
    name="smoother-road-larger-difference",
    subject="dampers",
    saying="The smoother the road, the larger the difference between bump and rebound may be.",
    before=SYMMETRIC,
    change=HALF_AGAIN,
    back=THREE_TIMES,
    claims=tuple(
        Claim(
            says=f"the range of good ratios at the {axle} is wider on a smoother road",
            about="grip",
            quantity="grip_lost",
            axle=axle,
            way="smoother is wider",
            events=ROADS,
        )
        for axle in ("front", "rear")
    ),
)

FRONT_BUMP_ENTRY = Rule(
    name="softer-front-bump-frees-entry",
    subject="dampers",
    saying="Softer front bump frees the car on entry.",
    change=_bump("front", 0.7, "front bump -30 %"),
    back=_bump("front", 1.0 / 0.7, "front bump divided by 0.7"),
    claims=(
        Claim(
            says="the balance on entry goes towards oversteer",
            about="grip",
            quantity="balance",
            way="falls",
            events=_BOTH_ENTRIES,
            windows=_ENTRY,
        ),
        _lasts("falls"),
        Claim(
            says="less load moves across the front axle meanwhile",
            about="lateral share",
            quantity="lateral_transfer",
            axle="front",
            way="falls",
            events=_BOTH_ENTRIES,
            windows=_ENTRY,
        ),
    ),
)

REAR_BUMP_ENTRY = Rule(
    name="softer-rear-bump-calms-entry",
    subject="dampers",
    saying="As a last resort against a loose entry, soften rear bump.",
    change=_bump("rear", 0.7, "rear bump -30 %"),
    back=_bump("rear", 1.0 / 0.7, "rear bump divided by 0.7"),
    claims=(
        Claim(
            says="the balance on entry goes towards understeer",
            about="grip",
            quantity="balance",
            way="rises",
            events=_BOTH_ENTRIES,
            windows=_ENTRY,
        ),
        _lasts("rises"),
        Claim(
            says="less load moves across the rear axle meanwhile",
            about="lateral share",
            quantity="lateral_transfer",
            axle="rear",
            way="falls",
            events=_BOTH_ENTRIES,
            windows=_ENTRY,
        ),
    ),
)

REAR_REBOUND_BRAKING = Rule(
    name="stiff-rear-rebound-loosens-entry",
    subject="dampers",
    saying="Stiffer rear rebound takes load off the rear while the nose goes down, and loosens the entry.",
    change=Change(name="rear rebound +50 %", dampers=(Damping("rear", rebound=1.5),)),
    back=Change(name="rear rebound divided by 1.5", dampers=(Damping("rear", rebound=1.0 / 1.5),)),
    claims=(
        Claim(
            says="the balance on entry goes towards oversteer",
            about="grip",
            quantity="balance",
            way="falls",
            events=_BOTH_ENTRIES,
            windows=_ENTRY,
        ),
        Claim(
            says="the rear axle carries less under braking",
            about="load",
            quantity="axle_load",
            axle="rear",
            way="falls",
            events=CORNERS,
            windows=("braking.early", "braking.late"),
        ),
    ),
)


def _nose(name: str, saying: str, *, hold: bool, phase: str, windows: tuple[str, ...]) -> Rule:
    """Return the rule of stiffer front and softer rear rebound, or of its reverse, in a phase."""
    down: tuple[Change, Change] = (_HOLD_NOSE, _FREE_NOSE)
    more, less = ("rises", "falls") if hold else ("falls", "rises")
    return Rule(
        name=name,
        subject="dampers",
        saying=saying,
        change=down[0] if hold else down[1],
        back=down[1] if hold else down[0],
        claims=(
            Claim(
                says=f"the front axle carries {'more' if hold else 'less'} on {phase}",
                about="load",
                quantity="axle_load",
                axle="front",
                way=more,  # type: ignore[arg-type]
                events=CORNERS,
                windows=windows,
            ),
            Claim(
                says=f"the nose stays {'lower' if hold else 'higher'}",
                about="attitude",
                quantity="ride_height",
                axle="front",
                way=less,  # type: ignore[arg-type]
                events=CORNERS,
                windows=windows,
            ),
            Claim(
                says=f"the balance goes towards {'oversteer' if hold else 'understeer'}",
                about="grip",
                quantity="balance",
                way=less,  # type: ignore[arg-type]
                events=CORNERS,
                windows=windows,
            ),
        ),
    )


STIFF_BUMP_KERBS = Rule(
    name="stiff-bump-throws-off-kerbs",
    subject="dampers",
    saying="Bump too stiff throws the car up from kerbs and takes its wheels off the ground.",
    change=_bump("front rear", 1.5, "bump +50 %, front and rear"),
    back=_bump("front rear", 1.0 / 1.5, "bump divided by 1.5, front and rear"),
    claims=(
        Claim(
            says="the kerb throws the body higher",
            about="attitude",
            quantity="body_throw",
            way="rises",
            events=KERBS,
        ),
        Claim(
            says="the kerb pushes the body up harder",
            about="load",
            quantity="body_acceleration_peak",
            way="rises",
            events=KERBS,
        ),
        *(
            Claim(
                says=f"the {axle} wheels fly for longer",
                about="load",
                quantity="longest_flight",
                axle=axle,
                way="rises",
                events=KERBS,
            )
            for axle in ("front", "rear")
        ),
    ),
)

SOFTER_FAST_DAMPING = Rule(
    name="softer-fast-damping-for-bumps",
    subject="dampers",
    saying="On a bumpy road take high-speed damping off: the wheels follow the bumps better.",
    change=Change(
        name="high-speed bump and rebound -30 %, front and rear",
        dampers=(Damping("front", 0.7, 0.7, "high"), Damping("rear", 0.7, 0.7, "high")),
    ),
    back=Change(
        name="high-speed bump and rebound divided by 0.7, front and rear",
        dampers=(
            Damping("front", 1.0 / 0.7, 1.0 / 0.7, "high"),
            Damping("rear", 1.0 / 0.7, 1.0 / 0.7, "high"),
        ),
    ),
    claims=tuple(
        Claim(
            says=f"the {axle} loses less grip over bumps",
            about="grip",
            quantity="grip_lost",
            axle=axle,
            way="falls",
            events=_BUMPY,
        )
        for axle in ("front", "rear")
    ),
)

RULES = (
    BUMP_BELOW_REBOUND,
    REBOUND_HALF_AGAIN,
    SMOOTHER_ROAD,
    FRONT_BUMP_ENTRY,
    REAR_BUMP_ENTRY,
    REAR_REBOUND_BRAKING,
    _nose(
        "nose-held-by-rebound-on-entry",
        "Stiffer front and softer rear rebound hold load on the front as the brake is released.",
        hold=True,
        phase="entry",
        windows=_ENTRY,
    ),
    _nose(
        "nose-freed-by-rebound-on-entry",
        "Softer front and stiffer rear rebound let the nose up as the brake is released, and calm the entry.",
        hold=False,
        phase="entry",
        windows=_ENTRY,
    ),
    _nose(
        "nose-held-by-rebound-on-exit",
        "Stiffer front and softer rear rebound keep the nose down under power: less push on exit.",
        hold=True,
        phase="exit",
        windows=_EXIT,
    ),
    _nose(
        "nose-freed-by-rebound-on-exit",
        "Softer front and stiffer rear rebound let load go to the rear under power: more push on exit.",
        hold=False,
        phase="exit",
        windows=_EXIT,
    ),
    STIFF_BUMP_KERBS,
    SOFTER_FAST_DAMPING,
)
"""Every rule about dampers."""
