"""Everything that can be wrong with what a user gives: the text names place, value, what is allowed.

Remedy.
"""

import os
import subprocess
import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest
from click.testing import Result

Command = Callable[..., Result]
CarFile = Callable[..., Path]
Refused = Callable[..., str]

CAR_FAULTS = {
    "unknown key": (
        ("mass = ", "mas = "),
        ["chassis.mas is not known here", "Did you mean mass?"],
    ),
    "unit of another dimension": (
        ('wheelbase = "', 'wheelbase = "1 N" # "'),
        ['chassis.wheelbase is "1 N", which measures something else', "Use mm"],
    ),
    "negative mass": (
        ('mass = "', 'mass = "-'),
        ["chassis.mass is", "outside 50 to 5000 kg", "Did you mean"],
    ),
    "motion ratio of zero": (
        ("spring_motion_ratio = {value = 0.96", "spring_motion_ratio = {value = 0"),
        ["front.geometry.spring_motion_ratio.value is 0, below 0.1", "the spring does nothing"],
    ),
    "no unit": (
        ('unsprung_mass = "', 'unsprung_mass = 40 # "'),
        ["front.unsprung_mass is 40, without a unit", '"40 kg"'],
    ),
    "weight share beyond all cars": (
        ('front_weight_share = "', 'front_weight_share = "105 %" # "'),
        ['chassis.front_weight_share is "105 %", outside 20 to 80 %'],
    ),
    "centre of gravity outside the wheelbase": (
        ('distance_behind_front_axle = "', 'distance_behind_front_axle = "5900 mm" # "'),
        ["fuel.distance_behind_front_axle is 5900 mm, off the car: its wheelbase is"],
    ),
    "knee above any damper table": (
        ('knee_speed = "', 'knee_speed = "999'),
        ["front.damper.bump.knee_speed is", "outside 1 to 2000 mm/s"],
    ),
    "centre of gravity below the underside": (
        ('cg_height = "', 'cg_height = "100 mm" # "'),
        ["chassis.cg_height is 100 mm, not above the underside"],
    ),
}


@pytest.mark.parametrize("fault", CAR_FAULTS)
def test_a_faulty_car(fault: str, car_file: CarFile, refused: Refused) -> None:
    replaced, said = CAR_FAULTS[fault]
    path = car_file(replaced)
    text = refused("check", "car", str(path))
    assert text.startswith("my.toml, line ")
    for part in said:
        assert part in text
    # The line named is the one that was changed, or the table that holds what is missing.
    lines = path.read_text(encoding="utf-8").splitlines()
    named = {int(p.split("line ")[1].split(":")[0]) for p in text.split("\n\n")}
    changed = next(n for n, line in enumerate(lines, start=1) if replaced[1] in line)
    assert changed in named


def test_all_faults_of_a_file_at_once(car_file: CarFile, refused: Refused) -> None:
    pieces = [
        CAR_FAULTS[name][0] for name in ("unit of another dimension", "motion ratio of zero", "no unit")
    ]
    text = refused("check", "car", str(car_file(*pieces)))
    paragraphs = text.strip().split("\n\n")
    assert len(paragraphs) == 3
    numbers = [int(p.split("line ")[1].split(":")[0]) for p in paragraphs]
    assert numbers == sorted(numbers)


def test_every_command_refuses_a_faulty_car_alike(car_file: CarFile, refused: Refused) -> None:
    path = str(car_file(CAR_FAULTS["motion ratio of zero"][0]))
    texts = {
        refused(*words, path)
        for words in (
            ("analyse", "statics"),
            ("run", "braking"),
            ("advise", "sensitivity"),
            ("list", "adjusters"),
        )
    }
    assert len(texts) == 1


def test_a_damper_table_that_is_none(car_file: CarFile, refused: Refused) -> None:
    table = (
        'kind = "measured"\nspeed = ["100 mm/s", "50 mm/s"]\n'
        'bump_force = ["200 N", "100 N"]\nrebound_force = ["300 N"]'
    )
    path = car_file()
    text = path.read_text(encoding="utf-8")
    start = text.index("[front.damper]")
    end = text.index("\n[", start)
    path.write_text(text[:start] + "[front.damper]\n" + table + "\n" + text[end:], encoding="utf-8")
    said = refused("check", "car", str(path))
    assert "front.damper" in said
    assert "give one force per speed" in said


SETUP_FAULTS = {
    "outside its range": (
        '"front tyre pressure" = 9',
        ['"front tyre pressure" = 9 is outside', "The nearest allowed is"],
    ),
    "between two steps": (
        '"brake bias" = 0.3',
        ['"brake bias" = 0.3 is between two steps', "The nearest allowed are"],
    ),
    "unknown adjuster": (
        '"frnt toe" = 0',
        ['"frnt toe" is not an adjuster of this car', 'Did you mean "front toe"'],
    ),
}


@pytest.mark.parametrize("fault", SETUP_FAULTS)
def test_a_faulty_setup(fault: str, tmp_path: Path, refused: Refused) -> None:
    line, said = SETUP_FAULTS[fault]
    path = tmp_path / "wet.toml"
    path.write_text(f'name = "wet"\ncar = "Demo hatchback"\n[values]\n{line}\n', encoding="utf-8")
    text = refused("check", "setup", str(path), "--car", "hatchback")
    assert text.startswith("wet.toml, line 4: ")
    for part in said:
        assert part in text
    assert refused("analyse", "statics", "hatchback", "--setup", str(path)) == text


def test_all_faults_of_a_setup_at_once(tmp_path: Path, refused: Refused) -> None:
    lines = "\n".join(line for line, _ in SETUP_FAULTS.values())
    path = tmp_path / "wet.toml"
    path.write_text(f'name = "wet"\ncar = "Demo hatchback"\n[values]\n{lines}\n', encoding="utf-8")
    text = refused("check", "setup", str(path), "--car", "hatchback")
    assert len(text.strip().split("\n\n")) == len(SETUP_FAULTS)


EVENT_FAULTS = {
    'kind = "corna"': ['has kind = "corna"', "Did you mean corner?"],
    'speed = "100 km/h"': ["does not say what kind it is", '"kerb-strike"'],
    'kind = "corner"\nradius = "1 m"\nsped = "90 km/h"': [
        'line 2: radius is "1 m", outside 5 to 2000 m',
        "line 3: sped is not known here. Did you mean speed?",
    ],
    'kind = "kerb-strike"\nheight = 50': ["height is 50, without a unit"],
    'kind = "kerb-strike"\nshape = "square"': ['shape is "square", not one of "flat-topped"'],
    "kind = corner": ["line 1: cannot be read", 'Text goes in quotes: "corner"'],
}


@pytest.mark.parametrize("content", EVENT_FAULTS)
def test_a_faulty_event(content: str, tmp_path: Path, refused: Refused) -> None:
    path = tmp_path / "my-event.toml"
    path.write_text(content + "\n", encoding="utf-8")
    text = refused("check", "event", str(path))
    assert text.startswith("my-event.toml")
    for part in EVENT_FAULTS[content]:
        assert part in text
    assert refused("run", "event", str(path), "hatchback") == text


def test_all_faulty_options_of_an_event_at_once(refused: Refused) -> None:
    text = refused("run", "kerb-strike", "gt", "--height", "50", "--shape", "square", "--speed", "3 kg")
    assert '--height is "50", without a unit. Write "50 mm"' in text
    assert '--shape is "square", not one of' in text
    assert '--speed is "3 kg", which measures something else' in text


def test_settings_that_contradict_each_other(refused: Refused) -> None:
    text = refused(
        "run", "step-steer", "gt", "--road-wheel-angle", "3 deg", "--lateral-acceleration", "3 m/s**2"
    )
    assert "step-steer does not hold together: --lateral-acceleration and --road-wheel-angle" in text
    assert "give one of them" in text


def test_a_circle_that_holds_two_things(refused: Refused) -> None:
    text = refused("run", "steady-circle", "gt", "--radius", "50 m", "--speed", "80 km/h")
    assert "steady-circle does not hold together: radius and speed each say what is held" in text


def test_a_circle_the_car_cannot_do(refused: Refused) -> None:
    text = refused("run", "braking-in-a-turn", "gt", "--lateral-acceleration", "30 m/s**2")
    assert "braking in a turn: the car cannot stay on a circle of 100 m" in text


def test_an_event_the_car_cannot_do(refused: Refused) -> None:
    text = refused("run", "braking", "gt", "--hold", "15 s")
    assert "would stop before the brake is released" in text
    assert "Start faster" in text


BRIEF_FAULTS = {
    ('mass = "1180 kg"', 'mass = "11 kg"'): ["line 4: mass is", "outside 250 to 4000 kg"],
    ('grip = "semi-slick"', 'grip = "semislick"'): ["grip is", "Did you mean semi-slick"],
    ('front_tyre = "205/50R16"', 'front_tyre = "205"'): ["front_tyre", "205"],
}


@pytest.mark.parametrize("replaced", BRIEF_FAULTS)
def test_a_faulty_brief(
    replaced: tuple[str, str], tmp_path: Path, fourpatch: Command, refused: Refused
) -> None:
    brief = tmp_path / "brief.toml"
    example = fourpatch("estimate", "car", "--example").stdout
    assert replaced[0] in example
    brief.write_text(example.replace(*replaced), encoding="utf-8")
    text = refused("estimate", "car", str(brief), "--output", "car.toml")
    for part in BRIEF_FAULTS[replaced]:
        assert part in text
    assert not (tmp_path / "car.toml").exists()


OTHER_FAULTS = {
    ("analyse", "statics", "hatchbak"): [
        "no demo car of that name and no such file",
        "Did you mean hatchback?",
    ],
    ("analyse", "statics", "nowhere.toml"): ["nowhere.toml: there is no such file"],
    ("analyse", "statics", "."): ["is a folder. Name a file in it"],
    ("analyse", "modes", "gt", "--speed", "100"): ['is "100", without a unit', '"100 km/h"'],
    ("analyse", "frequency-response", "gt", "--road", "driven over"): ["no speed is given"],
    ("analyse", "modes", "gt", "--figure", "modes.gif"): [
        "is written as .svg, .png or .pdf",
        "change the ending",
    ],
    ("analyse", "modes", "gt", "--figure", "none/modes.svg"): ["there is no folder none"],
    ("run", "corner"): ["Missing argument 'CAR'"],
    ("analyse", "damper-map", "gt"): ["--axle is missing", "front", "rear"],
    ("analyse", "damper-map", "gt", "--axle", "front", "--road-class", "J"): ['is "J", not one of "A", "B"'],
    ("analyse", "damper-map", "gt", "--axle", "front", "--kerb-height", "30"): ['is "30", without a unit'],
    ("analyse", "damper-map", "gt", "--axle", "front", "--cost", "0 %"): ["outside"],
    ("analyse", "damper-speed", "gt", "--split", "3 N"): ["measures something else"],
    ("run", "measured-road", "gt"): ["--file is missing", "columns distance, left and right"],
    ("run", "measured-road", "gt", "--file", "none.csv"): [
        '--file is "none.csv", which cannot be used',
        "Check the name and the folder",
    ],
    ("run", "measured-motion", "gt"): ["--file is missing", "columns time, speed, longitudinal_acceleration"],
    ("estimate", "car"): ["Give a brief and --output FILE"],
}


@pytest.mark.parametrize("arguments", OTHER_FAULTS)
def test_other_bad_input(arguments: tuple[str, ...], refused: Refused) -> None:
    text = refused(*arguments)
    for part in OTHER_FAULTS[arguments]:
        assert part in text


def test_no_file_is_written_over_unasked(fourpatch: Command, refused: Refused, tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text("hours of work", encoding="utf-8")
    assert "is there already" in refused("export", "car", "gt", "mine.toml")
    assert "is there already" in refused("export", "setup", "gt", "mine.toml")
    assert (tmp_path / "mine.toml").read_text(encoding="utf-8") == "hours of work"
    assert fourpatch("export", "setup", "gt", "mine.toml", "--force").exit_code == 0


def test_bad_input_to_the_command_itself(tmp_path: Path) -> None:
    run = [sys.executable, "-c", "from fourpatch.cli import main; main()"]
    broken = tmp_path / "broken.toml"
    broken.write_text('name = "x"\nmass = 1,5\n', encoding="utf-8")
    for arguments in (
        ["check", "car", str(broken)],
        ["list", "adjusters", "nocar"],
        ["run", "kerb-strike", "gt", "--length", "9"],
    ):
        done = subprocess.run([*run, *arguments], capture_output=True, text=True)
        assert done.returncode == 2
        assert done.stdout == ""
        assert "Traceback" not in done.stderr
        assert len(done.stderr) > 20


@pytest.mark.parametrize("speed", ["1100 km/h", "900 km/h"])
def test_no_unit_is_proposed_that_nobody_means(speed: str, refused: Refused) -> None:
    for arguments in (("run", "corner", "gt"), ("analyse", "modes", "gt")):
        said = refused(*arguments, "--speed", speed)
        assert said.startswith(f'--speed is "{speed}", outside')
        assert "Did you mean" not in said
        assert "Usage" not in said


def test_a_cut_tooth_is_refused_by_the_check_too(tmp_path: Path, refused: Refused) -> None:
    file = tmp_path / "kerb.toml"
    file.write_text(
        'kind = "kerb-strike"\nshape = "saw-tooth"\nlength = "3 m"\ntooth_length = "0.7 m"\n',
        encoding="utf-8",
    )
    assert "it must be a whole number of them" in refused("check", "event", str(file))


def test_a_word_that_is_nobodys_slip_is_not_proposed(refused: Refused) -> None:
    said = refused("run", "corner", "gt", "--direction", "straight")
    assert "Did you mean" not in said
    assert "Did you mean right?" in refused("run", "corner", "gt", "--direction", "rigth")


@pytest.mark.parametrize(("end", "what"), [("name =", "is empty"), ("[rear]", "looks cut off")])
def test_a_file_that_was_cut_off_is_said_to_be(
    end: str, what: str, car_file: CarFile, refused: Refused
) -> None:
    file = car_file()
    text = file.read_text(encoding="utf-8")
    file.write_text(text[: text.index(end)], encoding="utf-8")
    said = refused("check", "car", str(file))
    assert what in said
    assert "Start from a whole one: fourpatch export car" in said
    assert "Add it" not in said


ODD_FILES = {
    "tables within tables": ("a." * 1000 + "b = 1\n", "tables within tables without end"),
    "brackets within brackets": ("x = " + "[" * 900 + "]" * 900, "brackets within brackets without end"),
    "a value without end": (f'[chassis]\nmass = "{"9" * 500_000} kg"\n', "999..."),
    "a name without end": (f"{'x' * 500_000} = 1\n", "is not known here"),
    "a line without end": (f"mass = {'x' * 500_000}\n", "Text goes in quotes"),
    "keys without end": ("".join(f"k{k} = 1\n" for k in range(3000)), "more like these"),
    "a sign that steers the terminal": ("foo\x1b[31m = 2\n", "foo\\x1b[31m"),
}


@pytest.mark.parametrize("kind", ["car", "track", "event", "style"])
@pytest.mark.parametrize("odd", ODD_FILES)
def test_an_odd_file_is_refused_in_a_text_that_can_be_read(odd: str, kind: str, refused: Refused) -> None:
    content, said = ODD_FILES[odd]
    Path("odd.toml").write_text(content, encoding="utf-8")
    text = refused("check", kind, "odd.toml")
    assert len(text) < 150_000  # sixty paragraphs of 2000 signs, and their line ends
    assert "\x1b" not in text
    if kind == "car":
        assert said in text


@pytest.mark.skipif(sys.platform == "win32", reason="no stream can be closed so")
def test_a_closed_stream_is_no_fault(tmp_path: Path) -> None:
    command = [sys.executable, "-c", "from fourpatch.cli import main; main()"]
    for closed in (1, 2):
        arguments = [*command, "export", "car", "gt", str(tmp_path / f"{closed}.toml")]
        ended = subprocess.run(arguments, preexec_fn=partial(os.close, closed), check=False)
        assert ended.returncode == 0
        assert (tmp_path / f"{closed}.toml").exists()
