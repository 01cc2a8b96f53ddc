"""A car through one event: what is found and said of it, by the kind of event."""

from collections.abc import Callable, Mapping
from typing import Any

from fourpatch.analysis.ride_spectrum import ride_numbers
from fourpatch.analysis.step_steer import StepSteerValues
from fourpatch.analysis.straight_acceleration import AccelerationValues
from fourpatch.analysis.straight_braking import BrakingValues
from fourpatch.answers.answer import Answer, Said
from fourpatch.answers.braking_in_a_turn import turn_braked_said
from fourpatch.answers.contact_patch_load import bumps_blocks
from fourpatch.answers.phase_balance import phases_blocks
from fourpatch.answers.ride_spectrum import linear_blocks
from fourpatch.answers.steady_circle import circle_said
from fourpatch.answers.step_steer import step_steer_said
from fourpatch.answers.straight_acceleration import acceleration_said
from fourpatch.answers.straight_braking import braking_said
from fourpatch.document.content import of_settings, settings_content
from fourpatch.face.driven_run import DrivenRun
from fourpatch.face.rig_run import RigRun
from fourpatch.face.standing_car import StandingCar
from fourpatch.picture.blocks import Picture

_DRIVEN: Mapping[str, Callable[..., Said]] = {
    "step-steer": step_steer_said,
    "straight-braking": braking_said,
    "straight-acceleration": acceleration_said,
    "steady-circle": circle_said,
    "braking-in-a-turn": turn_braked_said,
}

BY_DRIVE: Mapping[str, type[Any]] = {
    "step-steer": StepSteerValues,
    "straight-braking": BrakingValues,
    "straight-acceleration": AccelerationValues,
}
"""Findings whose own keys are those of the answer, by kind of event."""


def run_answer(about: StandingCar, done: RigRun | DrivenRun) -> Answer:
    """Return what is found and said of a run."""
    by, name = ("on the rig", done.motion.name) if isinstance(done, RigRun) else ("by the drive", done.name)
    said = _of_rig(done) if isinstance(done, RigRun) else _DRIVEN[done.event.kind](*done.found)
    event = {"kind": done.event.kind, **settings_content(done.event)}
    return Answer(
        title=f"{about.named}: {name} (computed {by})",
        about={**about.content(), "mode": done.mode, "event": event},
        found=said.found,
        blocks=[*said.blocks, Picture(draw=done.plot, says=f"What happens in it? {name.capitalize()}")],
    )


def _of_rig(done: RigRun) -> Said:
    """Return the phases of a run, and what bumps did where there were any."""
    at_most, phases = done.at_most(), done.phases().dataset
    found: dict[str, Any] = {"at_most": of_settings(type(done.event), at_most), "phases": phases}
    if not done.bumpy():
        return Said(found, phases_blocks(phases, at_most=at_most))
    bumps, spectrum = done.bumps().dataset, done.spectrum()
    found["bumps"], blocks = bumps, bumps_blocks(bumps)
    if spectrum is not None:
        found["linear_model"] = ride_numbers(spectrum)
        blocks += linear_blocks(bumps, spectrum)
    return Said(found, blocks)
