"""Changes as a driver types them: "front bar=+2" steps up, "rear wing=3" to 3, "toe=to -0.2" to -0.2."""

from collections.abc import Sequence

from fourpatch.car.adjusters import Adjuster, adjuster
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup, step
from fourpatch.errors import AdviceError


def read_changes(car: Car, setup: Setup, texts: Sequence[str]) -> Setup:
    """Return the set-up with changes made.

    Raises
    ------
    AdviceError, CarError
        If a change cannot be read, is for an adjuster the car has not, or leaves its range.
    """
    if not texts:
        raise AdviceError('no change is named. Name one, such as --change "front bar=+2".')
    for text in texts:
        setup = _changed(car, setup, text)
    return setup


def _changed(car: Car, setup: Setup, text: str) -> Setup:
    name, equals, amount = (part.strip() for part in text.partition("="))
    if not equals or not amount:
        raise AdviceError(
            f'change "{text}": it must say an adjuster and a number, such as "front bar=+2" for two steps up '
            'or "front bar=3" for position 3.'
        )
    one = adjuster(car, name)
    absolute = amount.startswith("to ")
    try:
        number = float(amount.removeprefix("to ").replace("−", "-"))
    except ValueError:
        raise AdviceError(
            f'change "{text}": "{amount}" is no number. Write steps with a sign, +2 or -1, or a position, '
            "3 or to -0.2."
        ) from None
    if absolute or amount[0] not in "+-−":
        if not one.allows(number):
            raise AdviceError(f'change "{text}": {number:g} {one.refusal(number)}')
        return setup.model_copy(update={"values": {**setup.values, one.name: one.nearest(number)}})
    return _stepped(setup, one, number, text)


def _stepped(setup: Setup, one: Adjuster, number: float, text: str) -> Setup:
    if number != round(number):
        raise AdviceError(
            f'change "{text}": {number:g} is no whole number of steps; a step of {one.name} is {one.step:g} '
            f"{one.unit}. Write whole steps, or the position itself."
        )
    following = step(setup, one, round(number))
    if following is None:
        at = setup.position(one)
        raise AdviceError(
            f'change "{text}": {one.name} stands at {at:g} and goes from {one.lowest:g} to {one.highest:g} '
            f"{one.unit} in steps of {one.step:g}; that many steps are not left. Take fewer."
        )
    return following
