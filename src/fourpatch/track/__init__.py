"""Tracks and the surface under the car.

`road` makes ISO 8608 roads, `kerb` puts kerbs on a straight, `contact_filter` turns either into the height
a wheel follows.  `track` says what a track is, `files` reads and writes it, `builder`, `points` and
`curvature_line` draw its centre line, `layout` reads it at even distances, `track_road` lays the road under
the wheels along it, `corners` finds its corners.  Heights in metres, z up, against distance travelled;
nothing here knows how a car moves.
"""
