"""Which axle runs out of grip first in each phase of a corner, and what does a front spring change?"""

import fourpatch as fp

hatchback = fp.car("hatchback")
corner = fp.Corner(speed="80 km/h", radius="60 m")
before = hatchback.run(corner).phases().balance
after = hatchback.turn(front_spring=+1).run(corner).phases().balance
print("points of balance, positive: towards understeer")
print((after - before).to_series().round(2))
