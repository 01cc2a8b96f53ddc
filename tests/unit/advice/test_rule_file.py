"""Rules of thumb from a file: a user's own computed like ours, and refused with every fault and its line."""

from math import pi
from pathlib import Path

import pytest

from fourpatch.advice.rules.catalogue import RULES, rule_named
from fourpatch.advice.rules.check import check_rules, rule_events
from fourpatch.advice.rules.rule import CORNERS, ROADS, Change, Shift
from fourpatch.advice.rules.rule_file import load_rules
from fourpatch.advice.rules.verdict import grouped
from fourpatch.car.demo import demo_car
from fourpatch.car.setup import baseline_setup
from fourpatch.errors import FileError

TIMES = 'change.times = { "rear.bar.rate" = 1.3 }'
OWN = f"""
[[rules]]
name = "my-rear-bar"
subject = "anti-roll bars"
saying = "Stiffer rear bar, less push."
change.name = "rear bar +30 %"
{TIMES}
back.name = "rear bar softer"
claims = [
  {{ quantity = "balance", way = "falls", windows = ["mid", "exit.early"] }},
  {{ quantity = "lateral_transfer", axle = "rear", way = "rises", windows = ["mid"] }},
]
"""


def written(folder: Path, text: str) -> Path:
    path = folder / "own.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_rule_of_ones_own_is_computed_as_ours_that_says_the_same(tmp_path: Path) -> None:
    (own,) = load_rules(written(tmp_path, OWN))
    car = demo_car("gt")
    events = {"medium corner": rule_events(car)["medium corner"]}
    rules = [own, rule_named("stiffer-rear-bar-frees")]
    mine, ours = check_rules(car, baseline_setup(car), rules=rules, events=events)
    assert [one.cells for one in mine.claims] == [one.cells for one in ours.claims]
    assert mine.verdict == ours.verdict
    assert own.claims[0].says == "the balance at mid-corner and early on exit goes towards oversteer"
    assert own.claims[0].events == CORNERS


def test_a_name_alone_is_the_change_turned_round(tmp_path: Path) -> None:
    (own,) = load_rules(written(tmp_path, OWN))
    assert own.back == Change(name="rear bar softer", shifts=(Shift("rear.bar.rate", 1.0 / 1.3, "times"),))
    (own,) = load_rules(written(tmp_path, OWN.replace(TIMES, 'change.plus = { "rear.toe" = "0.1 deg" }')))
    (there,), (back,) = own.change.shifts, own.back.shifts
    # A degree is pi over 180; the rest is rounding.
    assert there.amount == pytest.approx(0.1 * pi / 180.0, rel=1e-12)
    assert back.amount == -there.amount


def test_a_rule_about_what_a_car_has_not_does_not_apply(tmp_path: Path) -> None:
    text = OWN.replace('"rear.bar.rate" = 1.3', '"driveline.rear_differential.preload" = 1.3')
    (own,) = load_rules(written(tmp_path, text))
    assert own.lacks(demo_car("hatchback")) == "no plate differential at the rear"
    assert own.lacks(demo_car("gt")) == ""


@pytest.mark.parametrize(
    ("old", "new", "line", "said"),
    [
        ('"rear.bar.rate" = 1.3', '"rear.bar.rat" = 1.3', 7, "Did you mean rear.bar.rate"),
        ('"rear.bar.rate" = 1.3', '"rear rebund" = 1.3', 7, "Did you mean rear rebound"),
        ('"rear.bar.rate" = 1.3', '"rear.bar.rate" = 130', 7, "outside"),
        (TIMES, 'change.plus = { "rear.toe" = "0.1 mm" }', 7, "measures"),
        (TIMES, "", 6, "changes nothing"),
        ('axle = "rear", ', "", 11, "Add axle, front or rear"),
        ('"balance", way', '"balanse", way', 10, "Did you mean balance"),
        ('way = "falls"', 'way = "fals"', 10, "falls"),
        ('windows = ["mid"] }', 'windows = ["middle"] }', 11, "braking, entry, mid or exit"),
        (', windows = ["mid"] }', " }", 11, "Add the phases"),
        (', windows = ["mid"] }', ', windows = ["mid"], events = ["roads"] }', 11, "not measured"),
        ('subject = "anti-roll bars"', 'subject = "bars"', 4, "anti-roll bars"),
        ('saying = "Stiffer rear bar, less push."', "", 2, "saying is missing"),
        ('name = "my-rear-bar"', 'name = "my-rear-bar"\nfactor = 2', 4, "not known here"),
    ],
)
def test_a_fault_is_told_with_its_line(tmp_path: Path, old: str, new: str, line: int, said: str) -> None:
    assert OWN.count(old) == 1
    with pytest.raises(FileError) as refused:
        load_rules(written(tmp_path, OWN.replace(old, new)))
    assert said in str(refused.value)
    assert f"own.toml, line {line}: " in str(refused.value)


def test_a_name_twice_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileError, match='is "my-rear-bar" a second time'):
        load_rules(written(tmp_path, OWN + OWN))


def test_rules_stand_by_what_they_promise_and_how_much_they_move() -> None:
    car = demo_car("gt")
    events = {name: one for name, one in rule_events(car).items() if name in ("medium corner", ROADS[1])}
    names = ("more-rake-frees", "stiffer-front-bar-pushes", "softer-springs-for-bumps", "more-preload-pushes")
    rules = [rule_named(name) for name in names]
    groups = grouped(check_rules(car, baseline_setup(car), rules=rules, events=events))
    assert list(groups) == ["On entry", "At mid-corner", list(groups)[-1]]
    moved = [abs(one.claims[0].largest.value) for one in groups["At mid-corner"]]
    assert len(moved) == 2
    assert moved == sorted(moved, reverse=True)  # both in points of balance
    assert sorted(one.rule.name for those in groups.values() for one in those) == sorted(names)


def test_no_rule_is_another_turned_round() -> None:
    """Else one says what the other has said by its change the other way."""
    said = [(one.claims[0].quantity, one.claims[0].windows) for one in RULES]
    there = [(one.change.dampers, one.change.shifts) for one in RULES]
    back = [(one.back.dampers, one.back.shifts) for one in RULES]
    assert [
        one for one in zip(said, there, strict=True) if any(one[1]) and one in zip(said, back, strict=True)
    ] == []
