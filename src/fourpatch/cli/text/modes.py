"""The natural motions of a car, in a table and in words."""

from fourpatch.analysis.modes import CarModes, Mode
from fourpatch.analysis.quantity import RATIO
from fourpatch.cli.output import Head, write_table, write_text
from fourpatch.picture.modes import PURE


def write_modes(found: CarModes, *, title: str) -> None:
    """Write the seven modes, damping at low and at high damper speed side by side."""
    write_table(
        [
            Head(text="mode", right=False),
            Head(text="undamped", unit="Hz"),
            Head(text="damped", unit="Hz"),
            Head(text="damping\nratio", unit="1"),
            Head(text="dies\naway at", unit="1/s"),
            Head(text="damping ratio,\nfast dampers", unit="1"),
            Head(text="purity", unit="1"),
        ],
        [_row(slow, fast) for slow, fast in zip(found.low_speed, found.high_speed, strict=True)],
        title=title,
    )
    write_text(
        "A motion dies away as e^(-t x its number). Purity is how much of it is the motion it is named "
        "after: 1 is all of it. Fast dampers: read at 250 mm/s instead of at rest."
    )
    write_text(f"What this means: {modes_meaning(found)}")


def _row(slow: Mode, fast: Mode) -> tuple[str, ...]:
    return (
        slow.name,
        _hertz(slow.undamped_frequency),
        _hertz(slow.damped_frequency),
        RATIO.text(slow.damping_ratio),
        f"{slow.decay_rate:.2f}",
        RATIO.text(fast.damping_ratio),
        f"{slow.participation:.2f}",
    )


def _hertz(frequency: float | None) -> str:
    return "none" if frequency is None else f"{frequency:.2f}"


def modes_meaning(found: CarModes) -> str:
    """Name what is damped least, slow and fast, and what is mixed."""
    said = []
    for modes, when in ((found.low_speed, "in slow damper movement"), (found.high_speed, "in fast movement")):
        known = {mode.name: mode.damping_ratio for mode in modes if mode.damping_ratio is not None}
        if known:
            least = min(known, key=lambda name: known[name])
            said.append(f"{when} {least} is damped least, at {100.0 * known[least]:.0f} % of critical")
    mixed = [mode.name for mode in found.low_speed if mode.participation < PURE]
    if mixed:
        said.append(
            f"mixed with others (purity below {PURE:g}), so that the name is loose: {', '.join(mixed)}"
        )
    growing = [mode.name for mode in found.low_speed if mode.decay_rate < 0.0]
    if growing:
        said.append(f"growing instead of dying away: {', '.join(growing)}")
    return "; ".join(said) + "."
