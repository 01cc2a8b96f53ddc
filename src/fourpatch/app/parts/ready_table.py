"""The ready-made answer: what one turn of a demo car's setting does, before anything is computed here."""

from nicegui import ui

from fourpatch.app.answers.ready import ReadyAnswer
from fourpatch.app.parts.phase_table import PhaseTable, bench_columns, bench_groups
from fourpatch.app.words import bench_cells, turned_text


def draw_ready(ready: ReadyAnswer) -> None:
    """Draw whose it is, what moved most, and the table."""
    said = f"Computed beforehand, of the invented {ready.car}, its {ready.turned}."
    ui.label(f"{said} Most moved: {turned_text(ready.answer)}.").classes("fp-small")
    PhaseTable(
        columns=bench_columns(ready.notes),
        groups=bench_groups(ready.driven),
        caption=f"Computed beforehand: which axle of the {ready.car} runs out first, its {ready.turned}",
        start=bench_cells(ready.answer, ready.driven),
    )
