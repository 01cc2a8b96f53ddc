"""Anti-dive, anti-lift and anti-squat as shares in a car file: what becomes of them, what is refused."""

from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.analysis.load_transfer import longitudinal_transfer
from fourpatch.car.car import Car
from fourpatch.car.editing import edited_car, edited_text
from fourpatch.car.files import load_car, save_car
from fourpatch.car.pack import mass_properties, pack
from fourpatch.errors import FileError
from fourpatch.events.run import rig_instant, settle
from fourpatch.physics.layout import CORNER_BASE, N_CORNER, N_INPUT, C, I, O


def read(folder: Path, text: str, front: str, rear: str) -> Car:
    """Read the car of the documentation with other lines in place of its slopes."""
    path = folder / "car.toml"
    slopes = [line for line in text.splitlines() if "_support" in line]
    assert len(slopes) == 4
    for old, new in zip(slopes, (front, "", rear, ""), strict=True):
        text = text.replace(f"{old}\n", f"{new}\n" if new else "", 1)
    path.write_text(text, encoding="utf-8")
    return load_car(path)


def refused(folder: Path, text: str, front: str, rear: str = "") -> str:
    with pytest.raises(FileError) as error:
        read(folder, text, front, rear)
    return str(error.value)


SHARES = ('anti_dive = "20 %"', 'anti_lift = "15 %"\nanti_squat = "30 %"')


@pytest.fixture
def car(tmp_path: Path, saloon_text: str) -> Car:
    return read(tmp_path, saloon_text, *SHARES)


def carried_by_links(car: Car, acceleration: float) -> tuple[float, float]:
    """Share of the load transfer that the links of each axle carry on the rig, upward on the body."""
    vector, inputs = pack(car), np.zeros(N_INPUT)
    # The textbook's wheels have no inertia of spin, which brakes and links hold up too.
    vector[[CORNER_BASE + corner * N_CORNER + C.spin_inertia for corner in range(4)]] = 0.0
    inputs[I.longitudinal_acceleration] = acceleration
    state = settle(vector[None], inputs, name="straight")
    links = rig_instant(vector[None], state, inputs).outputs[0, 0, O.jacking_force : O.jacking_force + 4]
    masses = mass_properties(car)
    transfer = masses.total * abs(acceleration) * masses.cg_height / car.chassis.wheelbase
    return links[:2].sum() / transfer, links[2:].sum() / transfer


def test_the_links_carry_those_shares_on_the_rig(car: Car) -> None:
    assert car.driveline.front_drive_share == 0.0
    # Newton's method on the settled state; slopes are constant
    assert_allclose(carried_by_links(car, -4.0), [0.20, -0.15], rtol=1e-9)
    assert_allclose(carried_by_links(car, 2.0)[1], 0.30, rtol=1e-9)
    found = longitudinal_transfer(pack(car))
    assert_allclose(
        [found.anti_dive, found.anti_lift_braking, found.anti_squat], [0.20, 0.15, 0.30], rtol=1e-12
    )


def test_the_brake_bias_moves_the_share_and_not_the_links(car: Car) -> None:
    turned = edited_car(car, {"brakes.front_share": "60 %"})
    assert turned.front.geometry == car.front.geometry
    # The part of the wheels' own mass, which the bias leaves alone, goes with the slope of driving: 0 here.
    assert_allclose(carried_by_links(turned, -4.0)[0] / 0.20, 0.60 / car.brakes.front_share, rtol=1e-9)


def test_a_saved_car_has_the_slopes(car: Car, tmp_path: Path) -> None:
    save_car(car, tmp_path / "saved.toml")
    assert load_car(tmp_path / "saved.toml") == car
    assert "anti_dive" not in (tmp_path / "saved.toml").read_text(encoding="utf-8").replace("`anti_dive`", "")


def test_a_changed_file_says_what_the_changed_car_is(car: Car, tmp_path: Path) -> None:
    """Its links stay as they are, whatever else is changed."""
    path = tmp_path / "car.toml"
    edited = edited_car(
        car,
        {
            "brakes.front_share": "60 %",
            "chassis.cg_height": "500 mm",
            "front.geometry.braking_support.value": "0.08",
        },
    )
    path.write_text(edited_text(path.read_text(encoding="utf-8"), car, edited), encoding="utf-8")
    assert load_car(path) == edited
    assert edited.rear.geometry == car.rear.geometry


def test_one_share_leaves_the_other_slope(tmp_path: Path, saloon_text: str) -> None:
    rear = 'anti_lift = "10 %"\ndriving_support = { value = 0.1, slope = "0.5 1/m" }'
    car = read(tmp_path, saloon_text, "", rear)
    assert car.rear.geometry.driving_support.slope == 0.5
    assert_allclose(longitudinal_transfer(pack(car)).anti_lift_braking, 0.10, rtol=1e-12)


@pytest.mark.parametrize(
    ("front", "said"),
    [
        ('anti_dive = "20 mm"', 'front.geometry.anti_dive is "20 mm", which measures something else'),
        ("anti_dive = 20", 'front.geometry.anti_dive is 20, outside -100 to 200 %. Did you mean "20 %"'),
        (
            'anti_dive = "20 %"\nbraking_support = { value = 0.1 }',
            "front.geometry.anti_dive says the same as braking_support does by a slope. Delete one",
        ),
        ('anti_lift = "10 %"', "front.geometry.anti_lift is said of an axle that has 0% of the drive"),
        ('anti_squat = "10 %"', "front.geometry.anti_squat is a feature of the other axle"),
    ],
)
def test_what_cannot_be_is_refused_in_its_line(
    tmp_path: Path, saloon_text: str, front: str, said: str
) -> None:
    text = refused(tmp_path, saloon_text, front)
    assert said in text
    line = saloon_text.splitlines().index(next(x for x in saloon_text.splitlines() if "_support" in x)) + 1
    assert text.startswith(f"car.toml, line {line}: ")


def test_a_share_that_no_links_have_is_refused(tmp_path: Path, saloon_text: str) -> None:
    few = saloon_text.replace("front_drive_share = 0.0", "front_drive_share = 0.06")
    text = refused(tmp_path, few, 'anti_lift = "150 %"')
    assert "front.geometry.anti_lift is 150%, which would take links of slope" in text


def test_other_faults_are_said_as_well(tmp_path: Path, saloon_text: str) -> None:
    text = refused(tmp_path, saloon_text.replace('mass = "1320 kg"', 'mass = "1320 mm"'), 'anti_dive = "x"')
    assert "chassis.mass" in text
    assert "front.geometry.anti_dive" in text
