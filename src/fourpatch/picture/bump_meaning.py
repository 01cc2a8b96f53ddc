"""What bumps did to tyres, body and dampers, in words."""

from typing import TYPE_CHECKING

from fourpatch.analysis.quantity import Corners

if TYPE_CHECKING:
    import xarray as xr

CORNERS = Corners._fields


def bump_meaning(bumps: "xr.Dataset") -> str:
    """Say what the bumps cost in grip, how long a tyre flies, how high the body is thrown."""
    front = 100.0 * float(bumps.grip_lost.sel(corner=["FL", "FR"]).mean())
    rear = 100.0 * float(bumps.grip_lost.sel(corner=["RL", "RR"]).mean())
    said = "load that comes and goes costs "
    said += f"the front tyres {front:.1f} % and the rear tyres {rear:.1f} % of their lateral grip; "
    flight = float(bumps.longest_flight.max())
    if flight > 0.0:
        corner = CORNERS[int(bumps.longest_flight.argmax("corner"))]
        said += f"{corner} is off the road for {1e3 * flight:.0f} ms at the longest; "
    else:
        said += "no tyre leaves the road; "
    stop = float(bumps.stop_contact.max())
    if stop > 0.0:
        corner = CORNERS[int(bumps.stop_contact.argmax("corner"))]
        said += f"{corner} is on its bump stop {100.0 * stop:.1f} % of the time; "
    return f"{said}the body's centre of gravity rises by up to {1e3 * float(bumps.body_throw):.0f} mm."


def speed_meaning(found: "xr.Dataset") -> str:
    """Say how much of the time the dampers are slow, and which way they are the faster."""
    split = 1e3 * float(found.attrs["split"])
    said = []
    for axle, corners in (("front", ["FL", "FR"]), ("rear", ["RL", "RR"])):
        one = found.sel(corner=corners).mean("corner")
        low = 100.0 * float(one.low_bump + one.low_rebound)
        bump, rebound = 1e3 * float(one.mean_bump_speed), 1e3 * float(one.mean_rebound_speed)
        said.append(
            f"the {axle} dampers are slower than {split:g} mm/s {low:.0f} % of the time, at {bump:.0f} mm/s "
            f"in bump and {rebound:.0f} mm/s in rebound on average"
        )
    return "; ".join(said) + "."
