"""How much of the time do dampers move fast on a rough road?"""

import fourpatch as fp

run = fp.car("hatchback").run(fp.RoughRoad(speed="120 km/h", duration="4 s"))
found = run.damper_speeds(split=0.05)
fast = found.high_bump + found.high_rebound
for corner, share in fast.to_series().items():
    print(f"{corner}: {100.0 * share:.0f} % of the time above 50 mm/s")
found.plot().savefig("dampers.svg")
