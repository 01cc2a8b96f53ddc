"""Every word of direction in a sentence goes with the sign of its number, both ways.

`test_turned_words.py` turns each of these words round and sees a test of this file go red. The numbers here
are made by hand: what is asked is the sentence, not the physics.
"""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import xarray as xr

from fourpatch.advice.rules import claim_words
from fourpatch.analysis.event_measures import CORNER_PHASES
from fourpatch.analysis.quantity import ANGLE_GRADIENT, Axles, Corners
from fourpatch.answers import (
    braking_in_a_turn,
    ride_spectrum,
    speed_sweep,
    statics,
    steady_circle,
    step_steer,
    track,
)
from fourpatch.app import lap_words, number_words, words
from fourpatch.app.answers import bumps
from fourpatch.app.answers.number import Number
from fourpatch.picture import phase_meaning, sensitivity_words, trial_plan_words

SIGNS = (1.0, -1.0)
"""Of each number: towards understeer, later, more, up; and the other way."""


def some(**values: Any) -> Any:
    """Something with these attributes."""
    return SimpleNamespace(**values)


def either(sign: float, positive: str, negative: str) -> tuple[str, str]:
    """The word that must be there and the one that must not."""
    return (positive, negative) if sign > 0.0 else (negative, positive)


def check(said: str, sign: float, positive: str, negative: str) -> None:
    there, absent = either(sign, positive, negative)
    assert there in said
    assert absent not in said


@pytest.mark.parametrize("sign", SIGNS)
def test_at_rest(sign: float) -> None:
    found = some(
        ride=some(ride_frequency=Axles(2.0, 2.0 + 0.4 * sign)),
        low_speed_damping=some(mean_ratio=Axles(0.5, 0.6)),
        weights=some(axle_share=Axles(0.5, 0.5)),
        cornering=some(front_share=0.5),
        travel=some(to_bump_stop=Axles(0.05, 0.06)),
        handling=some(understeer_gradient=0.5 * sign * ANGLE_GRADIENT.scale),
        roll=some(front_share=0.5, gradient=ANGLE_GRADIENT.scale),
    )
    modes = some(low_speed=[some(name=name, damping_ratio=0.3) for name in ("heave", "pitch", "roll")])
    said = statics.statics_meaning(found, modes)
    check(said, sign, "20 % faster", "20 % slower")
    check(said, sign, "it understeers by 0.50", "it oversteers by 0.50")


@pytest.mark.parametrize("sign", SIGNS)
def test_at_each_speed(sign: float) -> None:
    def at(speed: float, height: float, gradient: float) -> Any:
        return some(
            speed=speed,
            ride_height=Axles(height, height),
            tyre_load=Corners(1.0, 1.0, 1.0, 1.0),
            understeer_gradient=gradient * ANGLE_GRADIENT.scale,
        )

    said = speed_sweep.sweep_meaning([at(0.0, 0.1, 0.3), at(50.0, 0.1 - 0.002 * sign, 0.4 * sign)])
    check(said, sign, "front sinks by 2.0 mm", "front rises by 2.0 mm")
    check(said, sign, "0.40 deg per g of understeer", "0.40 deg per g of oversteer")


@pytest.mark.parametrize("sign", SIGNS)
def test_steady_turns(sign: float) -> None:
    values = some(
        understeer_gradient=0.5 * sign * ANGLE_GRADIENT.scale,
        characteristic_speed=30.0 if sign > 0.0 else None,
        critical_speed=None if sign > 0.0 else 30.0,
        stable_lateral_acceleration=8.0,
        largest_lateral_acceleration=8.0,
        spins_up="none",
        roll_gradient=1.0,
        sideslip_gradient=1.0,
        ended_by="front axle" if sign > 0.0 else "rear axle",
    )
    said = steady_circle.circle_meaning(some(lateral_acceleration=[0.5]), values)
    check(said, sign, "understeers by 0.50", "oversteers by 0.50")
    check(said, sign, "characteristic speed 108", "critical speed 108")
    check(said, sign, "front axle has no more grip: it runs wide", "rear axle has no more grip: it spins")


@pytest.mark.parametrize("sign", SIGNS)
def test_step_steer(sign: float) -> None:
    yaw = some(overshoot=0.1, response_time=0.2)
    lateral = some(steady=4.0, response_time=0.3)
    gradient = 0.5 * sign * ANGLE_GRADIENT.scale
    values = some(yaw_rate=yaw, lateral_acceleration=lateral, understeer_gradient=gradient, tb_value=0.01)
    check(step_steer.step_steer_meaning(some(**vars(values))), sign, "it understeers by", "it oversteers by")
    yaw.overshoot = 0.0
    assert "without swinging past it" in step_steer.step_steer_meaning(values)


@pytest.mark.parametrize("sign", SIGNS)
def test_braked_in_a_turn(sign: float) -> None:
    rolling = dict.fromkeys(("FL", "FR", "RL", "RR"), some(share=0.0))
    runs: Any = [
        some(yaw_rate_ratio=1.0, mean_deceleration=0.5, lock_up=rolling),
        some(yaw_rate_ratio=1.0 + 0.1 * sign, mean_deceleration=4.0, lock_up=rolling),
    ]
    said = braking_in_a_turn.turn_braked_meaning(runs)
    check(said, sign, "turns 10 % more sharply", "turns 10 % less sharply")


@pytest.mark.parametrize("sign", SIGNS)
def test_rig_against_linear_model(sign: float) -> None:
    rig, linear = (xr.Dataset({"load_variation": value}) for value in (0.2 * (1.0 + 0.1 * sign), 0.2))
    check(ride_spectrum.linear_meaning(rig, linear), sign, "10 % more load", "10 % less load")


@pytest.mark.parametrize("sign", SIGNS)
def test_line_against_centre_line(sign: float) -> None:
    way, other = either(sign, "left", "right")
    bends = [
        some(corner="1", angle=2.0, direction=way, apex_radius=30.0, line_radius=45.0),
        some(corner="2", angle=1.0, direction=other, apex_radius=60.0, line_radius=90.0),
    ]
    said = track.track_meaning(some(corners=bends, length=1000.0, line_length=1000.0 + 7.0 * sign))
    check(said, sign, "7 m longer than", "7 m shorter than")
    assert f"67 % of the turning is to the {way}" in said
    assert "corner 1 is the tightest, 30 m" in said


def phases(balance: float, *, moved: float = 0.0) -> xr.Dataset:
    """Phases of a run in the middle of a corner."""
    transfer = [1000.0 + moved, 1000.0 - moved]
    along = {"phase": ["mid"], "axle": ["front", "rear"]}
    rows: dict[str, Any] = {
        f"{part}_transfer": (("phase", "axle"), [transfer if part == "elastic" else [0.0, 0.0]])
        for part in ("elastic", "geometric", "unsprung", "damper")
    }
    use = [[0.8 + 0.005 * balance, 0.8 - 0.005 * balance]]
    rows |= {"use": (("phase", "axle"), use), "peak_use": (("phase", "axle"), use)}
    rows |= {"balance": ("phase", [balance]), "front_transfer_share": ("phase", [0.5])}
    rows |= {"longitudinal_acceleration": ("phase", [0.0])}
    return xr.Dataset(rows, coords=along)


@pytest.mark.parametrize("sign", SIGNS)
def test_phases(sign: float) -> None:
    said = phase_meaning.phase_meaning(phases(4.0 * sign), {})
    check(said, sign, "the front is nearer to its limit in mid", "the rear is nearer to its limit in mid")
    check(said, sign, "82 % of its grip, the front", "82 % of its grip, the rear")
    changed = phase_meaning.change_meaning(phases(2.0 * sign, moved=50.0 * sign), phases(0.0))
    check(changed, sign, "2.0 points of balance toward the front", "2.0 points of balance toward the rear")
    check(changed, sign, "move to the front axle", "move to the rear axle")


@pytest.mark.parametrize("sign", SIGNS)
def test_plan_of_a_trial(sign: float) -> None:
    plan: Any = some(
        changes=(),
        effect=0.1 * sign,
        steady_effect=None,
        timed="a lap",
        computed_by="rig",
        laps=None,
        scatter=0.3,
        steps_for_many=None,
        watched=(some(corner="slow corner", phase="mid", balance=0.5 * sign, use=0.3 * sign),),
        rear_first=(),
    )
    said = {title: " ".join(lines) for title, lines in trial_plan_words.plan_sections(plan)}
    check(said["Expect"], sign, "0.100 s slower", "0.100 s quicker")
    check(said["Watch"], sign, "towards understeer", "towards oversteer")
    check(said["Watch"], sign, "0.30 points less grip", "0.30 points more grip")


@pytest.mark.parametrize("sign", SIGNS)
def test_one_step_of_an_adjuster(sign: float) -> None:
    quantities = ("balance", "axle_load_swing.front", "axle_load_swing_time.front", "axle_load_delay.front")
    quantities += ("axle_load_peak.front", "use.front", "use.rear")
    names = [f"corner.{phase}.{one}" for phase in CORNER_PHASES for one in quantities]
    effects = np.zeros((2, 2, len(names)))
    effects[0, 1, names.index("corner.mid.balance")] = 0.5 * sign
    effects[1, 0, names.index("corner.mid.balance")] = -0.2 * sign
    effects[0, 1, names.index("corner.mid.axle_load_swing.front")] = 100.0
    effects[0, 1, names.index("corner.mid.axle_load_delay.front")] = 0.05 * sign
    bars = (some(name="front bar"), some(name="rear bar"))
    table: Any = some(adjusters=bars, effects=effects, present=np.full(len(names), 0.8), index=names.index)
    said = sensitivity_words.corner_meaning(table, "corner")
    most, least = either(sign, "front bar up", "rear bar down")
    assert f"{most} most towards understeer" in said
    assert f"{least} most towards oversteer" in said
    check(sensitivity_words.load_meaning(table, "corner"), sign, "50 ms later", "50 ms earlier")


CLAIMED = [
    ("balance", "mid", "understeer", "oversteer"),
    ("use", "mid", "uses more", "uses less"),
    ("axle_load", "mid", "carries more", "carries less"),
    ("lateral_transfer", "mid", "more load", "less load"),
    ("inner_load", "exit", "carries more", "carries less"),
    ("downforce", "mid", "down more", "down less"),
    ("ride_height", "entry", "stands higher", "stands lower"),
    ("ride_height", "", "rides higher", "rides lower"),
    ("grip_lost", "", "loses more", "loses less"),
    ("body_throw", "", "up more", "up less"),
    ("body_acceleration_peak", "", "more hard", "less hard"),
    ("longest_flight", "", "longer", "shorter"),
    ("stability_reserve", "mid", "later", "sooner"),
    ("yaw_response_time", "", "later", "sooner"),
]
"""Numbers that rules speak of, and what is said of one that rises, and of one that falls."""


@pytest.mark.parametrize("sign", SIGNS)
def test_claims_of_rules(sign: float) -> None:
    for quantity, window, more, less in CLAIMED:
        way = "rises" if sign > 0.0 else "falls"
        check(claim_words.claim_words(quantity, "front", way, (window,)), sign, more, less)


def number(quantity: str, change: float, place: str = "") -> Number:
    return Number(
        quantity=quantity, place=place, value=0.05 + change, reference=0.05, unit="1", meaning="as measured"
    )


@pytest.mark.parametrize("sign", SIGNS)
def test_bumps_against_a(sign: float) -> None:
    numbers = [number("grip_lost", 0.01 * sign, axle) for axle in ("front", "rear")]
    said = bumps._against_a([*numbers, number("body_throw", 0.003 * sign)])
    check(said, sign, "B costs the front tyres 1.00 points", "B gives back the front tyres 1.00 points")
    check(said, sign, "thrown 3.0 mm higher", "thrown 3.0 mm less")


def test_a_wheel_of_an_axle_is_the_worse_one_or_the_mean() -> None:
    wheels = {name: np.array([1.0, 3.0, 5.0, 9.0]) for name in ("longest_flight", "grip_lost")}
    worst, mean = (bumps._axle(name, "front", wheels, wheels) for name in ("longest_flight", "grip_lost"))
    assert (worst.value, mean.value) == (3.0, 2.0)
    assert "worse wheel" in worst.meaning
    assert "mean of both wheels" in mean.meaning


@pytest.mark.parametrize("sign", SIGNS)
def test_tones_of_the_app(sign: float) -> None:
    axle, harm = either(sign, "front", "rear")[0], either(sign, "worse", "better")[0]
    assert number_words._sense(number("balance", 0.02 * sign)) == axle
    assert number_words._sense(number("grip_lost", 0.02 * sign)) == harm
    assert words.balance_text(3.0 * sign) == f"{axle} 3.0"
    assert words.balance_change_text(3.0 * sign) == f"3.0 → {axle}"
    cell: Any = some(event="slow corner", part="mid", value=3.0 * sign, change=2.0 * sign, reference=0.0)
    shown = words._balance(cell)
    assert (shown["tone"], shown["sense"]) == (axle, axle)
    bump: Any = some(unit="1", value=0.03, change=0.01 * sign, reference=0.02, meaning="")
    assert words._bump(bump)["sense"] == harm


@pytest.mark.parametrize("sign", SIGNS)
def test_laps_of_the_app(sign: float) -> None:
    assert lap_words.gap_text(0.3 * sign) == f"0.30 s {either(sign, 'slower', 'quicker')[0]} than A"
    axle = either(sign, "front", "rear")[0]
    moved = lap_words._balance(1.0, 1.0 + 4.0 * sign)
    assert (moved["change"], moved["sense"]) == (f"4.0 → {axle}", axle)
    assert lap_words._sense(0.5 * sign, 0.01) == either(sign, "worse", "better")[0]
