"""What a run says on the command line: its values as tables, in words, for JSON and drawn."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

from fourpatch.cli.output import dataset_content, note

if TYPE_CHECKING:
    from collections.abc import Callable

    from fourpatch.face.driven_run import DrivenRun
    from fourpatch.face.rig_run import RigRun


def run_content(done: "RigRun | DrivenRun") -> dict[str, Any]:
    """Return the summary of a run for JSON."""
    from fourpatch.analysis.ride_spectrum import ride_numbers
    from fourpatch.cli.events import settings_content
    from fourpatch.face.rig_run import RigRun

    if not isinstance(done, RigRun):
        content_of, _ = _of_drive(done)
        return content_of(*done.found)
    content = {
        "at_most": settings_content(type(done.event), done.at_most()),
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
    from fourpatch.cli.text.contact_patch_load import write_bumps
    from fourpatch.cli.text.phase_balance import write_phases
    from fourpatch.cli.text.ride_spectrum import write_linear
    from fourpatch.face.rig_run import RigRun

    if not isinstance(done, RigRun):
        _, write = _of_drive(done)
        write(*done.found, title=f"{named}: {done.name} (computed by the drive)")
        return
    title = f"{named}: {done.motion.name} (computed on the rig)"
    if not done.bumpy():
        write_phases(done.phases().dataset, title=title, at_most=done.at_most())
        return
    bumps, spectrum = done.bumps().dataset, done.spectrum()
    write_bumps(bumps, title=title)
    if spectrum is not None:
        write_linear(bumps, spectrum)


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
