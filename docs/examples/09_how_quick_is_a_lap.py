"""How quick could two of the demo cars be round a track, and where is it slowest?"""

import fourpatch as fp

track = fp.track("chicanes")
for name in ("hatchback", "gt"):
    lap = fp.car(name).lap(track, use="97 %")
    slowest = min(lap.corners, key=lambda corner: corner.slowest_speed)
    speed = 3.6 * slowest.slowest_speed
    print(f"{name:14} {lap.lap_time:6.2f} s, slowest in turn {slowest.corner}: {speed:.0f} km/h")
