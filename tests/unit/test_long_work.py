"""Long work: shares of parts are shares of the whole, and a stop is a stop."""

import os
import signal
from collections.abc import Iterator

import pytest

from fourpatch.cli.long_work import long_work
from fourpatch.errors import Stopped
from fourpatch.long_work import go_on, never, stretch


def test_a_part_lies_between_two_shares_of_the_whole() -> None:
    told: list[tuple[float, str]] = []
    part = stretch(lambda share, text: told.append((share, text)), 0.5, 0.75, of="laps")
    inner = stretch(part, 0.0, 0.5)
    part(0.0, "first")
    inner(1.0, "second")
    part(1.0, "third")
    assert told == [(0.5, "laps: first"), (0.625, "laps: second"), (0.75, "laps: third")]


def test_a_stop_names_what_is_given_up() -> None:
    go_on(never, "nothing")
    with pytest.raises(Stopped, match="no lap was driven"):
        go_on(lambda: True, "no lap was driven")


@pytest.fixture
def usual_handler() -> Iterator[object]:
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield signal.default_int_handler
    signal.signal(signal.SIGINT, before)


def interrupted_twice() -> None:
    with long_work() as work:
        assert not work.cancelled()
        os.kill(os.getpid(), signal.SIGINT)
        assert work.cancelled()
        os.kill(os.getpid(), signal.SIGINT)


def test_the_first_interrupt_asks_and_the_second_leaves(usual_handler: object) -> None:
    with pytest.raises(KeyboardInterrupt):
        interrupted_twice()
    assert signal.getsignal(signal.SIGINT) is usual_handler


def test_interrupts_are_as_before_once_it_is_done(usual_handler: object) -> None:
    with long_work():  # its own meanwhile
        assert signal.getsignal(signal.SIGINT) is not usual_handler
    assert signal.getsignal(signal.SIGINT) is usual_handler
