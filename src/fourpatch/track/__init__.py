"""The surface under the car: rough roads, kerbs, and what a tyre feels of them.

`road` makes ISO 8608 roads, `kerb` puts kerbs on a straight, `contact_filter` turns either into the height
a wheel follows.  Heights in metres, z up, against distance travelled; nothing here knows of cars or files.
"""
