"""What a run says on the command line: its values as tables, in words, for JSON and drawn."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

from fourpatch.cli.output import note
from fourpatch.document.content import dataset_content
from fourpatch.picture.blocks import Block, Heading

if TYPE_CHECKING:
    from collections.abc import Callable

    from fourpatch.face.driven_run import DrivenRun
    from fourpatch.face.rig_run import RigRun


def run_content(done: "RigRun | DrivenRun") -> dict[str, Any]:
    """Return the summary of a run for JSON."""
    from fourpatch.analysis.ride_spectrum import ride_numbers
    from fourpatch.document.content import of_settings
    from fourpatch.face.rig_run import RigRun

    if not isinstance(done, RigRun):
        content_of, _ = _of_drive(done)
        return content_of(*done.found)
    content = {
        "at_most": of_settings(type(done.event), done.at_most()),
        "phases": dataset_content(done.phases().dataset),
    }
    if done.bumpy():
        content |= {"bumps": dataset_content(done.bumps().dataset)}
    spectrum = done.spectrum()
    if spectrum is not None:
        content |= {"linear_model": dataset_content(ride_numbers(spectrum))}
    return content


def write_run(done: "RigRun | DrivenRun", named: str) -> None:
    """Write the summary of a run: on the rig of bumps where there were any, else phase by phase."""
    from fourpatch.answers.contact_patch_load import bumps_blocks
    from fourpatch.answers.phase_balance import phases_blocks
    from fourpatch.answers.ride_spectrum import linear_blocks
    from fourpatch.cli.screen import write_blocks
    from fourpatch.face.rig_run import RigRun

    if not isinstance(done, RigRun):
        _, write = _of_drive(done)
        write(*done.found, title=f"{named}: {done.name} (computed by the drive)")
        return
    title = f"{named}: {done.motion.name} (computed on the rig)"
    blocks: list[Block] = [Heading(title)]
    if not done.bumpy():
        blocks += phases_blocks(done.phases().dataset, at_most=done.at_most())
    else:
        bumps, spectrum = done.bumps().dataset, done.spectrum()
        blocks += bumps_blocks(bumps)
        blocks += linear_blocks(bumps, spectrum) if spectrum is not None else []
    write_blocks(blocks)


def draw_run(done: "RigRun | DrivenRun", path: Path) -> None:
    """Draw a run to a file, and say so."""
    from fourpatch.picture.sheet import save

    save(done.plot(), path)
    note(f"Drew {path}.")


def _of_drive(done: "DrivenRun") -> "tuple[Callable[..., dict[str, Any]], Callable[..., None]]":
    """Return what makes JSON and what writes the characteristic values of a kind of driven event."""
    from fourpatch.cli.text.braking_in_a_turn import turn_braked_content, write_turn_braked
    from fourpatch.cli.text.steady_circle import circle_content, write_circle
    from fourpatch.cli.text.step_steer import step_steer_content, write_step_steer
    from fourpatch.cli.text.straight_acceleration import acceleration_content, write_acceleration
    from fourpatch.cli.text.straight_braking import braking_content, write_braking

    match done.event.kind:
        case "step-steer":
            return step_steer_content, write_step_steer
        case "straight-braking":
            return braking_content, write_braking
        case "straight-acceleration":
            return acceleration_content, write_acceleration
        case "steady-circle":
            return circle_content, write_circle
        case "braking-in-a-turn":
            return turn_braked_content, write_turn_braked
