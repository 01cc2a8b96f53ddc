"""What is a step of rear wing worth on a lap?"""

import fourpatch as fp

gt, track = fp.car("gt"), fp.track("chicanes")
now = gt.lap(track)
more = gt.turn(rear_wing=+4).lap(track)
print(f"rear wing four steps up: {more.lap_time - now.lap_time:+.3f} s, quasi-steady")
more.plot().savefig("lap.svg")
