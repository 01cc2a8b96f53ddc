"""json.md names every key that the commands write, and no other."""

import json
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from fourpatch.analysis.phase_balance import AGAINST_FIRST
from fourpatch.car.demo import demo_car
from fourpatch.car.files import save_car
from fourpatch.cli.root import root

CASES = {
    "analyse statics": (("analyse", "statics", "gt"), "statics"),
    "analyse modes": (("analyse", "modes", "gt"), "modes"),
    "analyse frequency-response": (("analyse", "frequency-response", "gt"), "response"),
    "analyse speed-sweep": (("analyse", "speed-sweep", "gt"), "sweep"),
    "analyse track": (("analyse", "track", "chicanes"), "summary"),
    "analyse phase-balance, run": (("run", "braking", "gt"), "phases"),
    "analyse lap": (("analyse", "lap", "gt", "--track", "chicanes"), "lap"),
    "analyse corners": (("analyse", "corners", "gt", "--track", "chicanes"), "phases"),
    "analyse contact-patch-load, run": (("run", "kerb-strike", "gt"), "bumps"),
    "run rough-road": (("run", "rough-road", "gt"), "linear_model"),
    "analyse damper-speed": (("analyse", "damper-speed", "gt"), "damper_speeds"),
    "analyse damper-map": (
        ("analyse", "damper-map", "gt", "--axle", "rear", "--kerb-height", "30 mm"),
        "maps",
    ),
}

# Written only where set-ups are compared, as the page says.
ELSEWHERE = set(AGAINST_FIRST)


@pytest.fixture(scope="module")
def page(repository: Path) -> str:
    return (repository / "docs" / "json.md").read_text(encoding="utf-8")


def documented(page: str, section: str) -> dict[str, str]:
    """Keys of a section with their units."""
    text = page.split(f"\n## {section}\n")[1].split("\n## ")[0]
    return dict(re.findall(r"^\| `([^`]+)` \| ([^|]*) \|", text, re.MULTILINE))


def written(content: Any, above: str = "") -> Iterator[tuple[str, str]]:
    """Dotted keys of all numbers with their units."""
    if isinstance(content, list):
        for element in content:
            yield from written(element, above)
    elif isinstance(content, dict):
        if "unit" in content:
            yield above.rstrip("."), content["unit"]
        elif "magnitude" in content:
            yield above.rstrip("."), content["magnitude"]["unit"]
        else:
            for name, value in content.items():
                yield from written(value, f"{above}{name}.")


@pytest.mark.parametrize("section", CASES)
def test_keys_and_units(section: str, page: str) -> None:
    arguments, key = CASES[section]
    result = CliRunner().invoke(root, [*arguments, "--json"])
    assert result.exit_code == 0, result.stderr
    content = json.loads(result.stdout)[key]
    if key in ("damper_speeds", "maps"):  # by event
        content = next(iter(content.values()))
    found = dict(written(content))
    if key == "modes":
        found = {name.split(".", 1)[1]: unit for name, unit in found.items()}
    found.pop("frequency", None)  # described above the table
    if key == "lap":
        found |= dict(written(json.loads(result.stdout)["profile"]))
    table = {name: unit for name, unit in documented(page, section).items() if name not in ELSEWHERE}
    assert found == table


def test_the_drives_keys(page: str) -> None:
    kinds = {"step-steer": (), "straight-braking": (), "braking-in-a-turn": ()}
    kinds |= {"straight-acceleration": ("--to-speed", "100 km/h")}
    for kind, more in kinds.items():
        result = CliRunner().invoke(root, ["run", kind, "gt", *more, "--json"])
        assert result.exit_code == 0, result.stderr
        content = json.loads(result.stdout)
        patterns = [
            re.compile(re.escape(name).replace(r"\*", r"\w+").replace("CORNER", "(FL|FR|RL|RR)"))
            for name in documented(page, f"run {kind}")
        ]
        values = {
            k: v
            for k, v in content.items()
            if k not in ("command", "fourpatch", "car", "setup", "mode", "event")
        }
        names = [name for name, _ in written(values)]
        assert names
        assert all(any(pattern.fullmatch(name) for pattern in patterns) for name in names)


def test_the_keys_of_laps_before_and_after(page: str, tmp_path: Path) -> None:
    rows = ["set-up;time;S1", *(f"{name};{time};{time - 60.0:.2f}" for name, time in _LAPS)]
    (tmp_path / "laps.csv").write_text("\n".join(rows), encoding="utf-8")
    result = CliRunner().invoke(root, ["advise", "did-it-help", str(tmp_path / "laps.csv"), "--json"])
    assert result.exit_code == 0, result.stderr
    assert dict(written(json.loads(result.stdout))) == documented(page, "advise did-it-help")


# Unsure, with one spoiled lap, so that every key is there.
_LAPS = [
    *(("A", time) for time in (91.2, 91.5, 91.0, 91.4, 91.1)),
    *(("B", time) for time in (91.0, 91.2, 90.8, 95.0, 91.15)),
    *(("A", time) for time in (91.3, 91.1, 91.45, 91.0, 91.2)),
]


def test_the_steady_circles_keys(page: str) -> None:
    result = CliRunner().invoke(root, ["run", "steady-circle", "gt", "--json"])
    assert result.exit_code == 0, result.stderr
    content = json.loads(result.stdout)
    found = dict(written({key: content[key] for key in ("values", "turns")}))
    assert found.pop("turns.coordinates.lateral_acceleration") == "m/s**2"
    assert found == documented(page, "run steady-circle")


def test_history_variables(page: str, tmp_path: Path) -> None:
    documented_units = documented(page, "History files")
    documented_units |= {
        name.removeprefix("turns."): unit for name, unit in documented(page, "run steady-circle").items()
    }
    for kind in ("corner", "step-steer", "steady-circle", "braking-in-a-turn"):
        path = tmp_path / f"{kind}.csv"
        assert CliRunner().invoke(root, ["run", kind, "gt", "--history", str(path)]).exit_code == 0
        with path.open(encoding="utf-8") as file:
            heads = re.findall(r'"([^"]*)"', file.readline())
        steady = kind == "steady-circle"
        first = ["setup", "lateral_acceleration [m/s**2]"] if steady else ["setup", "phase", "time [s]"]
        assert heads[: len(first)] == first
        for head in heads[len(first) :]:
            name, unit = re.fullmatch(r"(\w+)(?: (?:FL|FR|RL|RR|front|rear))? \[(.*)\]", head).groups()  # type: ignore[union-attr]
            assert documented_units[name] == unit


def test_the_driven_laps_keys(page: str, oval_file: Path, tmp_path: Path) -> None:
    path = tmp_path / "lap.csv"
    command = ["run", "lap", "gt", "--track", str(oval_file), "--margin", "0.3 m", "--json"]
    result = CliRunner().invoke(root, [*command, "--history", str(path)])
    assert result.exit_code == 0, result.stderr
    content = json.loads(result.stdout)
    assert all(content["lap"][name] for name in ("sectors", "corners", "kerbs", "flights", "tried"))
    found = dict(written({key: content[key] for key in ("lap", "heat")}))
    assert found == documented(page, "run lap")
    with path.open(encoding="utf-8") as file:
        heads = re.findall(r'"([^"]*)"', file.readline())
    known = documented(page, "History files")
    assert {re.match(r"\w+", head)[0] for head in heads} - {"setup", "phase", "time"} <= set(known)  # type: ignore[index]


def test_the_scattered_laps_keys(page: str, oval_file: Path) -> None:
    command = ["run", "laps", "gt", "--track", str(oval_file), "--margin", "0.3 m", "--laps", "4", "--json"]
    result = CliRunner().invoke(root, [*command, "--pace", "75 %"])
    assert result.exit_code == 0, result.stderr
    content = json.loads(result.stdout)
    assert content["laps"]["corners"]
    found = dict(written({key: content[key] for key in ("laps", "each")}))
    assert found == documented(page, "run laps")


WHOLE = {
    "advise base": ("base", "few.toml"),
    "advise cure": ("cure", "gt", "pushes at mid-corner", "--draws", "0"),
    "advise rules": ("rules", "gt", "--rule", "stiffer-front-bar-pushes"),
    "advise trade-off": (
        *("trade-off", "gt", "--adjusters", "rear bar", "--track", "chicanes", "--drive"),
        *("--objectives", "pace, bumps, calmness"),
    ),
    "advise test-plan": ("test-plan", "gt", "--change", "rear bar=-2", "--track", "chicanes"),
}
"""Questions whose tables name everything: numbers with their units, texts and lists."""


@pytest.mark.parametrize("section", WHOLE)
def test_the_page_names_everything_in_the_answer_to_a_question(
    section: str, page: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    car = demo_car("gt")
    few = [one for one in car.adjusters if one.name in ("rear bar", "fuel")]
    save_car(car.model_copy(update={"adjusters": few}), "few.toml")
    result = CliRunner().invoke(root, ["advise", *WHOLE[section], "--json"])
    assert result.exit_code == 0, result.stderr
    table = documented(page, section)
    content = json.loads(result.stdout)
    keys = {name.split(".")[0].removesuffix("[]") for name in table}
    found = dict(told({key: content[key] for key in keys}, table))
    leaves = {name for name in table if not any(one.startswith((f"{name}.", f"{name}[]")) for one in table)}
    none = set(found) - leaves  # what may be null, and is
    below = tuple(f"{one}{mark}" for one in none for mark in (".", "[]"))
    assert leaves - set(found) == {name for name in leaves if name.startswith(below)}
    assert all(re.search(rf"`{re.escape(name)}` .*`null`", page) for name in none if found[name] != EMPTY)
    assert {name for name in leaves & set(found) if table[name] not in (found[name], "its own")} == set()


EMPTY = "[]"
"""Instead of a unit, of a list that is empty."""


def told(content: Any, table: Mapping[str, str], above: str = "") -> Iterator[tuple[str, str]]:
    """What an answer holds, as far down as the table goes, with units; lists and names go on by the first."""
    below = f"{above}[]" if any(name.startswith(f"{above}[].") for name in table) else above
    deeper = not above or any(name.startswith(f"{below}.") for name in table)
    if isinstance(content, dict) and content and content.keys() <= {"value", "unit"}:
        yield above, content["unit"]
    elif isinstance(content, list) and deeper:
        yield from told(content[0], table, below) if content else [(above, EMPTY)]
    elif isinstance(content, dict) and deeper:
        if any(name.startswith(f"{above}.*") for name in table):
            content = {"*": next(iter(content.values()))}
        for name, one in content.items():
            yield from told(one, table, f"{above}.{name}".lstrip("."))
    else:
        yield above, ""
