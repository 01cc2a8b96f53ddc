"""The one picture of a lesson: numbers over the scale of an adjuster, or what one step changes."""

from collections.abc import Sequence

from matplotlib.figure import Figure

from fourpatch.advice.lessons.study import Effect, Study
from fourpatch.advice.lessons.vocabulary import at_end
from fourpatch.picture.lesson_words import measure_words, step_text
from fourpatch.picture.palette import AXLES, BODY, DOWN, QUIET, UP
from fourpatch.picture.sheet import new_sheet, styled
from fourpatch.picture.shown import measure_of, pretty

_COMPUTED = {
    "rig": "on the rig, same motion for all",
    "drive": "by the drive, each driver at the same share of what he plans",
}
_DASHES = ("-", "--", ":", "-.")


def lesson_figure(study: Study) -> Figure:
    """Draw the picture of a lesson about something that can be turned."""
    plot, turned = study.lesson.plot, study.turned
    assert turned is not None  # a lesson without is not drawn
    effects = [study.effect(name) for name in plot.shows]
    about = f"{study.car.name}, set-up {study.setup.name}: {turned.adjuster.name}"
    source = f"{about}; {_COMPUTED[study.computed_by]}"
    with styled():
        high = 4.4 if plot.kind == "over the scale" else 2.0 + 0.42 * len(effects)
        figure = new_sheet(9.0, high, question=plot.says, source=source)
        if plot.kind == "over the scale":
            _over_the_scale(figure, study, effects)
        else:
            _step_by_step(figure, study, effects)
    return figure


def _over_the_scale(figure: Figure, study: Study, effects: Sequence[Effect]) -> None:
    turned = study.turned
    assert turned is not None
    axes = figure.subplots()
    measure = measure_of(effects[0].measure.unit)
    for place, effect in enumerate(effects):
        name = at_end(study.lesson.plot.shows[place], study.end)
        pen = AXLES.get(effect.measure.axle, BODY)
        axes.plot(
            study.positions,
            study.over[name] / measure.scale,
            color=pen.color,
            marker=pen.marker,
            markersize=4.0,
            linewidth=1.6,
            linestyle=_DASHES[place % len(_DASHES)],
            label=measure_words(effect.measure),
        )
    axes.axvline(turned.position, color=QUIET, linewidth=0.9)
    axes.annotate(
        "now",
        (turned.position, 1.0),
        xycoords=("data", "axes fraction"),
        xytext=(4, -12),
        textcoords="offset points",
        fontsize=8.5,
        color=QUIET,
    )
    axes.set_xlabel(f"{turned.adjuster.name} [{pretty(turned.adjuster.unit) or 'step'}]")
    axes.set_ylabel(f"[{pretty(measure.shown)}]")
    axes.margins(y=0.15)
    axes.legend(fontsize=8.5)


def _step_by_step(figure: Figure, study: Study, effects: Sequence[Effect]) -> None:
    axes = figure.subplots()
    unit = effects[0].measure.unit
    measure = measure_of(unit)
    axes.axvline(0.0, color=QUIET, linewidth=0.9)
    turned = study.turned
    assert turned is not None
    ahead, behind = (UP, DOWN) if turned.said > turned.position else (DOWN, UP)
    for pen, words, values in (
        (ahead, step_text(study), [one.said for one in effects]),
        (behind, step_text(study, back=True), [one.back for one in effects]),
    ):
        axes.plot(
            [value / measure.scale for value in values],
            range(len(effects)),
            linestyle="",
            marker=pen.marker,
            color=pen.color,
            markerfacecolor=pen.face,
            label=words,
        )
    axes.set_yticks(range(len(effects)), [measure_words(one.measure) for one in effects])
    axes.set_ylim(len(effects) - 0.5, -0.5)
    reach = max(abs(bound) for bound in axes.get_xlim())
    axes.set_xlim(-reach, reach)
    shown = "points" if unit == "1" else pretty(measure.shown)
    toward = " (left: towards oversteer, right: towards understeer)" if unit == "points" else ""
    axes.set_xlabel(f"change [{shown}]{toward}")
    axes.legend(fontsize=8.5, loc="lower center", bbox_to_anchor=(0.5, 1.0), ncols=2)
