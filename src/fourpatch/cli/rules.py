"""`fourpatch advise rules`: the trade's rules of thumb, checked on a car."""

import click

from fourpatch.cli.long_work import long_work
from fourpatch.cli.output import CAUTION, note, write_json, write_text
from fourpatch.cli.subject import car_argument, figure_option, json_option, setup_option, subject


@click.command()
@car_argument
@setup_option
@click.option("--rule", "name", metavar="NAME", help="One rule, with all its numbers. All rules if left out.")
@json_option
@figure_option
def rules(car: str, setup_file: str | None, name: str | None, as_json: bool, figure: str | None) -> None:
    """Check the trade's rules of thumb on CAR: whether each agrees, by how much, where and why.

    Each rule is a small computation: the change it speaks of is made to the car as it stands, as said and the
    other way, and what it is said to do is measured in slow, medium and fast corners, on roads or over kerbs.
    All the rules are common practice, no published source.
    """
    from fourpatch.advice.rules.catalogue import RULES, rule_named
    from fourpatch.advice.rules.check import check_rules
    from fourpatch.cli.advise import write_origins
    from fourpatch.cli.engine import announce_compilation
    from fourpatch.cli.text.rules import rules_content, write_rule, write_rules

    asked = RULES if name is None else (rule_named(name),)
    about = subject(car, setup_file)
    announce_compilation()
    with long_work() as work:
        checked = check_rules(
            about.car, about.setup, rules=asked, progress=work.progress, cancelled=work.cancelled
        )
    if as_json:
        write_json("advise rules", {**about.content(), "mode": "rig", "rules": rules_content(checked)})
    else:
        if name is None:
            write_rules(checked, about.named)
        else:
            write_rule(checked[0], about.named)
        write_origins(about)
        write_text(CAUTION)
    if figure:
        from pathlib import Path

        from fourpatch.picture.rules import rules_figure
        from fourpatch.picture.sheet import save

        save(rules_figure(checked, named=about.named), Path(figure))
        note(f"Drew {figure}.")
