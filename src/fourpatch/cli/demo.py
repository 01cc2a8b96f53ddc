"""`fourpatch demo`: the main job on a demo car, from rest to what each step does."""

from functools import partial
from pathlib import Path

import click

from fourpatch.cli.long_work import long_work
from fourpatch.cli.output import CAUTION, write_heading, write_origins, write_text
from fourpatch.cli.subject import subject
from fourpatch.errors import FileError


@click.command(short_help="The main job on a demo car: begin here.")
@click.option(
    "--car", default="hatchback", metavar="CAR", help="Another demo car or a car file; hatchback if left out."
)
@click.option(
    "--output",
    default="fourpatch-demo",
    metavar="FOLDER",
    help="Where the pictures go; made if it is not there.",
)
def demo(car: str, output: str) -> None:
    """Show the main job on a demo car: what it is at rest, and what one step of every adjuster does."""
    from fourpatch.advice.sensitivity import sensitivity
    from fourpatch.analysis.modes import car_modes
    from fourpatch.analysis.statics import statics
    from fourpatch.answers.sensitivity import bumps_blocks, bumps_of, corner_blocks, corners_of
    from fourpatch.answers.statics import statics_blocks
    from fourpatch.cli.asking import draw_answer
    from fourpatch.cli.engine import announce_compilation
    from fourpatch.cli.screen import write_blocks
    from fourpatch.events.bumps import BumpEvent
    from fourpatch.events.corner import Corner
    from fourpatch.face.rig_run import run_on_rig
    from fourpatch.picture.effects import effect_figure
    from fourpatch.picture.sensitivity_words import BALANCE

    about = subject(car, None)
    announce_compilation()
    folder = made_folder(output)
    write_heading(f"1. {about.named}, at rest")
    write_blocks(statics_blocks(statics(about.standing), car_modes(about.standing), brief=True))
    write_heading(
        "2. What one step of each adjuster does (computed on the rig, the same motion for every step)"
    )
    write_text(BALANCE)
    with long_work() as work:
        table = sensitivity(about.car, about.setup, progress=work.progress, cancelled=work.cancelled)
    corner = corners_of(table)[1]
    write_blocks(list(corner_blocks(table, corner)))
    for name in bumps_of(table):
        write_blocks(list(bumps_blocks(table, name)))
    write_heading(f"3. Pictures, in {folder}")
    draw_answer(partial(effect_figure, table, corner), str(folder / "one-step.svg"))
    for name, file in ((corner, "corner.svg"), (bumps_of(table)[-1], "kerb.svg")):
        event = table.events[name]
        assert isinstance(event, Corner | BumpEvent)
        done = run_on_rig(about.standing, event, setup=about.setup.name)
        draw_answer(done.plot, str(folder / file))
    write_text(
        "one-step.svg: find the complaint's phase, then the longest line in it: that adjuster moves it most."
    )
    write_text("corner.svg: where the load is in each phase, the car seen from above.")
    write_text("kerb.svg: how far the wheel follows the kerb, and how long the tyre is off the road.")
    write_heading("4. Next")
    write_text("Other cars: fourpatch list cars. Your own: fourpatch estimate car --example > brief.toml")
    write_origins(about.car)
    write_text(CAUTION)


def made_folder(name: str) -> Path:
    """Return a folder, made if it is not there.

    Raises
    ------
    FileError
        If it cannot be made.
    """
    folder = Path(name)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FileError(
            f"{folder}: cannot be made ({error.strerror}); choose another folder by --output."
        ) from None
    return folder
