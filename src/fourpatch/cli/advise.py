"""`fourpatch advise`: what to change, and what it does."""

import click

from fourpatch.cli.asking import Questions
from fourpatch.cli.cure import cure
from fourpatch.cli.did_it_help import did_it_help


@click.group(cls=Questions)
def advise() -> None:
    """Say what a change does, and what to change."""


for command in (did_it_help, cure):
    advise.add_command(command)
