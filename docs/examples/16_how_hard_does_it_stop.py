"""How hard does the car brake, and which wheel comes to rest first?"""

import fourpatch as fp

run = fp.car("hatchback").run(fp.StraightBraking(speed="120 km/h", pedal="60 %", duration="2 s"))
history = run.dataset.isel(setup=0)
mean = -float(history.longitudinal_acceleration.where(history.brake > 0).mean())
print(f"{mean:.2f} m/s^2 on the mean while the brake is pressed")
slowest = history.wheel_speed.min("time").to_series().round(1)
print(slowest)
