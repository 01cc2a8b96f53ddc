"""The words of the trade for what a car does, in which phase and where, as patterns.

English; common practice, no published source. The order of each table is the order of looking: what is found
first is taken out of the text.
"""

import re

from fourpatch.advice.complaint import Behaviour, End, PhaseName, Place, Size, Window

BEHAVIOURS: tuple[tuple[Behaviour, str], ...] = (
    (
        "locks fronts",
        r"(lock\w*|skid\w*) (up )?(the |its |my )?(inside |outside |left |"
        r"right )?fronts?( \w+ish)?( wheels?| tyres?| tires?)?"
        r"|fronts?( wheels?| tyres?| brakes?)? (are |is |keeps? |always )?lock\w*( up)?|front lock-?ups?",
    ),
    (
        "locks rears",
        r"(lock\w*|skid\w*) (up )?(the |its |my )?(inside |outside |left |right )?(rears?|backs?)( wheels?|"
        r" tyres?| tires?)?"
        r"|(rears?|backs?)( wheels?| tyres?| brakes?)? (are |is |keeps? |always )?lock\w*( up)?|"
        r"rear lock-?ups?",
    ),
    (
        "spins the inside wheel",
        r"(spin\w*|lights? up|smok\w+) (up )?(the |its |an )?(inside|inner|unloaded)( (front|"
        r"rear))?( wheel| tyre| tire)?"
        r"|(inside|inner)( (front|rear))? (wheel|tyre|tire)( keeps?| is)? (spin\w*|light\w* up)|"
        r"wheel ?-?spins?|wheelspinning|(no|poor|lacks?|bad) traction",
    ),
    (
        "thrown off kerbs",
        r"(is |gets |being )?(thrown|kicked|launched|bounced|pitched|knocked)( about| around| up| off|"
        r" sideways| by| over| at)*( the)? (kerbs?|curbs?)"
        r"|(kerbs?|curbs?) (throw|kick|launch|upset|unsettle|bounce)\w*( it| me| us| the car)?( off)?|"
        r"(can ?not|can't|won't|does not|doesn't) (take|ride|use)( the)? (kerbs?|curbs?)"
        r"|hates?( the)? (kerbs?|curbs?)",
    ),
    (
        "understeer",
        r"understeer\w*|under-?steer\w*|push(es|ing|y|ed)?( wide)?|wash(es|ing|ed)?( out| wide)?|plough\w*|"
        r"plow\w*|tight|"
        r"(will not|won't|wont|does not|doesn't|doesnt|refuses to|not) (turn|rotate|point|steer)\w*( in)?|"
        r"no (front|bite|turn-?in|rotation)( grip| end| bite)?|"
        r"run(s|ning)? (wide|out of road)|front( end)? (slides?|lets? go|gives? up|goes|washes)( first|"
        r" out| away| wide)?|lacks? (front( grip| end| bite)?|rotation|bite)|"
        r"nose (washes|pushes|slides|runs)( out| wide)?",
    ),
    (
        "oversteer",
        r"oversteer\w*|over-?steer\w*|loose|tail[- ]happy|snap(s|ping|py)?|(the )?(rear|back|"
        r"tail)( end)?( always| just| suddenly)? "
        r"(steps?|stepping|comes?|coming|slides?|sliding|goes|lets? go|gives? up|breaks?|breaking|kicks?|"
        r"swings?|snaps?)( out| round| around| away| loose| first)?|"
        r"(spins?|spinning) (out|round|around)|spins? (under|on|in|off|at|when|mid)|steps? out|"
        r"no rear( grip| end)?|lacks? rear( grip| end)?|rotates? too (much|fast)|free",
    ),
    (
        "nervous",
        r"nervous\w*|twitch\w*|edgy|darty|dart(s|ing)|too (sharp|quick|direct)|unstable|jumpy|skittish|"
        r"skitter\w*|on edge|wander\w*",
    ),
    (
        "slow to answer",
        r"slow to (answer|respond|react|turn)|lazy|sluggish|dull|(slow|late|lazy|delayed) (response|answer|"
        r"reaction)|lag(s|gy)|unresponsive|dead steering|takes? (too long|ages|its time) to (turn|react|"
        r"respond|answer)",
    ),
    (
        "floats",
        r"float\w*|wallow\w*|bob(s|bing)|porpois\w*|moves? around too much|rolls? too much|"
        r"heaves?( too much)?|pitch(es|ing)( too much)?",
    ),
    (
        "hops",
        r"hop(s|ping)?|skip(s|ping|py)?|chatter\w*|bounc(es|ing|y)|patter\w*|(loses|losing|no) (grip|"
        r"contact) (over|on) (the )?bumps|leaves? the (ground|road)|jump(s|ing) over( the)? bumps|"
        r"(crash\w*|harsh|too stiff) (over|on)( the)? bumps|(skates?|skating)",
    ),
    (
        "bottoms",
        r"bottom(s|ing|ed)?( out)?|hits? the (ground|road|floor|bump ?stops?|stops)|ground(s|ing)( out)?|"
        r"scrap(es|ing)|touch(es|ing) (down|the (ground|road))|runs? out of travel|on the bump ?stops?",
    ),
    (
        "inconsistent",
        r"inconsistent|unpredictable|different (every|each) (lap|corner|time)|never the same( twice)?|"
        r"changes? (through|during) the corner|balance (changes|shifts|moves)",
    ),
    (
        "overheats",
        r"over-?heat\w*|(tyres?|tires?)( get| go| are| run)*( too)? hot|cook(s|ing)( (the|its))?( fronts?|"
        r" rears?)?( tyres?| tires?)?",
    ),
)

PHASES: tuple[tuple[PhaseName, str], ...] = (
    (
        "entry",
        r"(off|lift(s|ing)?( off)?)( the)? (throttle|gas|power)|lift[- ]?off|(corner )?entry|entries|"
        r"entering|turn(ing)?[ -]?in|trail[- ]?brak\w*|trailing( the)? brakes?|(releas\w+|coming off|"
        r"off)( the)? brakes?|way in|into (the )?(corners?|turns?|bends?)",
    ),
    (
        "braking",
        r"(under|in|on|when|while|during|heavy|hard|straight[- ]line)?( heavy| hard| the)? ?(braking|"
        r"brakes?)( zones?)?",
    ),
    (
        "mid",
        r"mid[- ]?(corner|turn|way|phase)?|middle( of)?( the)?( corner| turn)?|apex|apexes|steady( state|"
        r" cornering)?|in the corner",
    ),
    (
        "exit",
        r"(corner )?exits?|exiting|on( the)? (power|throttle|gas)|under power|power|throttle|accelerat\w+|"
        r"(coming|way|driving) out( of( the)? corners?)?|out of( the)? (corners?|turns?)|traction",
    ),
    ("straight", r"straights?|straight[- ]?line|at speed|top speed|down the straight"),
)

PLACES: tuple[tuple[Place, str], ...] = (
    ("kerb", r"(over|on|off|at|across)?( the)? ?(kerbs?|curbs?|kerbing)"),
    (
        "bumpy",
        r"(over|on|in|through|across)?( the)? ?(bumps?|bumpy( parts?| sections?| corners?| roads?| stuff|"
        r" braking zones?)?|rough( parts?| sections?| roads?)?|ripples?|undulations?)",
    ),
    (
        "slow corner",
        r"(slow|low[- ]speed|tight|first[- ]gear|second[- ]gear)( ones?| corners?| turns?| bends?| stuff)|"
        r"hairpins?|slow|low[- ]speed",
    ),
    (
        "medium corner",
        r"(medium|mid|middling)[- ]?speed( corners?| turns?| bends?| ones?)?|medium( corners?| turns?|"
        r" bends?| ones?)?|third[- ]gear( corners?| turns?)?",
    ),
    (
        "fast corner",
        r"(fast|high[- ]?speed|quick|fourth[- ]gear|fifth[- ]gear)( ones?| corners?| turns?| bends?| stuff|"
        r" sweepers?)?|sweepers?",
    ),
)

WINDOWS: tuple[tuple[Window, str], ...] = (
    (
        "early",
        r"early( in| on| part of| half of)?( the)?|initial(ly)?( turn[- ]in)?|start of( the)?|at first|"
        r"first part of|beginning of( the)?",
    ),
    ("late", r"late(r)?( in| on| part of| half of)?( the)?|end of( the)?|second part of|last part of"),
)

SIZES: tuple[tuple[Size, str], ...] = (
    ("a little", r"(only |just )?(a (little|bit|touch|tad|hint)( of)?|slight(ly)?|mild(ly)?|somewhat|minor)"),
    (
        "badly",
        r"(very |really |so )?bad(ly)?|terribl[ey]|massive(ly)?|huge(ly)?|a lot( of)?|lots( of)?|heavily|"
        r"undriveabl[ey]|far too|way too|extreme(ly)?|horribl[ey]|violent(ly)?|wild(ly)?|strong(ly)?",
    ),
    (
        "clearly",
        r"clear(ly)?|quite( a bit)?|noticeabl[ey]|definite(ly)?|rather|too much|very|really|"
        # "Too" before another word is how much; behind the last one it is "also".
        r"too(?=\s+(?!and\b|but\b)\w)",
    ),
)

ENDS: tuple[tuple[End, str], ...] = (
    ("front", r"fronts?|nose|front (end|axle|wheels?|tyres?|tires?)"),
    ("rear", r"rears?|back( end)?|tail|rear (end|axle|wheels?|tyres?|tires?)"),
)

NUMBER_WORDS = {
    word: str(number)
    for number, words in enumerate(
        (
            ("one", "first", "1st"),
            ("two", "second", "2nd"),
            ("three", "third", "3rd"),
            ("four", "fourth", "4th"),
            ("five", "fifth", "5th"),
            ("six", "sixth", "6th"),
            ("seven", "seventh", "7th"),
            ("eight", "eighth", "8th"),
            ("nine", "ninth", "9th"),
            ("ten", "tenth", "10th"),
            ("eleven", "eleventh", "11th"),
            ("twelve", "twelfth", "12th"),
        ),
        start=1,
    )
    for word in words
}
"""Numbers of corners in words, counted and in order."""

_CORNER = r"(?:turns?|corners?|bends?)"
_NUMBER = rf"(?:\d{{1,3}}|{'|'.join(NUMBER_WORDS)})"
_JOINED = r"\s*(?:,\s*and|,|and|&|or|/|\+|to|through|-)\s*"
NUMBERED = re.compile(
    rf"(?<![\w'-])(?:{_CORNER}\s*(?:numbers?\s*|nos?\.?\s*)?#?|t\s?)(?P<first>{_NUMBER})(?![\w'])"
    rf"(?P<more>(?:{_JOINED}(?:{_CORNER}\s*|t\s?)?#?{_NUMBER}(?![\w'-]))*)"
    rf"|(?<![\w'-])(?P<ordinal>{_NUMBER})\s+{_CORNER}(?![\w'-])"
)
"""Corners by number: ``turn 3``, ``T3/T5``, ``corners 3, 5 and 7``, ``3 to 5``, ``the third corner``."""

CUT = re.compile(
    r"\s*(?:[,;.:!?/&+]|\band\b|\bbut\b|\bthen\b|\bwhile\b|\bwhereas\b|\balso\b|\bplus\b|\byet\b|\bor\b)\s*"
)
TURNING_IN = (
    r"\b(won't|wont|will not|doesn't|does not|doesnt|refuses to) (turn|rotate|point|"
    r"steer)\w* in\b|no turn-?in"
)
DENIAL = re.compile(
    r"\b(no longer|not|never|isn't|isnt|is not|aren't|doesn't|doesnt|don't|without|except|fine|ok|okay|"
    r"good)\b"
)
SAYS_LITTLE = frozenset(
    "a an the it its it's i i'm my we our is are was be been gets get getting goes go has have had with to "
    "of in on at under over off "
    "into out for from by as when while during through every each all any some always often mostly usually "
    "sometimes "
    "car cars corner corners turn turns bend bends phase part parts feel feels felt feeling there that "
    "this these those "
    "and but then too much very so just still bit lot more most only especially mainly particularly please "
    "help also "
    "wheel wheels tyre tyres tire tires axle end side lap laps track car's me us keeps keep really rather "
    "quite do does did up "
    "speed speeds around round inside outside slightly where which who what makes make wants want tends "
    "tend seems seem like".split()
)
EXAMPLES = (
    "pushes on entry in slow corners",
    "pushes at mid-corner",
    "pushes on exit",
    "rear steps out under braking",
    "loose on entry",
    "loose on exit in slow corners",
    "nervous in fast corners",
    "slow to answer",
    "floats on the straight",
    "hops over bumps",
    "thrown off kerbs",
    "bottoms on the straight",
    "locks fronts",
    "locks rears",
    "spins the inside wheel on exit",
    "inconsistent",
)
MORE_WORDS = (
    "understeer understeers oversteer oversteers twitchy lazy wallows skips chatters washes snaps spins "
    "wheelspin braking "
    "brakes entry mid apex exit throttle power straight slow medium fast hairpin kerbs bumps front rear "
    "back tail steps"
)
