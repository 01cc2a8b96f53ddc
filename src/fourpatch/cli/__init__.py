"""The command line: the words of the parts above it, no formula.

Modules here import click and each other at their top, all else inside the functions that need it, so
that ``fourpatch --help`` answers at once.
"""


def main() -> None:
    """Run the command ``fourpatch``."""
    from fourpatch.cli.root import root

    root()
