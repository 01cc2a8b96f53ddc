"""What cures a car that pushes at mid-corner, and what can dampers do about it?

Adjusters are ranked by what one step does to the balance there; the first set of changes is run as changed.
"""

from fourpatch.advice.because import step_words
from fourpatch.advice.complaint_text import read_complaint
from fourpatch.advice.cure import cure
from fourpatch.advice.powerless import powerless
from fourpatch.car.demo import demo_car
from fourpatch.car.setup import baseline_setup

car = demo_car("gt")
setup = baseline_setup(car)
found = cure(car, setup, read_complaint("pushes a bit at mid-corner in slow corners").complaints)

print(
    f"now {found.present(found.targets[0]):+.1f} points of understeer; {found.wanted[0]:.1f} less is wanted"
)
for lever in found.levers[:5]:
    one = found.table.adjusters[lever.adjuster]
    print(f"{one.name:28}{'up' if lever.direction > 0 else 'down':6}{lever.per_step[0]:.2f} points per step")
dampers = next(one for one in powerless(found, 0) if one.system == "dampers")
print(f"dampers, at their stops       {dampers.reach:.2f} points at most")
first = found.sets[0]
changes = "; ".join(step_words(car.adjusters[place], setup, steps) for place, steps in first.changes)
print(f"{changes}: {first.confirmed[0]:+.1f} points")
