"""Four cars of our own to try things on. All are invented; no real car was measured or copied."""

from importlib.resources import as_file, files

from fourpatch.car.car import Car
from fourpatch.car.files import load_car
from fourpatch.errors import CarError


def demo_names() -> tuple[str, ...]:
    """Return the names of the demo cars.

    Examples
    --------
    >>> demo_names()
    ('coupe', 'gt', 'hatchback', 'single-seater')
    """
    return tuple(
        sorted(entry.name[:-5] for entry in files(__name__).iterdir() if entry.name.endswith(".toml"))
    )


def demo_car(name: str) -> Car:
    """Return a fresh demo car.

    Raises
    ------
    CarError
        If there is none of that name.

    Examples
    --------
    >>> demo_car("hatchback").name
    'Demo hatchback'
    """
    if name not in demo_names():
        raise CarError(f'there is no demo car "{name}"; there are {", ".join(demo_names())}.')
    with as_file(files(__name__) / f"{name}.toml") as path:
        return load_car(path)
