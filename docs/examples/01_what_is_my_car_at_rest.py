"""What is my car at rest: how stiff, how fast on its springs, how well damped?

Everything later rests on these numbers; compare them with what you know of the car.
"""

from fourpatch.analysis.quantity import table
from fourpatch.analysis.statics import statics
from fourpatch.car.demo import demo_car

found = statics(demo_car("hatchback"))
print(table(found.ride))
print(table(found.low_speed_damping))
share = found.cornering.front_share
print(f"Set in a corner, the front takes {100.0 * share:.1f} % of the lateral load transfer.")
