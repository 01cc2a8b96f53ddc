"""What does one click of each damper do through a medium corner?

All set-ups meet the same motion, so that the difference is the click alone. Over a whole phase a damper's
effect almost averages out; what it does at its strongest instant is the swing.
"""

from fourpatch.advice.sensitivity import sensitivity
from fourpatch.analysis.event_measures import CORNER_PHASES
from fourpatch.analysis.standard_events import standard_corners
from fourpatch.car.demo import demo_car
from fourpatch.car.setup import baseline_setup

car = demo_car("gt")
corner = {"medium corner": standard_corners(car)["medium corner"]}
table = sensitivity(car, baseline_setup(car), events=corner)

print("largest change of balance at any instant for one step up [points]; positive: towards understeer")
print(f"{'':28}" + "".join(f"{phase:>10}" for phase in CORNER_PHASES))
for place, adjuster in enumerate(table.adjusters):
    if adjuster.system == "dampers":
        swings = [
            table.effects[place, 1, table.index(f"medium corner.{phase}.balance_swing")]
            for phase in CORNER_PHASES
        ]
        print(f"{adjuster.name:28}" + "".join(f"{swing:>+10.2f}" for swing in swings))
