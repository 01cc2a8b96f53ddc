"""Is the balance the same in every corner of a lap?"""

import fourpatch as fp

lap = fp.car("hatchback").lap("long-corners", use="90 %")
phases = lap.phases()
print(phases.title)
print(phases.balance.to_series().unstack().round(1))
phases.plot().savefig("corners.svg")
