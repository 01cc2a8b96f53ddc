"""Every question that is asked by its name, in the order in which they are listed."""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fourpatch.answers.question import Question

QUESTIONS = {
    "analyse statics": "fourpatch.answers.statics:AtRest",
    "analyse modes": "fourpatch.answers.modes:Modes",
    "analyse frequency-response": "fourpatch.answers.frequency_response:FrequencyResponse",
    "analyse speed-sweep": "fourpatch.answers.speed_sweep:SpeedSweep",
    "analyse phase-balance": "fourpatch.answers.phase_balance:PhaseBalance",
    "analyse contact-patch-load": "fourpatch.answers.contact_patch_load:ContactPatchLoad",
    "analyse damper-map": "fourpatch.answers.damper_map:DamperMap",
    "analyse track": "fourpatch.answers.track:TrackItself",
    "analyse lap": "fourpatch.answers.lap:QuasiSteadyLap",
    "analyse stint": "fourpatch.answers.stint:StintAsked",
    "analyse corners": "fourpatch.answers.track_corners:TrackCorners",
    "analyse bend-speed": "fourpatch.answers.bend_speed:BendSpeed",
    "advise next-look": "fourpatch.answers.next_look:NextLook",
    "analyse evidence": "fourpatch.answers.evidence:WhatWasLearnt",
    "analyse damper-speed": "fourpatch.answers.damper_speed:DamperSpeeds",
    "run lap": "fourpatch.answers.lap_drive:LapDriven",
    "run laps": "fourpatch.answers.lap_scatter:LapsDriven",
    "advise sensitivity": "fourpatch.answers.sensitivity:Sensitivity",
    "advise rules": "fourpatch.answers.rules:Rules",
    "advise lesson": "fourpatch.answers.lesson:LessonAsked",
    "advise base": "fourpatch.answers.base:SoundBase",
    "advise cure": "fourpatch.answers.cure:WhatCures",
    "advise trade-off": "fourpatch.answers.trade_off:TradeOffs",
    "advise test-plan": "fourpatch.answers.trial_plan:TrialPlan",
}
"""Where each question stands, by its command; loaded when it is asked."""


def question(command: str) -> "type[Question]":
    """Return a question by its command."""
    module, _, name = QUESTIONS[command].partition(":")
    found: type[Question] = getattr(import_module(module), name)
    return found
