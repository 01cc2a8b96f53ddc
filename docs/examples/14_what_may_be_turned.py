"""What may be turned on this car, and what is refused?"""

import fourpatch as fp

gt = fp.car("gt")
for word, adjuster in gt.adjusters.items():
    scale = f"{adjuster.lowest:g} to {adjuster.highest:g} {adjuster.unit}"
    print(f"{word:32} stands at {gt.setup.position(adjuster):g} of {scale}")
try:
    gt.turn(front_bar=+99)
except fp.FourpatchError as refused:
    print(refused)
