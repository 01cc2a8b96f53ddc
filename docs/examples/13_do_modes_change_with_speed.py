"""Does downforce change how the car swings?"""

import fourpatch as fp

car = fp.car("single-seater")
for speed in ("0 km/h", "100 km/h", "200 km/h"):
    modes = {mode.name: mode for mode in car.modes(speed=speed).low_speed}
    heave = modes["heave"]
    print(f"{speed:>9}: heave at {heave.undamped_frequency:.2f} Hz, damping ratio {heave.damping_ratio:.2f}")
