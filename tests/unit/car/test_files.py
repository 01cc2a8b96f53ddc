# ruff: noqa: E501  (tables of whole messages, a case a line)
"""Car and set-up files: read, written, and refused with all their faults at once."""

import os
from pathlib import Path

import pytest

from fourpatch.car.adjusters import adjuster
from fourpatch.car.car import Car
from fourpatch.car.files import load_car, load_setup, save_car, save_setup
from fourpatch.car.setup import Setup, apply_setup, baseline_setup
from fourpatch.errors import FileError


def refusal(folder: Path, text: str) -> str:
    """Return what is said of a car file with this text."""
    path = folder / "my_car.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FileError) as error:
        load_car(path)
    return str(error.value)


def test_car_of_the_documentation_is_read(tmp_path: Path, saloon: Car, saloon_text: str) -> None:
    (tmp_path / "car.toml").write_text(saloon_text, encoding="utf-8")
    assert load_car(tmp_path / "car.toml") == saloon
    assert load_car(str(tmp_path / "car.toml")) == saloon


def test_byte_order_mark_and_line_ends_of_windows_are_read(
    tmp_path: Path, saloon: Car, saloon_text: str
) -> None:
    (tmp_path / "car.toml").write_bytes(saloon_text.replace("\n", "\r\n").encode("utf-8-sig"))
    assert load_car(tmp_path / "car.toml") == saloon


def test_saved_car_reads_back_the_same(tmp_path: Path, saloon: Car) -> None:
    save_car(saloon, tmp_path / "car.toml")
    assert load_car(tmp_path / "car.toml") == saloon
    assert os.listdir(tmp_path) == ["car.toml"]


def test_saved_car_says_what_each_number_is(tmp_path: Path, saloon: Car) -> None:
    save_car(saloon, tmp_path / "car.toml")
    text = (tmp_path / "car.toml").read_text(encoding="utf-8")
    assert 'rate = "90 N/mm" # Force per spring travel\n' in text
    assert "[front.spring] # A corner spring, described at the spring, not at the wheel\n" in text
    assert '"front.tyre.vertical_rate" = {source = "identified", spread = "8 N/mm"' in text


def test_saved_setup_reads_back_the_same_and_shows_the_scales(tmp_path: Path, saloon: Car) -> None:
    setup = Setup(
        name="wet", car=saloon.name, note='soft, "safe"', values={"front bump": 6, "front tyre pressure": 1.8}
    )
    for car in (None, saloon):
        save_setup(setup, tmp_path / "wet.toml", car)
        assert load_setup(tmp_path / "wet.toml", saloon) == setup
    assert '"front bump" = 6 # 0 to 16 clicks\n' in (tmp_path / "wet.toml").read_text(encoding="utf-8")


# One change of the saloon's file; what is said of it, beside the line it is on.
REFUSALS = [
    # unknown keys
    ('rate = "90 N/mm"', 'rat = "90 N/mm"', "front.spring.rat is not known here. Did you mean rate?"),
    ("[steering]", "[stearing]", "stearing is not known here. Did you mean steering?"),
    ("ratio = 13.5", "ratio = 13.5\nzzz = 1", "steering.zzz is not known here. Known here: ratio, ackermann_share"),
    ('friction = "35 N"', 'knee_speed = "0.1 m/s"', "rear.damper.knee_speed is not known here."),
    ('drag = { constant = "0.85 m**2" }', 'drag = { const = "0.85 m**2" }', "aero.map.drag.const is not known here."),
    # quantities
    ('rate = "90 N/mm"', 'rate = "90000 N/mm"', 'front.spring.rate is "90000 N/mm", outside 1 to 2000 N/mm. Did you mean "90000 N/m" (= 90 N/mm)?'),
    ('mass = "1320 kg"', 'mass = "-1320 kg"', 'chassis.mass is "-1320 kg", outside 50 to 5000 kg. Did you mean "1320 kg"?'),
    ('mass = "1320 kg"', 'mass = "1320 mm"', 'chassis.mass is "1320 mm", which measures something else. Use kg or lb.'),
    ('mass = "1320 kg"', "mass = 1320", 'chassis.mass is 1320, without a unit. Write "1320 kg"'),
    ('mass = "1320 kg"', 'mass = "1320,5 kg"', 'chassis.mass is "1320,5 kg", with a comma.'),
    ('mass = "1320 kg"', "mass = 2026-03-12", "chassis.mass is 2026-03-12, not a quantity."),
    ('knee_speed = "80 mm/s", high_speed = "1300', 'knee_speed = "3 m/s", high_speed = "1300', 'front.damper.bump.knee_speed is "3 m/s", outside 1 to 2000 mm/s.'),
    ('front_weight_share = "54 %"', 'front_weight_share = "104 %"', 'chassis.front_weight_share is "104 %", outside 20 to 80 %.'),
    ('"3000 rpm"', '"3000 rpn"', 'driveline.engine_speed.2 is "3000 rpn", and "rpn" is not a unit known here. Use rpm or rad/s. Did you mean "3000 rpm"?'),
    ('"360 N*m"', '"360 kN*m"', 'driveline.engine_torque.3 is "360 kN*m", outside 0 to 3000 N*m. Did you mean "360 N*m"?'),
    # kinds and choices
    ('kind = "plate"', 'kind = "plates"', 'driveline.rear_differential has kind = "plates", not one of "open", "plate"'),
    ('{ kind = "open" }', "{ }", "driveline.front_differential does not say what kind it is. Add kind, one of"),
    ('stiffer = "none"', 'stiffer = "neither"', 'adjuster "front ride height", stiffer is "neither", not one of "up", "down", "none".'),
    ('source = "demo"', 'source = "demos"', 'provenance of "car", source is "demos", not one of'),
    # shapes
    ("[steering]", "[[steering]]", "steering is a list, not a table. Write [steering] and below it"),
    ('engine_speed = ["1000 rpm", "3000 rpm", "5000 rpm", "7000 rpm"]', 'engine_speed = "1000 rpm"', "driveline.engine_speed is \"1000 rpm\", not a list. Write engine_speed = [ ... ]"),
    ('targets = ["front.tyre.pressure"]', 'targets = "front.tyre.pressure"', 'adjuster "front tyre pressure", targets is "front.tyre.pressure", not a list.'),
    ('targets = ["front.tyre.pressure"]', "targets = []", 'adjuster "front tyre pressure", targets has 0 entries; at least 1 are needed.'),
    ('name = "Invented saloon"', 'name = ""', "name is empty. Write a few words."),
    ('note = "Shows', 'note = 5 #', "note is 5, not text. Put it in quotes: \"5\"."),
    ("lowest = 1.5", 'lowest = "1.5 bar"', 'adjuster "front tyre pressure", lowest is "1.5 bar", not a plain number.'),
    ("lowest = 1.5", "lowest = true", 'adjuster "front tyre pressure", lowest is true, not a plain number.'),
    ("lowest = 1.5", "lowest = inf", 'adjuster "front tyre pressure", lowest is inf'),
    # what several numbers tell
    ("gear_ratios = [3.2, 2.1", "gear_ratios = [2.1, 3.2", "driveline does not hold together: gear_ratios must fall"),
    ('speed = ["25 mm/s", "50 mm/s"', 'speed = ["50 mm/s", "25 mm/s"', "rear.damper does not hold together: speed must rise"),
    ('speed = ["25 mm/s", "50 mm/s"', 'speed = ["50 mm/s"', "rear.damper does not hold together: speed has 4 values, bump_force 5"),
    ("spring_motion_ratio = { value = 0.9 }", "spring_motion_ratio = { value = 0 }", "rear.geometry.spring_motion_ratio.value is 0, below 0.1."),
    ('distance_behind_front_axle = "2100 mm"', 'distance_behind_front_axle = "5.5 m"', "fuel.distance_behind_front_axle is 5500 mm, off the car"),
    ('ride_height = "95 mm"', 'ride_height = "165 mm"', "front.ride_height at 165.0 mm corner FL stands on its stops"),
    # adjusters and provenance
    ("baseline = 1.9", "baseline = 1.95", 'adjuster "front tyre pressure", baseline is 1.95, where the map gives 1.95 bar, but front.tyre.pressure of this car is 1.9 bar. Write baseline = 1.9,'),
    ("baseline = 1.9", "baseline = 1.93", 'adjuster "front tyre pressure" does not hold together: baseline = 1.93 is between two steps'),
    ('name = "front bump"', 'name = "front ride height"', 'adjuster 3, name is "front ride height" a second time.'),
    ('rate = "6 %"', "rate = true", 'adjuster "front bump", map.rate is true, not text. Write text in quotes.'),
    ('rate = "6 %" }', 'rat = "6 %" }', 'adjuster "front bump", map.rat is not known here. Did you mean rate?'),
    ('rate = "6 %"', 'rate = "6 mm"', 'adjuster "front bump", map.rate is "6 mm", which measures something else.'),
    ('"front.damper.bump.high_speed"]', '"front.damper.bump.fast"]', 'adjuster "front bump", targets.2 does not apply: "front.damper.bump.fast" is not a parameter'),
    ('"chassis.mass" =', '"chassis.weight" =', 'provenance of "chassis.weight" does not apply'),
    ('"chassis.mass" =', "chassis.mass =", 'provenance of "chassis" is read as tables within tables. Put the dotted name in quotes: "chassis.mass"'),
    ('spread = "5 kg"', 'spread = "5 mm"', 'provenance of "chassis.mass", spread is "5 mm", which measures something else.'),
    ('method = "grip class", spread = "10 %"', 'method = "grip class"', 'provenance of "front.tyre" does not hold together: source = "estimated" without spread. Add spread = "20 %".'),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "says"), REFUSALS)
def test_refusal_names_file_line_key_value_and_remedy(
    tmp_path: Path, saloon_text: str, old: str, new: str, says: str
) -> None:
    assert old in saloon_text
    text = saloon_text.replace(old, new, 1)
    said = refusal(tmp_path, text)
    (paragraph,) = [one for one in said.split("\n\n") if says in one]
    place, _, rest = paragraph.partition(": ")
    assert rest.startswith(says)
    file, _, line = place.partition(", line ")
    assert file == "my_car.toml"
    named = text.split("\n")[int(line) - 1]
    # the line of the change, or the heading of the part it is in
    assert new.split("\n")[-1] in named or named.startswith("[") or "kind" in named or "targets" in named
    assert "{" not in rest.replace("= { ... }", "")


@pytest.mark.parametrize(
    ("left_out", "line", "says"),
    [
        ('wheelbase = "2600 mm"\n', "[chassis]", 'chassis.wheelbase is missing. Front to rear axle. Write for example wheelbase = "2200 mm".'),
        ('[front.spring]\nrate = "90 N/mm"\n', "[front]", "front.spring is missing. A corner spring, described at the spring"),
        ('constant = "0.25 m**2", ', "front_downforce", 'aero.map.front_downforce.constant is missing. At the reference heights. Write for example constant = "7.5 m**2".'),
        ("ratio = 13.5\n", "[steering]", "steering.ratio is missing. Steering-wheel angle over mean road-wheel angle. Write for example ratio = 11."),
        ('stiffer = "none"\n', "[[adjusters]]", 'adjuster "front ride height", stiffer is missing.'),
    ],
)  # fmt: skip
def test_what_is_missing_is_said_at_its_section(
    tmp_path: Path, saloon_text: str, left_out: str, line: str, says: str
) -> None:
    assert left_out in saloon_text
    text = saloon_text.replace(left_out, "", 1)
    said = refusal(tmp_path, text)
    place, _, rest = said.partition(": ")
    assert rest.startswith(says)
    assert text.split("\n")[int(place.partition(", line ")[2]) - 1].startswith(line)


def test_a_whole_section_missing_is_said_without_a_line(tmp_path: Path, saloon_text: str) -> None:
    before, _, rest = saloon_text.partition("[steering]")
    said = refusal(tmp_path, before + rest[rest.index("[brakes]") :])
    assert said == "my_car.toml: steering is missing. From the steering wheel to the road wheels. Add it."


APART = [
    'name = ""',
    "note = 5 #",
    'front_weight_share = "104 %"',
    'distance_behind_front_axle = "5.5 m"',
    'knee_speed = "3 m/s", high_speed = "1300',
    'rat = "90 N/mm"',  # two faults: an unknown key, and the one it stands for missing
    "spring_motion_ratio = { value = 0 }",
    'knee_speed = "0.1 m/s"',
    'speed = ["50 mm/s", "25 mm/s"',
    "ratio = 13.5\nzzz = 1",
    'kind = "plates"',
    "gear_ratios = [2.1, 3.2",
    'lowest = "1.5 bar"',
    'stiffer = "neither"',
    'rate = "6 mm"',
    '"front.damper.bump.fast"]',
    'source = "demos"',
    'spread = "5 mm"',
    'method = "grip class"',
]


def test_all_faults_of_a_file_are_said_at_once_in_its_order(tmp_path: Path, saloon_text: str) -> None:
    text, expected = saloon_text, ["front.spring.rate is missing."]
    for old, new, says in REFUSALS:
        if new in APART and says not in expected:
            assert old in text
            text = text.replace(old, new, 1)
            expected.append(says)
    paragraphs = refusal(tmp_path, text).split("\n\n")
    for says in expected:
        assert len([one for one in paragraphs if says in one]) == 1, says
    assert len(paragraphs) == len(expected) == len(APART) + 1
    lines = [int(one.split(", line ")[1].split(":")[0]) for one in paragraphs]
    assert lines == sorted(lines)


def test_checks_between_numbers_run_beside_other_faults(tmp_path: Path, saloon_text: str) -> None:
    text = saloon_text.replace('caster = "6 deg"', "caster = 6").replace(
        "spring_motion_ratio = { value = 0.9 }", "spring_motion_ratio = { value = 0 }"
    )
    said = refusal(tmp_path, text.replace('"front.damper.bump.high_speed"]', '"front.damper.bump.fast"]'))
    assert "steering.caster is 6, without a unit" in said
    assert "rear.geometry.spring_motion_ratio.value is 0" in said
    assert '"front.damper.bump.fast" is not a parameter' in said


SYNTAX = [
    ('mass = "1320 kg"', "mass = 1320 kg", 'A quantity with a unit goes in quotes: "1320 kg"'),
    ("value = 0.92 }", "value = 0,92 }", "The decimal sign is a point: 0.92"),
    ('kind = "two-slope"', "kind = two-slope", 'Text goes in quotes: "two-slope"'),
    ('cg_height = "480 mm"', 'cg height = "480 mm"', "A key has no blanks: cg_height."),
    ("final_drive = 3.6", "final_drive = 3.6\nfinal_drive = 3.7", "The same key or section a second time"),
    ("ratio = 13.5", "ratio =", "A line is name = value"),
]


def test_all_lines_that_cannot_be_read_are_said_at_once(tmp_path: Path, saloon_text: str) -> None:
    text = saloon_text
    for old, new, _ in SYNTAX:
        assert old in text
        text = text.replace(old, new, 1)
    paragraphs = refusal(tmp_path, text).split("\n\n")
    assert len(paragraphs) == len(SYNTAX)
    for _, new, says in SYNTAX:
        (one,) = [p for p in paragraphs if says in p]
        line = int(one.split(", line ")[1].split(":")[0])
        assert new.split("\n")[-1] in text.split("\n")[line - 1]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[front\nx = 1", "my_car.toml, line 1: cannot be read: [front"),
        ('name = "open', "my_car.toml, line 1: cannot be read"),
        ("a = " + "[" * 5000, "brackets within brackets"),
        ("a = " + "1" * 5000, "my_car.toml, line 1: cannot be read"),
        ("", "my_car.toml: the file is empty: name, chassis"),
        ("name = 'x'\nx = '''\nno end", "my_car.toml, line 3: cannot be read"),
    ],
)
def test_text_that_is_no_toml_is_refused_without_a_traceback(tmp_path: Path, text: str, says: str) -> None:
    assert says in refusal(tmp_path, text)


def test_files_that_cannot_be_read_or_written_say_so(tmp_path: Path, saloon: Car) -> None:
    with pytest.raises(FileError, match="there is no such file"):
        load_car(tmp_path / "none.toml")
    with pytest.raises(FileError, match="is a folder"):
        load_car(tmp_path)
    (tmp_path / "latin.toml").write_bytes("name = 'a'\nnote = 'für'".encode("latin-1"))
    with pytest.raises(FileError, match=r"latin\.toml, line 2: a byte that is not UTF-8 text"):
        load_car(tmp_path / "latin.toml")
    with pytest.raises(FileError, match="cannot be written"):
        save_car(saloon, tmp_path / "nowhere" / "car.toml")


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ('"front bump" = 17', '"front bump" = 17 is outside 0 to 16 clicks. The nearest allowed is 16.'),
        ('"front bump" = 3.5', "The nearest allowed are 3 and 4."),
        ('"front bumb" = 3', '"front bumb" is not an adjuster of this car. Did you mean "front bump"'),
        ('"front bump" = "3 clicks"', '"front bump" is "3 clicks", not a plain number.'),
        ('"front bump" = nan', '"front bump" is nan'),
    ],
)
def test_setup_file_is_refused_with_line_and_remedy(
    tmp_path: Path, saloon: Car, line: str, says: str
) -> None:
    path = tmp_path / "wet.toml"
    path.write_text(f'name = "wet"\ncar = "another"\n[values]\n"rear bump" = 5\n{line}\n', encoding="utf-8")
    with pytest.raises(FileError) as error:
        load_setup(path, saloon)
    first, second = str(error.value).split("\n\n")
    assert first.startswith('wet.toml, line 2: car is "another", but the car is "Invented saloon".')
    assert second.startswith("wet.toml, line 5: ")
    assert says in second


def test_setup_may_name_some_adjusters_or_none(tmp_path: Path, saloon: Car) -> None:
    path = tmp_path / "short.toml"
    path.write_text(f'name = "short"\ncar = "{saloon.name}"\n', encoding="utf-8")
    setup = load_setup(path, saloon)
    assert setup.values == {}
    assert setup.position(adjuster(saloon, "front bump")) == baseline_setup(saloon).values["front bump"]


def test_setup_of_the_documentation_is_read_and_applied(tmp_path: Path, saloon: Car) -> None:
    page = (Path(__file__).parents[3] / "docs" / "car-file.md").read_text(encoding="utf-8")
    path = tmp_path / "wet.toml"
    path.write_text(page.split("```toml\n")[1].split("```")[0], encoding="utf-8")
    assert apply_setup(saloon, load_setup(path, saloon)).front.tyre.pressure == 1.8e5
