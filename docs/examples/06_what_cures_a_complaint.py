"""What cures a car that pushes at mid-corner, and why?

Adjusters are ranked by what one step does to the balance there; the sets of changes are run as changed.
"""

import fourpatch as fp

gt = fp.car("gt")
found = gt.cure("pushes a bit at mid-corner in slow corners")
print(found)
cured = gt.with_setup(found.sets[0].setup)
cured.save_setup("cured.toml")
print(f"{len(cured.setup.values)} adjusters are written to cured.toml")
