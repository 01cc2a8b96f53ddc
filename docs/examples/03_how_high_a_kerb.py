"""How high a kerb can I take before a tyre leaves the road for long?

The kerb is a ramp under the left wheels at 110 km/h.
"""

import fourpatch as fp

coupe = fp.car("coupe")
print("kerb [mm]   longest flight FL, RL [ms]   body throw [mm]")
for height in (10, 20, 30, 40, 50):
    found = coupe.run(fp.KerbStrike(speed="110 km/h", height=f"{height} mm")).bumps()
    front, rear = 1e3 * found.longest_flight.sel(corner=["FL", "RL"]).values
    print(f"{height:9}   {front:12.0f} {rear:13.0f} {1e3 * float(found.body_throw):17.1f}")
