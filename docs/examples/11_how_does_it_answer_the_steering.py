"""How quickly does the car answer a step of steer, all degrees of freedom free?"""

import fourpatch as fp

run = fp.car("coupe").run(fp.StepSteer(speed="80 km/h", lateral_acceleration="4 m/s**2"))
yaw = run.dataset.yaw_rate.isel(setup=0)
peak = yaw.idxmax("time")
print(f"The yaw rate is largest {float(peak):.2f} s into the run: {float(yaw.max()):.3f} rad/s")
run.plot().savefig("step.svg")
