"""What is my car at rest: how stiff, how fast on its springs, how well damped?

Everything later rests on these numbers; compare them with what you know of the car.
"""

import fourpatch as fp

found = fp.car("hatchback").statics()
print(found.ride)
print(found.low_speed_damping)
share = found.cornering.front_share
print(f"Set in a corner, the front takes {100.0 * share:.1f} % of the lateral load transfer.")
