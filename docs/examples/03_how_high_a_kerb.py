"""How high a kerb can I take before a tyre leaves the road for long?

The kerb is a ramp under the left wheels at 110 km/h.
"""

from fourpatch.analysis.contact_patch_load import contact_patch_load
from fourpatch.car.demo import demo_car
from fourpatch.car.pack import pack
from fourpatch.events.kerb_strike import KerbStrike
from fourpatch.events.run import run_rig, stable_step, stacked

car = demo_car("coupe")
parameters = stacked([pack(car)])

print("kerb [mm]   longest flight FL, RL [ms]   body throw [mm]")
for height in (0.01, 0.02, 0.03, 0.04, 0.05):
    event = KerbStrike(speed=110.0 / 3.6, height=height)
    motion = event.motion(car, stable_step(parameters))
    history = run_rig(parameters, motion)
    found = contact_patch_load(parameters, history, motion, ["baseline"], since=0.0).isel(setup=0)
    flights = 1e3 * found.longest_flight.sel(corner=["FL", "RL"]).values
    print(
        f"{1e3 * height:9.0f}   {flights[0]:12.0f} {flights[1]:13.0f} {1e3 * float(found.body_throw):17.1f}"
    )
