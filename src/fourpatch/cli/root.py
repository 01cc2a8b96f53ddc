"""The command `fourpatch`: its verbs, and the one place where errors become text and exit codes."""

import contextlib
import errno
import io
import os
import sys
import tempfile
import traceback
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import click

from fourpatch import __version__
from fourpatch.cli.advise import advise
from fourpatch.cli.analyse import analyse
from fourpatch.cli.app import app
from fourpatch.cli.check import check
from fourpatch.cli.demo import demo
from fourpatch.cli.estimate import estimate
from fourpatch.cli.evidence import evidence
from fourpatch.cli.export import export
from fourpatch.cli.film import film
from fourpatch.cli.listing import listing
from fourpatch.cli.log import log
from fourpatch.cli.long_work import INTERRUPTED
from fourpatch.cli.notebook import notebook
from fourpatch.cli.output import note
from fourpatch.cli.read import read
from fourpatch.cli.run import run
from fourpatch.cli.sheet import sheet
from fourpatch.errors import FourpatchError, Stopped

OK, INTERNAL, BAD_INPUT = 0, 1, 2


class Root(click.Group):
    """A group that shows what can go wrong as text, never as a traceback."""

    def main(self, args: Sequence[str] | None = None, *rest: Any, **extra: Any) -> Any:
        """Run a command line and leave with its exit code."""
        extra["standalone_mode"] = False
        # With a stream closed (`>&-`) there is none: what is written goes nowhere, what is done is done.
        sys.stdout = sys.stdout or open(os.devnull, "w", encoding="utf-8")
        sys.stderr = sys.stderr or open(os.devnull, "w", encoding="utf-8")
        for stream in (sys.stdout, sys.stderr):
            if isinstance(stream, io.TextIOWrapper):
                stream.reconfigure(errors="replace")  # a question mark for a sign the console has not
        try:
            code = super().main(args, *rest, **extra)
            sys.stdout.flush()  # here, where it can be said that there is no room
        except FourpatchError as error:
            note(str(error))
            code = INTERRUPTED if isinstance(error, Stopped) else BAD_INPUT
        except click.ClickException as error:
            error.show()
            code = BAD_INPUT
        except (click.Abort, KeyboardInterrupt):
            click.echo("Stopped.", err=True)
            code = INTERRUPTED
        except SystemExit:
            code = OK  # click leaves so, and only so, when the reader, `head` for example, has seen enough
        except OSError as error:
            code = _unwritable_output(error) if error.errno in _NO_ROOM else _internal(error)
        except Exception as error:
            code = _internal(error)
        sys.exit(code if isinstance(code, int) else OK)

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the verbs in the order in which a newcomer needs them."""
        return list(self.commands)


_NO_ROOM = (
    errno.ENOSPC,
    errno.EIO,
    errno.EBADF,
    errno.EDQUOT if hasattr(errno, "EDQUOT") else errno.ENOSPC,
)
"""Errors of a device that can take no more."""


def _unwritable_output(error: OSError) -> int:
    """Say that what takes the output cannot, and leave what is not yet written."""
    with contextlib.suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())  # else the interpreter tries once more when it ends
    click.echo(
        f"The output cannot be written: {error.strerror}. Make room, or send it to another place.", err=True
    )
    return BAD_INPUT


def _internal(error: BaseException) -> int:
    """Say that the fault is ours, in a line, and put what we need to mend it in a file."""
    where = ""
    with contextlib.suppress(OSError):
        report = Path(tempfile.gettempdir()) / "fourpatch-fault.txt"
        report.write_text(f"fourpatch {__version__}\n{' '.join(sys.argv)}\n{_trace(error)}", encoding="utf-8")
        where = f" Please report it with the file {report}."
    note(f"This is a fault of Fourpatch, not of your input: {type(error).__name__}: {error}.{where}")
    return INTERNAL


def _trace(error: BaseException) -> str:
    return "".join(traceback.format_exception(error))


@click.group(
    cls=Root,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="CAR is the name of a demo car (fourpatch list cars) or a car file, TRACK that of a demo track "
    "(fourpatch list tracks) or a track file. Exit codes: 0 done, 2 something in the input is wrong and the "
    "text says what, 130 stopped by Ctrl-C (what is known by then is written and says so), 1 a fault of "
    "Fourpatch.",
)
@click.version_option(__version__, prog_name="fourpatch")
def root() -> None:
    """Compute what each set-up setting does to the load on a car's four contact patches.

    Begin with: fourpatch demo
    """


def _verbs() -> Iterator[click.Command]:
    yield from (
        demo,
        app,
        listing,
        check,
        estimate,
        export,
        read,
        analyse,
        run,
        advise,
        evidence,
        sheet,
        film,
        log,
        notebook,
    )


for verb in _verbs():
    root.add_command(verb)
