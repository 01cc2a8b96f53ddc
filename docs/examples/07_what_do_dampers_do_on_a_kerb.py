"""What do three clicks of front bump do on a kerb?"""

import fourpatch as fp

coupe = fp.car("coupe")
kerb = fp.KerbStrike(speed="110 km/h", height="40 mm", shape="sausage", length="0.8 m")
for car in (coupe, coupe.turn(front_bump_high_speed=+3), coupe.turn(front_bump_high_speed=-3)):
    found = car.run(kerb).bumps()
    print(f"{car.named}: largest load FL {float(found.largest_load.sel(corner='FL')):.0f} N")
found.plot().savefig("kerb.svg")
