"""Rules of thumb on the command line."""

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from fourpatch.advice.rules.catalogue import RULES
from fourpatch.cli.root import root


@pytest.fixture(scope="module")
def shown() -> str:
    result = CliRunner().invoke(root, ["advise", "rules", "gt"])
    assert result.exit_code == 0, result.stderr
    return result.stdout


def said(*arguments: str) -> Any:
    result = CliRunner().invoke(root, ["advise", "rules", "gt", *arguments, "--json"])
    assert result.exit_code == 0, result.stderr
    return json.loads(result.stdout)


def test_the_table_has_a_row_for_each_rule(shown: str) -> None:
    # The column is as wide as its group's names need, and long ones go on in the next line.
    joined = "".join(line[1:].split("  ")[0].strip() for line in shown.splitlines())
    for rule in RULES:
        assert rule.name in joined
    assert max(map(len, shown.splitlines())) <= 100
    assert "common practice, no published source" in shown.replace("\n", " ")
    assert "licensed" in shown


def test_one_rule_shows_all_its_numbers_and_why() -> None:
    arguments = ["advise", "rules", "gt", "--rule", "stiffer-front-bar-pushes"]
    text = CliRunner().invoke(root, arguments).stdout
    for part in ("slow corner, mid", "the other way", "hardly measurable below", "Why: Front bar +30 %"):
        assert part in text
    content = said("--rule", "stiffer-front-bar-pushes")
    (rule,) = content["rules"]
    cell = next(c for c in rule["claims"][0]["cells"] if c["event"] == "slow corner" and not c["back"])
    assert f"{cell['value']['value']:+.2f} points" in text
    assert rule["verdict"] == "agrees"
    assert rule["source"] == "common practice, no published source"


def test_a_wrong_name_is_refused_before_anything_is_computed() -> None:
    result = CliRunner().invoke(root, ["advise", "rules", "gt", "--rule", "stiff-front-bar"])
    assert result.exit_code == 2
    assert result.stdout == ""
    assert "stiffer-front-bar-pushes" in result.stderr


def test_a_figure_is_written(tmp_path: Path) -> None:
    path = tmp_path / "rules.svg"
    arguments = ["advise", "rules", "gt", "--rule", "more-rake-frees", "--figure", str(path)]
    assert CliRunner().invoke(root, arguments).exit_code == 0
    assert path.stat().st_size > 1000


def test_rules_of_ones_own_are_checked_beside_ours(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    assert CliRunner().invoke(root, ["export", "rules", str(path)]).exit_code == 0
    refused = CliRunner().invoke(root, ["advise", "rules", "gt", "--own", str(path)])
    assert refused.exit_code == 2
    assert "more-rake-frees" in refused.stderr
    assert "another name" in refused.stderr
    text = path.read_text(encoding="utf-8").replace('name = "', 'name = "my-')
    path.write_text(text.replace('.name = "my-', '.name = "'), encoding="utf-8")
    mine = said("--own", str(path), "--rule", "my-more-rake-frees")["rules"][0]
    ours = said("--rule", "more-rake-frees")["rules"][0]
    assert {**mine, "name": ""} == {**ours, "name": ""}
    again = CliRunner().invoke(root, ["export", "rules", str(path)])
    assert again.exit_code == 2
