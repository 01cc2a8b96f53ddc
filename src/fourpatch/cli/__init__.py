"""The command line: the words of the parts above it, no formula.

The modules of this folder import click and each other at their top, all else inside the functions that
need it, so that ``fourpatch --help`` answers at once. Those of ``text`` are imported when a command runs.
"""


def main() -> None:
    """Run the command ``fourpatch``."""
    from fourpatch.cli.root import root

    root()
