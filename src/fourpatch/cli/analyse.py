"""`fourpatch analyse`: what a car is at rest, how it swings, what a run of it tells; what a track is."""

import click

from fourpatch.cli.asking import Questions


@click.group(cls=Questions)
def analyse() -> None:
    """Analyse a car: at rest, at speed, over bumps, through the phases of a corner; or a track."""
