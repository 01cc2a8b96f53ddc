"""`fourpatch advise`: what to change, and what it does."""

import click

from fourpatch.cli.asking import Questions
from fourpatch.cli.did_it_help import did_it_help


@click.group(cls=Questions)
def advise() -> None:
    """Say what a change does, and what to change."""


advise.add_command(did_it_help)
