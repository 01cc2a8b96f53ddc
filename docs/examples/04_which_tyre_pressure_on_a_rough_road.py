"""Which tyre pressure keeps most grip on a rough road?

A softer tyre filters the road, but leaves the pressure at which its rubber grips best. Both are in the
answer: the grip it has at its mean load, and what the bumps take of it.
"""

from fourpatch.analysis.contact_patch_load import contact_patch_load
from fourpatch.analysis.standard_events import standard_road
from fourpatch.car.adjusters import adjuster
from fourpatch.car.demo import demo_car
from fourpatch.car.pack import pack
from fourpatch.car.setup import apply_setup, baseline_setup
from fourpatch.events.run import run_rig, stable_step, stacked
from fourpatch.physics.grip import peak_lateral

car = demo_car("hatchback")
pressures = adjuster(car, "front tyre pressure").positions()[::2]
setup = baseline_setup(car)
setups = [setup.model_copy(update={"values": {**setup.values, "front tyre pressure": p}}) for p in pressures]
parameters = stacked([pack(apply_setup(car, one)) for one in setups])
motion = standard_road(car).motion(car, stable_step(parameters))
found = contact_patch_load(
    parameters, run_rig(parameters, motion), motion, list(map(str, pressures)), since=motion.phases[1].start
)

steady = found.mean_load.values.copy()
peak_lateral(parameters, found.mean_load.values, steady)
print("front pressure [bar]   lost to bumps [%]   left of lateral grip, mean of the front tyres [N]")
for row, pressure in enumerate(pressures):
    lost = found.grip_lost.values[row, :2]
    left = (steady[row, :2] * (1.0 - lost)).mean()
    print(f"{pressure:20.2f} {100.0 * lost.mean():19.2f} {left:25.0f}")
