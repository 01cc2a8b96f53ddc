"""What is said in the units a reader has chosen."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from fourpatch.errors import FieldsError
from fourpatch.picture.blocks import Change, Changes, Sentence, Table
from fourpatch.picture.chosen_units import (
    CHOICES,
    blocks_shown,
    choose,
    chosen_now,
    decimals_shown,
    keep,
    kept_at,
    named,
    recall,
    said,
    scale_shown,
    shown_unit,
    table_shown,
    texts_shown,
    unit_shown,
)
from fourpatch.picture.head import Head
from fourpatch.units import Unit


@pytest.fixture(autouse=True)
def imperial() -> Iterator[None]:
    choose(named(["imperial"]))
    yield
    choose({})


@pytest.mark.parametrize(
    ("usual", "shown"),
    [  # exact definitions: mile 1609.344 m, inch 25.4 mm, pound 0.45359237 kg, 9.80665 m/s²; from memory
        ("at 100 km/h", "at 62 mph"),
        ("from 160.9344 to 80 km/h", "from 100.0000 to 50 mph"),
        ("50.8 mm in front and 25.4 mm", "2.00 in in front and 1.00 in"),
        ("a step of 1 mm", "a step of 0.039 in"),
        ("100 N/mm", "571 lbf/in"),
        ("1000 kg, +4.45 N", "2205 lb, +1.00 lbf"),
        ("4.448 kN", "1000 lbf"),
        ("2.0 bar / 1.9 bar", "29 psi / 28 psi"),
        ("74.57 kW", "100.00 hp"),
        ("5000 N·s/m, −600 N·m/deg", "28.55 lbf·s/in, −443 lbf·ft/deg"),
        ("60 m", "197 ft"),
        ("0 mm", "0 in"),
        ("8 m/s², 5 min, 3 more, 120 kg·m², 40 N per g", "8 m/s², 5 min, 3 more, 120 kg·m², 9.0 lbf per g"),
    ],
)
def test_a_sentence_in_other_units(usual: str, shown: str) -> None:
    assert said(usual) == shown
    assert said(shown) == shown  # said once, however often it is passed through


def test_nothing_chosen_changes_nothing() -> None:
    choose({})
    assert said("100 km/h over 50 mm") == "100 km/h over 50 mm"


def test_a_table_follows_its_heads_and_its_column_of_units() -> None:
    heads = [
        Head(text="step 5 mm"),
        Head(text="speed", unit="km/h", now="100"),
        Head(text="how", right=False),
    ]
    shown, rows = table_shown(heads, [["spring, 10 N/mm", "-50 / +100", "within 25.4 mm"]])
    assert [(one.text, one.unit, one.now) for one in shown][1] == ("speed", "mph", "62")
    assert rows == [["spring, 10 N/mm", "-31 / +62", "within 1.00 in"]]  # what names a row stays
    heads = [Head(text=""), Head(text="front"), Head(text="unit", right=False)]
    assert table_shown(heads, [["rate", "100", "N/mm"], ["angle", "2", "deg"]])[1] == [
        ["rate", "571", "lbf/in"],
        ["angle", "2", "deg"],
    ]
    assert texts_shown(["", "throw [mm]"], [["kerb", "25.4"]]) == (["", "throw [in]"], [["kerb", "1.00"]])


def test_scales_of_adjusters_are_the_cars_own() -> None:
    turned = Changes(changes=[Change(adjuster="rear spring", before=90.0, after=100.0, unit="N/mm")])
    told = blocks_shown([turned, Sentence("at 100 km/h"), Table(heads=[], rows=[], title="25.4 mm")])
    assert told[0] == turned
    assert told[1] == Sentence("at 62 mph")
    assert isinstance(told[2], Table)
    assert told[2].title == "1.00 in"


def test_a_field_reads_a_bare_number_in_the_unit_beside_it() -> None:
    rate = shown_unit(Unit("N/m", "N/mm", 1e3, 1e6))
    assert rate.parse(rate.completed("571")) == pytest.approx(100e3, rel=2e-4)  # 571.0 for 571.015


@pytest.mark.parametrize(
    ("usual", "unit"), [(units[0], unit) for units in CHOICES.values() for unit in units]
)
def test_every_unit_can_be_chosen_and_said(usual: str, unit: str) -> None:
    choose({usual: unit})
    assert unit_shown(usual) == unit
    number, name = said(f"1000 {usual}").split(" ")
    decimals = decimals_shown(usual, 0)
    assert (name, float(number)) == (
        unit,
        pytest.approx(1000.0 * scale_shown(usual), abs=0.51 * 10.0**-decimals),
    )


def test_the_choice_is_kept_beside_the_notebook_and_what_cannot_be_read_is_none(tmp_path: Path) -> None:
    notebook = tmp_path / "notebook.sqlite"
    keep(named(["SI", "mph", "lbf·s/in"]), notebook)
    choose({})
    recall(notebook)
    assert {unit for usual, unit in chosen_now().items() if unit != usual} == {"mph", "lbf*s/in"}
    kept_at(notebook).write_text('{"km/h": "furlong"}', encoding="utf-8")
    recall(notebook)
    assert all(unit == usual for usual, unit in chosen_now().items())


def test_no_unit_to_choose_is_refused_with_those_there_are() -> None:
    with pytest.raises(
        FieldsError, match=re.escape('"knots" is no unit to choose. There are SI and imperial')
    ):
        named(["knots"])
