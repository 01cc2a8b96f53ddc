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
for mode in found.high_speed:
    ratio = "diverges" if mode.damping_ratio is None else f"damping ratio {mode.damping_ratio:.2f}"
    print(f"{mode.name:12} {mode.damped_frequency:6.2f} Hz, {ratio}")
figure = modes_figure(
    found, question="Does it swing, and what is damped least?", source=f"{car.name}, 200 km/h; linear model"
)
save(figure, Path("motions.svg"))
