"""Car, set-up and brief files: TOML in, TOML out, and everything that is wrong with one said at once."""

import os
from functools import partial
from pathlib import Path

from fourpatch.car.anti_features import read_car
from fourpatch.car.car import Car
from fourpatch.car.checks import FAULT_CHECKS, packs
from fourpatch.car.estimation.brief import CarBrief
from fourpatch.car.setup import Setup, setup_faults
from fourpatch.document.reading import read_file
from fourpatch.document.refusals import read_part
from fourpatch.document.saving import write_texts

_WHOLE_CAR = "Start from a whole one: fourpatch export car gt my_car.toml writes a demo car as a file."
_WHOLE_BRIEF = "Start from a whole one: fourpatch estimate car --example writes it."

FilePath = str | os.PathLike[str]


def load_car(path: FilePath) -> Car:
    """Read a car file.

    Raises
    ------
    FileError
        If the file cannot be read or says something that cannot be meant: all of it, a paragraph
        each, with line, key, value, what is allowed and a remedy.
    """
    return read_file(Path(path), read_car, checks=FAULT_CHECKS, last=(packs,), model=_WHOLE_CAR)


def load_setup(path: FilePath, car: Car) -> Setup:
    """Read a set-up file for a car.

    Raises
    ------
    FileError
        As `load_car`; also for a value outside its adjuster's range or between two steps.
    """
    return read_file(Path(path), partial(read_part, Setup), checks=(lambda setup: setup_faults(setup, car),))


def load_brief(path: FilePath) -> CarBrief:
    """Read a brief, the ten numbers from which a whole car is estimated.

    Raises
    ------
    FileError
        As `load_car`.
    """
    return read_file(Path(path), partial(read_part, CarBrief), model=_WHOLE_BRIEF)


def save_car(car: Car, path: FilePath) -> None:
    """Write a car file: every parameter with its unit and meaning. It reads back to the same car.

    Raises
    ------
    FileError
        If the file cannot be written.
    """
    from fourpatch.car.writing import car_text

    write_texts({Path(path): car_text(car)})


def save_setup(setup: Setup, path: FilePath, car: Car | None = None) -> None:
    """Write a set-up file; with its car, each adjuster's scale stands beside its value.

    Raises
    ------
    FileError
        If the file cannot be written.
    """
    from fourpatch.car.writing import setup_text

    write_texts({Path(path): setup_text(setup, car)})
