"""A plan for the next session, on the command line."""

from fourpatch.advice.trial_plan import SessionPlan
from fourpatch.cli.output import write_heading, write_text
from fourpatch.picture.trial_plan_words import plan_sections


def write_plan(found: SessionPlan, *, title: str) -> None:
    """Write what to do, in order."""
    write_text(title)
    for heading, lines in plan_sections(found):
        write_heading(heading)
        for line in lines:
            write_text(line)
