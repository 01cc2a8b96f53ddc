"""Long work on a terminal: a bar that says how far it is, and Ctrl-C that keeps what is known."""

import signal
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, NamedTuple, NoReturn

import click

from fourpatch.cli.output import note

if TYPE_CHECKING:
    from fourpatch.long_work import Cancelled, Progress

INTERRUPTED = 130
"""Exit code of a command that was stopped, with part of an answer or none: 128 and the signal's number, as
shells count."""


class LongWork(NamedTuple):
    """What a long computation is given."""

    progress: "Progress"
    cancelled: "Cancelled"


@contextmanager
def long_work() -> Iterator[LongWork]:
    """Show a bar on standard error if that is a terminal; let the first Ctrl-C ask the work to stop.

    Notes
    -----
    The second Ctrl-C interrupts wherever it is.
    """
    with _first_interrupt() as cancelled, _bar() as progress:
        yield LongWork(progress, cancelled)


def leave_stopped() -> NoReturn:
    """Leave a command that has written the part of an answer it has."""
    click.get_current_context().exit(INTERRUPTED)


@contextmanager
def _first_interrupt() -> Iterator["Cancelled"]:
    asked = threading.Event()
    if threading.current_thread() is not threading.main_thread():
        yield asked.is_set  # signals reach the main thread alone
        return

    def ask(number: int, frame: Any) -> None:
        asked.set()
        signal.signal(signal.SIGINT, before)
        note("Stopping at the next place where that leaves something; Ctrl-C once more leaves at once.")

    before = signal.signal(signal.SIGINT, ask)
    try:
        yield asked.is_set
    finally:
        signal.signal(signal.SIGINT, before)


@contextmanager
def _bar() -> Iterator["Progress"]:
    from fourpatch.long_work import unwatched

    if not sys.stderr.isatty():
        yield unwatched
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (BarColumn(), "[progress.percentage]{task.percentage:>3.0f} %", TimeElapsedColumn())
    text = TextColumn("{task.description}", markup=False)
    with Progress(*columns, text, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=1.0)

        def show(share: float, doing: str) -> None:
            bar.update(task, completed=share, description=doing)

        yield show
