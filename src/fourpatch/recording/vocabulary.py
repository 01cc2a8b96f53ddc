"""What columns are called: words for channels and for places, in five languages.

Words of the trade and of the dictionary; common practice, no published source. Names alone only propose:
units, ranges and physics have the last word (`proposal.py`).
"""

import re
from functools import lru_cache
from typing import Final, NamedTuple

from fourpatch.runs.channels import CHANNELS, OF_WHEELS, WHEELS


class Spec(NamedTuple):
    """What a channel is called, which units it is written in where none stands, and how large it gets."""

    words: tuple[str, ...]
    """Each a set of words parted by blanks, all of which a name must have."""
    units: tuple[str, ...]
    """In the order of likelihood."""
    low: float
    """Below which nearly no value lies. SI."""
    high: float
    """Above which nearly no value lies. SI."""
    reach: float
    """That the largest values of a lap come to at the least. SI; 0 where they need not move."""


def _listed(words: str) -> tuple[str, ...]:
    return tuple(words.split(", "))


SPECS: Final[dict[str, Spec]] = {
    "speed": Spec(
        _listed(
            "speed, velocity, v, vel, geschwindigkeit, tempo, vitesse, velocita, velocidad, vehicle "
            "speed, ground speed, gps speed"
        ),
        ("km/h", "m/s", "mph"),
        -2.0,
        130.0,
        12.0,
    ),
    "longitudinal_acceleration": Spec(
        _listed(
            "longitudinal acceleration, long acc, long acceleration, long accel, longitudinal g, long g, "
            "g long, acc x, accel x, acceleration x, a x, ax, longitudinal acc, acc long, acc "
            "longitudinal, langsbeschleunigung, laengsbeschleunigung, beschleunigung langs, "
            "beschleunigung laengs, beschleunigung x, acceleration longitudinale, accelerazione "
            "longitudinale, aceleracion longitudinal, longitudinal accel, accx"
        ),
        ("m/s**2", "g"),
        -60.0,
        40.0,
        2.0,
    ),
    "lateral_acceleration": Spec(
        _listed(
            "lateral acceleration, lat acc, lat acceleration, lat accel, lateral g, lat g, g lat, acc y, "
            "accel y, acceleration y, a y, ay, lateral acc, lateral accel, acc lat, acc lateral, "
            "querbeschleunigung, beschleunigung quer, beschleunigung y, acceleration laterale, "
            "accelerazione laterale, aceleracion lateral, accy"
        ),
        ("m/s**2", "g"),
        -60.0,
        60.0,
        2.0,
    ),
    "vertical_acceleration": Spec(
        _listed(
            "vertical acceleration, vert acc, vertical g, vert g, acc z, accel z, acceleration z, a z, "
            "az, vertical acc, vertical accel, vertikalbeschleunigung, beschleunigung z, acceleration "
            "verticale, accelerazione verticale, aceleracion vertical, accz, g vert"
        ),
        ("m/s**2", "g"),
        -100.0,
        150.0,
        0.0,
    ),
    "yaw_rate": Spec(
        _listed(
            "yaw rate, yaw velocity, gyro z, gyr z, yawrate, yaw, gierrate, giergeschwindigkeit, vitesse "
            "lacet, velocita imbardata, rate z, gyroscope z, omega z, gyro yaw, guinada"
        ),
        ("deg/s", "rad/s"),
        -4.0,
        4.0,
        0.1,
    ),
    "roll_rate": Spec(
        _listed("roll rate, gyro x, gyr x, rollrate, wankrate, rate x, gyroscope x, gyro roll"),
        ("deg/s", "rad/s"),
        -6.0,
        6.0,
        0.0,
    ),
    "pitch_rate": Spec(
        _listed("pitch rate, gyro y, gyr y, pitchrate, nickrate, rate y, gyroscope y, gyro pitch"),
        ("deg/s", "rad/s"),
        -6.0,
        6.0,
        0.0,
    ),
    "steering_wheel_angle": Spec(
        _listed(
            "steering angle, steering wheel angle, steer angle, steering, steer, lenkwinkel, "
            "lenkradwinkel, angle volant, volant, angolo sterzo, sterzo, angulo volante, handwheel angle, "
            "swa"
        ),
        ("deg", "rad"),
        -12.0,
        12.0,
        0.1,
    ),
    "road_wheel_angle": Spec(
        _listed("road wheel angle, radeinschlag"),
        ("deg", "rad"),
        -0.8,
        0.8,
        0.0,
    ),
    "throttle": Spec(
        _listed(
            "throttle, throttle position, throttle pedal, accelerator, accelerator pedal, gas, tps, "
            "gaspedal, fahrpedal, drosselklappe, papillon, accelerateur, acceleratore, acelerador, pedal "
            "position, app"
        ),
        ("%", "1"),
        -0.05,
        1.1,
        0.3,
    ),
    "brake": Spec(
        _listed(
            "brake, brake pedal, brake position, bremse, bremspedal, frein, pedale frein, freno, brake switch"
        ),
        ("%", "1"),
        -0.05,
        1.1,
        0.0,
    ),
    "front_brake_pressure": Spec(
        _listed(
            "brake pressure front, brake press front, front brake pressure, bremsdruck vorn, bremsdruck "
            "vorne, pression frein avant, pressione freno ant, brake front, p brake front, brake pressure "
            "f, bremsdruck va"
        ),
        ("bar", "Pa", "kPa", "psi"),
        -500000.0,
        25000000.0,
        0.0,
    ),
    "rear_brake_pressure": Spec(
        _listed(
            "brake pressure rear, brake press rear, rear brake pressure, bremsdruck hinten, pression "
            "frein arriere, pressione freno post, brake rear, p brake rear, brake pressure r, bremsdruck "
            "ha"
        ),
        ("bar", "Pa", "kPa", "psi"),
        -500000.0,
        25000000.0,
        0.0,
    ),
    "brake_pressure": Spec(
        _listed("brake pressure, brake press, bremsdruck, pression frein, pressione freno, presion freno"),
        ("bar", "Pa", "kPa", "psi"),
        -500000.0,
        25000000.0,
        0.0,
    ),
    "engine_speed": Spec(
        _listed(
            "rpm, engine speed, engine rpm, n engine, drehzahl, motordrehzahl, regime moteur, regime, "
            "giri, giri motore, regimen motor, revs"
        ),
        ("rpm",),
        -10.0,
        2500.0,
        100.0,
    ),
    "gear": Spec(
        _listed("gear, gang, rapport, marcia, marcha, gear position"),
        ("1",),
        -2.0,
        12.0,
        0.0,
    ),
    "latitude": Spec(
        _listed("latitude, lat, gps lat, gps latitude, breite, breitengrad, latitudine, latitud"),
        ("deg", "rad"),
        -1.5708,
        1.5708,
        0.0,
    ),
    "longitude": Spec(
        _listed(
            "longitude, lon, long, lng, gps lon, gps long, gps longitude, lange, laenge, langengrad, "
            "laengengrad, longitudine, longitud"
        ),
        ("deg", "rad"),
        -3.15,
        3.15,
        0.0,
    ),
    "altitude": Spec(
        _listed("altitude, alt, gps alt, gps altitude, ele, elevation, hohe, hoehe, quota, height gps"),
        ("m", "ft"),
        -500.0,
        6000.0,
        0.0,
    ),
    "course": Spec(
        _listed("course, heading, gps heading, gps course, bearing, kurs, cap, rotta, rumbo"),
        ("deg", "rad"),
        -6.3,
        6.3,
        0.5,
    ),
    "position_x": Spec(
        _listed("position x, pos x, east, x"),
        ("m",),
        -50000.0,
        50000.0,
        10.0,
    ),
    "position_y": Spec(
        _listed("position y, pos y, north, y"),
        ("m",),
        -50000.0,
        50000.0,
        10.0,
    ),
    "distance": Spec(
        _listed("distance, dist, strecke, weg, distanza, distancia"),
        ("m", "km"),
        -10.0,
        10000000.0,
        10.0,
    ),
    "path_curvature": Spec(
        _listed("curvature, path curvature, kappa, krummung, kruemmung, courbure, curvatura"),
        ("1/m", "1/km"),
        -0.5,
        0.5,
        1e-3,
    ),
    "lap_distance": Spec(
        _listed("lap distance, lap dist, rundenstrecke, distance lap"),
        ("m", "km"),
        -10.0,
        50000.0,
        10.0,
    ),
    "lap_number": Spec(
        _listed("lap, lap number, lap no, lap count, runde, rundennummer, tour, giro, vuelta, lap nr"),
        ("1",),
        -1.0,
        2000.0,
        0.0,
    ),
    "rolling_speed": Spec(
        _listed(
            "wheel speed, v wheel, wheelspeed, radgeschwindigkeit, rad speed, vrad, v rad, vitesse roue, "
            "velocita ruota, velocidad rueda, whl spd, speed, v"
        ),
        ("km/h", "m/s", "mph"),
        -2.0,
        150.0,
        8.0,
    ),
    "wheel_speed": Spec(
        _listed("wheel speed, raddrehzahl, wheel rpm, omega, spin"),
        ("rad/s", "rpm"),
        -5.0,
        600.0,
        20.0,
    ),
    "damper_travel": Spec(
        _listed(
            "damper travel, damper position, damper, damper pos, shock travel, shock, shock pot, "
            "suspension travel, suspension, susp pos, susp travel, susp, susp pot, federweg, dampferweg, "
            "daempferweg, debattement, amortisseur, ammortizzatore, corsa sospensione, amortiguador, "
            "linear pot"
        ),
        ("mm", "m", "in"),
        -0.5,
        0.5,
        0.002,
    ),
    "damper_speed": Spec(
        _listed("damper speed, damper velocity, shock velocity, shock speed, dampfergeschwindigkeit"),
        ("mm/s", "m/s", "in/s"),
        -3.0,
        3.0,
        0.01,
    ),
    "travel": Spec(
        _listed("travel, wheel travel, radhub"),
        ("mm", "m"),
        -0.5,
        0.5,
        0.002,
    ),
    "tyre_load": Spec(
        _listed("tyre load, tire load, wheel load, radlast, load, fz"),
        ("N", "kN"),
        -2000.0,
        40000.0,
        500.0,
    ),
    "front_ride_height": Spec(
        _listed("ride height front, front ride height, rh front, bodenfreiheit vorn, rh f"),
        ("mm", "m"),
        -0.05,
        0.5,
        0.0,
    ),
    "rear_ride_height": Spec(
        _listed("ride height rear, rear ride height, rh rear, bodenfreiheit hinten, rh r"),
        ("mm", "m"),
        -0.05,
        0.5,
        0.0,
    ),
    "tyre_temperature": Spec(
        _listed("tyre temperature, tire temperature, tyre temp, tire temp, reifentemperatur, temp pneu"),
        ("degC", "K", "degF"),
        230.0,
        480.0,
        0.0,
    ),
    "tyre_pressure": Spec(
        _listed(
            "tyre pressure, tire pressure, tpms, reifendruck, reifenluftdruck, pression pneu, tire press"
        ),
        ("bar", "kPa", "psi", "Pa"),
        0.0,
        800000.0,
        0.0,
    ),
    "brake_temperature": Spec(
        _listed(
            "brake temperature, brake temp, disc temp, disc temperature, bremsentemperatur, brake disc temp"
        ),
        ("degC", "K", "degF"),
        230.0,
        1500.0,
        0.0,
    ),
    "fuel_volume": Spec(
        _listed("fuel level, fuel volume, fuel, tankinhalt"),
        ("l", "gal"),
        -0.001,
        0.3,
        0.0,
    ),
}

TIME_WORDS: Final = frozenset(
    {
        "time",
        "zeit",
        "t",
        "timestamp",
        "temps",
        "tempo",
        "tiempo",
        "clock",
        "sec",
        "seconds",
        "elapsed",
        "uhrzeit",
    }
)

_FILLERS = frozenset(
    (
        "gps gnss sensor sens corr corrected filtered filt raw channel chan vehicle car chassis imu ecu can "
        "signal value measured meas calc actual ist avg force kraft position pos angle of "
        "the der des de du del"
    ).split()
)

_FRONT = {"front", "f", "vorn", "vorne", "va", "avant", "av", "ant", "anteriore", "del", "delantero", "fa"}
_REAR = {"rear", "r", "hinten", "ha", "arriere", "ar", "post", "posteriore", "tras", "trasero", "back", "ra"}
_LEFT = {"left", "l", "links", "li", "gauche", "g", "sx", "sinistra", "izq", "izquierda", "lh"}
_RIGHT = {"right", "r", "rechts", "re", "droite", "droit", "d", "dx", "destra", "der", "derecha", "rh"}
_PAIRS = {
    "fl": "FL", "lf": "FL", "vl": "FL", "avg": "FL", "fr": "FR", "rf": "FR", "vr": "FR", "avd": "FR",
    "rl": "RL", "lr": "RL", "hl": "RL", "arg": "RL", "bl": "RL",
    "rr": "RR", "hr": "RR", "ard": "RR", "br": "RR",
}  # fmt: skip
_FOLDED = str.maketrans("äöüéèêàáíóúñçß", "aoueeeaaiouncs")


class Meaning(NamedTuple):
    """What a column may be by its name."""

    channel: str
    wheel: str
    """FL, FR, RL or RR; empty if the channel is none of wheels, or the name does not say."""
    score: float
    """0 to 1."""


def tokens_of(name: str) -> list[str]:
    """Part a column's name into words.

    >>> tokens_of("WheelSpeed_FL"), tokens_of("Bremsdruck vorn 1")
    (['wheel', 'speed', 'fl'], ['bremsdruck', 'vorn', '1'])
    """
    parted = re.sub(r"([a-zäöüß])([A-Z])", r"\1 \2", name)
    parted = re.sub(r"([A-Z]+)([A-Z][a-z])", r"\1 \2", parted).lower().translate(_FOLDED)
    parted = re.sub(r"(?<=[a-z])(?=\d)", " ", parted)
    return [word for word in re.split(r"[^a-z0-9]+", parted) if word]


@lru_cache(maxsize=4096)
def meanings(name: str) -> tuple[Meaning, ...]:
    """Return what a column may be by its name, the likeliest first.

    >>> meanings("Querbeschleunigung")[0].channel, meanings("Susp Pos RL")[0][:2]
    ('lateral_acceleration', ('damper_travel', 'RL'))
    """
    exact = _own_name(name)
    if exact:
        return (exact,)
    tokens = tokens_of(name)
    wheel, rest = _wheel_in(tokens)
    found = []
    for channel, spec in SPECS.items():
        if bool(wheel) and channel not in OF_WHEELS:
            continue
        # Without a place, "speed" alone is the car's.
        best = max((_match(words, rest, of_wheel=bool(wheel)) for words in spec.words), default=0.0)
        if channel in OF_WHEELS and not wheel:
            best *= 0.7
        if best > 0.3:
            found.append(Meaning(channel, wheel, best))
    return tuple(sorted(found, key=lambda one: -one.score))


def _own_name(name: str) -> Meaning | None:
    """Read a name as Fourpatch writes it: ``tyre_load FL``."""
    channel, _, wheel = name.strip().replace(" ", "_").rpartition("_")
    if channel in OF_WHEELS and wheel in WHEELS:
        return Meaning(channel, wheel, 1.0)
    whole = name.strip()
    return Meaning(whole, "", 1.0) if whole in CHANNELS and whole not in OF_WHEELS and "_" in whole else None


def _match(words: str, tokens: list[str], *, of_wheel: bool) -> float:
    wanted = words.split()
    left = list(tokens)
    for word in wanted:
        if word not in left:
            return 0.0
        left.remove(word)
    if not of_wheel and len(wanted) == 1 and len(wanted[0]) == 1 and len(tokens) > 1:
        return 0.0  # a single letter among others says nothing
    odd = [word for word in left if word not in _FILLERS and not word.isdigit()]
    return max(0.0, min(1.0, 0.82 + 0.06 * len(wanted)) - 0.22 * len(odd) - 0.02 * (len(left) - len(odd)))


def _wheel_in(tokens: list[str]) -> tuple[str, list[str]]:
    """Return which wheel a name's words say, and the other words."""
    for place, word in enumerate(tokens):
        if word in _PAIRS and len(tokens) > 1:
            return _PAIRS[word], tokens[:place] + tokens[place + 1 :]
    for ends, sides in ((_FRONT, "F"), (_REAR, "R")):
        for place, word in enumerate(tokens):
            if word not in ends:
                continue
            others = tokens[:place] + tokens[place + 1 :]
            for at, other in enumerate(others):
                side = "L" if other in _LEFT else "R" if other in _RIGHT else ""
                if side and (len(word) > 1 or abs(at - place) <= 1):
                    return sides + side, others[:at] + others[at + 1 :]
    return "", tokens


def is_time(name: str) -> bool:
    """Say whether a column may be the time by its name."""
    tokens = [word for word in tokens_of(name) if word not in _FILLERS]
    return bool(tokens) and len(tokens) <= 2 and bool(TIME_WORDS & set(tokens)) and "lap" not in tokens
