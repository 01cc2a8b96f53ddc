"""Do rig and drive say the same of a steady turn, and of a corner? The tables of docs/rig-and-drive.md.

The demo cars and cars estimated from briefs that a seed draws, in steady turns from half of the limit to 98 %
of it: balance of both, and the effect of one step of every adjuster on it. Then corners, driven, and the rig
put through the very motion that came of it. ``--write`` puts the tables into the page.
"""

import argparse
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.driven_corner import driven_corner
from fourpatch.advice.rig_beside import rig_beside
from fourpatch.analysis.axle_use import axle_use
from fourpatch.analysis.standard_events import standard_corners
from fourpatch.car.adjusters import Adjuster
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car, demo_names
from fourpatch.car.estimate import estimate_car
from fourpatch.car.estimation.brief import CarBrief
from fourpatch.car.pack import pack
from fourpatch.car.setup import apply_setup, baseline_setup, step
from fourpatch.errors import FourpatchError
from fourpatch.events.motion import steady_rows
from fourpatch.events.run import settled_rows
from fourpatch.events.steady_circle import SteadyCircle, SteadyTurns, steady_circle
from fourpatch.events.steady_states import steady_outputs
from fourpatch.physics.layout import X

Array = NDArray[np.float64]

PAGE = Path(__file__).parents[1] / "docs" / "rig-and-drive.md"
RADII = (25.0, 60.0, 120.0, 200.0)
SHARES = (0.5, 0.7, 0.85, 0.92, 0.96, 0.98)
STEPS_AT = 120.0  # m: radius on which steps of adjusters are compared
AT = 0.92  # share of the limit at which a step of an adjuster is compared
TELLS = 0.1  # points: smaller effects have no sign to speak of

BODIES = {
    "single-seater": {
        "mass": (480.0, 720.0),
        "power": (1.2e5, 3.5e5),
        "wheelbase": (2.4, 3.0),
        "driven": ("rear",),
    },
    "sports": {
        "mass": (950.0, 1500.0),
        "power": (1.5e5, 5e5),
        "wheelbase": (2.4, 2.75),
        "driven": ("rear", "all"),
    },
    "saloon": {
        "mass": (1100.0, 1800.0),
        "power": (1e5, 4e5),
        "wheelbase": (2.5, 2.95),
        "driven": ("rear", "all"),
    },
    "hatchback": {
        "mass": (900.0, 1450.0),
        "power": (8e4, 2.5e5),
        "wheelbase": (2.4, 2.7),
        "driven": ("front", "all"),
    },
}


@dataclass(frozen=True, slots=True)
class Turn:
    """One steady turn, both ways."""

    car: str
    radius: float
    """[m]"""
    share: float
    """Of the drive's limit."""
    rig: float
    """Balance. [points]"""
    drive: float
    """Balance. [points]"""
    force: tuple[float, float]
    """Drive force of both axles, rig and drive. [N]"""


@dataclass(frozen=True, slots=True)
class Part:
    """One phase of a driven corner, both ways."""

    car: str
    corner: str
    phase: str
    rig: float
    """Balance. [points]"""
    drive: float
    """Balance. [points]"""


@dataclass(frozen=True, slots=True)
class Step:
    """One step of an adjuster in one turn."""

    car: str
    radius: float
    adjuster: str
    rig: float
    """Change of balance. [points]"""
    drive: float
    """Change of balance. [points]"""


def drawn_cars(count: int, seed: int) -> Iterator[Car]:
    """Estimate cars from briefs drawn at random; those the estimator refuses are drawn again."""
    random = np.random.default_rng(seed)
    made = 0
    while made < count:
        body = list(BODIES)[made % len(BODIES)]
        ranges = BODIES[body]
        section = int(random.integers(18, 30)) * 10 + 5
        winged = body in ("single-seater", "sports")
        rear = section + int(random.integers(0, 5)) * 10
        try:
            car = estimate_car(
                CarBrief(
                    name=f"drawn {made + 1}, {body}",
                    mass=round(random.uniform(*ranges["mass"])),
                    front_weight_share=round(random.uniform(0.40, 0.62 if body == "hatchback" else 0.54), 3),
                    wheelbase=round(random.uniform(*ranges["wheelbase"]), 3),
                    driven=str(random.choice(ranges["driven"])),
                    power=round(random.uniform(*ranges["power"]), -3),
                    front_tyre=f"{section}/45R17",
                    rear_tyre=f"{rear}/45R17",
                    grip=str(random.choice(("road", "sport-road", "semi-slick", "slick"))),
                    body=body,
                    downforce=str(
                        random.choice(("none", "low", "moderate", "high") if winged else ("none",))
                    ),
                )
            )
        except FourpatchError as error:
            print(f"not a car: {error}")
            continue
        made += 1
        yield car


def balances(car: Car, turns: SteadyTurns, picked: list[int]) -> tuple[Array, Array, Array, Array]:
    """Balance on the rig and in the drive in the same turns, and the drive forces of both axles."""
    states = turns.history.states[0, picked]
    speed = np.hypot(states[:, X.forward_velocity], states[:, X.lateral_velocity])
    on_rig = rig_outputs(car, speed, speed * states[:, X.yaw_rate])
    driven = turns.history.outputs[:, picked]
    found = [axle_use(turns.driven.parameters, outputs) for outputs in (on_rig, driven)]
    forces = [one.longitudinal_force[0].sum(axis=1) for one in found]
    return found[0].balance[0], found[1].balance[0], forces[0], forces[1]


def rig_outputs(car: Car, speed: Array, lateral: Array) -> Array:
    """Outputs of a car settled on the rig in steady turns, (1, n, N_OUTPUT)."""
    rows = steady_rows(
        car, speed=speed, lateral_acceleration=lateral, longitudinal_acceleration=np.zeros(speed.size)
    )
    vectors = np.repeat(pack(car)[None], speed.size, axis=0)
    positions, settled = settled_rows(vectors, rows, np.zeros((speed.size, 7)))
    outputs = steady_outputs(vectors, rows, positions).outputs
    outputs[:, ~settled] = np.nan
    return outputs


def nearest(turns: SteadyTurns, share: float) -> int:
    """Return the stored turn nearest to a share of the limit."""
    size = np.abs(turns.lateral_acceleration)
    return int(np.argmin(np.abs(size - share * size.max())))


def turns_of(car: Car, radii: tuple[float, ...]) -> Iterator[tuple[Turn, SteadyTurns]]:
    """Compare a car in all its turns."""
    for radius in radii:
        try:
            turns = steady_circle(car, SteadyCircle(radius=radius))
        except FourpatchError as error:
            print(f"{car.name}, {radius:g} m: {error}")
            continue
        picked = [nearest(turns, share) for share in SHARES]
        size = np.abs(turns.lateral_acceleration)
        rig, drive, force, driven = balances(car, turns, picked)
        for place, turn in enumerate(picked):
            share = float(size[turn] / size.max())
            yield (
                Turn(
                    car.name,
                    radius,
                    share,
                    float(rig[place]),
                    float(drive[place]),
                    (float(force[place]), float(driven[place])),
                ),
                turns,
            )


def steps_of(car: Car, radius: float) -> Iterator[Step]:
    """Compare one step of each adjuster at a given speed: what rig and drive make of the balance."""
    base = steady_circle(car, SteadyCircle(radius=radius))
    turn = nearest(base, AT)
    for adjuster in car.adjusters:
        changed = one_step(car, adjuster)
        if changed is None:
            continue
        try:
            turns = steady_circle(changed, SteadyCircle(radius=radius))
        except FourpatchError:
            continue
        wanted = abs(base.lateral_acceleration[turn])
        sizes = np.abs(turns.lateral_acceleration)
        around = np.argsort(np.abs(sizes - wanted))[:2]
        rig, drive, _, _ = balances(changed, turns, [int(k) for k in around])
        first_rig, first_drive, _, _ = balances(car, base, [turn])
        # Between the two turns nearest to the one compared, along the straight line.
        part = (wanted - sizes[around[0]]) / (sizes[around[1]] - sizes[around[0]])
        yield Step(
            car.name,
            radius,
            adjuster.name,
            float(rig[0] + part * (rig[1] - rig[0]) - first_rig[0]),
            float(drive[0] + part * (drive[1] - drive[0]) - first_drive[0]),
        )


def parts_of(car: Car) -> Iterator[Part]:
    """Drive a car through the standard corners and put the rig through the motion that comes of it."""
    for name, corner in standard_corners(car).items():
        try:
            found = rig_beside(car, driven_corner(car, corner, name))
        except FourpatchError as error:
            print(f"{car.name}, {name}: {error}")
            continue
        for phase, both in found.items():
            yield Part(car.name, name, phase, both.rig, both.drive)


def one_step(car: Car, adjuster: Adjuster) -> Car | None:
    """The car with an adjuster one step up, or down where it stands at its end; None where it cannot be."""
    base = baseline_setup(car)
    moved = step(base, adjuster, 1) or step(base, adjuster, -1)
    try:
        return None if moved is None else apply_setup(car, moved)
    except FourpatchError:
        return None


def table(heads: tuple[str, ...], rows: list[tuple[str, ...]]) -> list[str]:
    """Return a table in Markdown."""
    return [f"| {' | '.join(cells)} |" for cells in (heads, ("---",) * len(heads), *rows)]


def corners_section(parts: list[Part]) -> list[str]:
    """Return the part of the page about driven corners."""
    rows = []
    for phase in dict.fromkeys(one.phase for one in parts):
        own = [one for one in parts if one.phase == phase]
        apart = np.array([one.rig - one.drive for one in own])
        worst = own[int(np.argmax(np.abs(apart)))]
        rows.append(
            (
                phase,
                str(len(own)),
                f"{apart.mean():+.2f}",
                f"{np.median(np.abs(apart)):.2f}",
                f"{np.quantile(np.abs(apart), 0.9):.2f}",
                f"{worst.car}, {worst.corner}: {worst.rig:+.2f} / {worst.drive:+.2f}",
            )
        )
    heads = ("phase", "corners", "rig less drive, mean", "apart, median", "nine of ten within", "largest")
    return [
        "## Driven corners",
        "",
        "The standard corners are driven at 95 % of the rig's speeds by a driver who follows the line, and",
        "the rig is put through the very motion that came of it: speed, path and yaw rate of the driven car.",
        "Balance in points, the mean over each phase.",
        "",
        *table(heads, rows),
        "",
    ]


def page(turns: list[Turn], steps: list[Step], parts: list[Part], seed: int) -> str:
    """Return the page."""
    cars = list(dict.fromkeys(one.car for one in turns))
    rows = []
    for car in cars:
        own = [one for one in turns if one.car == car]
        apart = np.array([one.rig - one.drive for one in own])
        worst = own[int(np.argmax(np.abs(apart)))]
        moved = [one for one in steps if one.car == car and abs(one.drive) > TELLS]
        agree = sum(one.rig * one.drive > 0.0 for one in moved)
        rows.append(
            (
                car,
                str(len(own)),
                f"{np.median(np.abs(apart)):.3f}",
                f"{np.abs(apart).max():.3f}",
                f"R {worst.radius:g} m, {100 * worst.share:.0f} %: {worst.rig:+.2f} / {worst.drive:+.2f}",
                f"{agree} of {len(moved)}" if moved else "",
            )
        )
    apart = np.abs([one.rig - one.drive for one in turns])
    moved = [one for one in steps if abs(one.drive) > TELLS]
    agree = sum(one.rig * one.drive > 0.0 for one in moved)
    heads = ("car", "turns", "apart, median", "apart, largest", "where: rig / drive", "steps of one sign")
    return "\n".join(
        [
            "<!-- Made by benchmarks/rig_and_drive.py --write: change that, not this page. -->",
            "",
            "# Rig and drive in one steady turn",
            "",
            "The rig prescribes a motion and finds the slips with which the tyres hold it; the drive leaves",
            "all degrees of freedom free and finds where the car stays. Neither is told of the other. Both",
            "are asked for the balance, 100 (U_front - U_rear) in points, in the same steady turns:",
            f"radii of {', '.join(f'{radius:g}' for radius in RADII)} m, from half of what the drive bears",
            "to 98 % of it. The demo cars are invented; the drawn ones are estimated from briefs that the",
            f"seed {seed} drew. *Steps of one sign*: of the adjusters whose step moves the drive's balance",
            f"by more than {TELLS:g} points at {100 * AT:.0f} % of the limit on {STEPS_AT:g} m, how many",
            "move the rig's the same way.",
            "",
            f"Over {len(turns)} turns the two are {np.median(apart):.3f} points apart in the median,"
            f" {np.quantile(apart, 0.99):.3f} in all but one of a hundred, {apart.max():.3f} at the most;"
            f" {agree} of {len(moved)} steps have one sign.",
            "",
            *table(heads, rows),
            "",
            "What is left: beyond 1.2 times the slip of its peak at nominal load the rig takes a tyre's",
            "force to go on rising, so that a motion that asks for too much has one answer too; below, both",
            "solve the same equations.",
            "",
            *corners_section(parts),
        ]
    )


def main() -> None:
    """Compare, print and, if asked, write the page."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--smallest", action="store_true", help="one car, one radius: to see that it runs")
    parser.add_argument("--cars", type=int, default=20, help="how many cars are drawn")
    parser.add_argument("--seed", type=int, default=2026)
    parser.add_argument("--write", action="store_true", help="write docs/rig-and-drive.md")
    options = parser.parse_args()
    cars = [demo_car(name) for name in demo_names()]
    radii = RADII
    if options.smallest:
        cars, radii = cars[:1], RADII[1:2]
    else:
        cars += list(drawn_cars(options.cars, options.seed))
    turns: list[Turn] = []
    steps: list[Step] = []
    parts: list[Part] = []
    for car in cars:
        parts += parts_of(car)
        turns += [turn for turn, _ in turns_of(car, radii)]
        if not options.smallest:
            steps += steps_of(car, STEPS_AT)
        own = [one for one in turns if one.car == car.name]
        apart = max((abs(one.rig - one.drive) for one in own), default=float("nan"))
        print(f"{car.name}: {len(own)} turns, at most {apart:.3f} points apart", flush=True)
    if options.write:
        PAGE.write_text(page(turns, steps, parts, options.seed), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
