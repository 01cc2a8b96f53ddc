"""Does the car swing on its springs, and which motion is damped least?

Draws the natural motions to motions.svg in the present folder.
"""

from pathlib import Path

from fourpatch.analysis.modes import car_modes
from fourpatch.car.demo import demo_car
from fourpatch.picture.modes import modes_figure
from fourpatch.picture.sheet import save

car = demo_car("single-seater")
found = car_modes(car, speed=200.0 / 3.6)
print("motion       undamped [Hz]   damping ratio, dampers at rest   at 250 mm/s")
for slow, fast in zip(found.low_speed, found.high_speed, strict=True):
    frequency = "none" if slow.undamped_frequency is None else f"{slow.undamped_frequency:.2f}"
    ratios = ["grows" if mode.damping_ratio is None else f"{mode.damping_ratio:.2f}" for mode in (slow, fast)]
    print(f"{slow.name:12} {frequency:>13} {ratios[0]:>32} {ratios[1]:>13}")
figure = modes_figure(
    found, question="Does it swing, and what is damped least?", source=f"{car.name}, 200 km/h; linear model"
)
save(figure, Path("motions.svg"))
