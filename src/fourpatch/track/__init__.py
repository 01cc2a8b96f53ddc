"""Tracks and the surface under the car.

`road` makes ISO 8608 roads, `kerb` puts kerbs on a straight, `contact_filter` turns either into the height
a wheel follows.  `track` says what a track is, `files` reads and writes it, `builder`, `points` and
`curvature_line` draw its centre line, `layout` reads it at even distances, `corners` finds its corners.
`line_at` draws a line beside the centre line, `racing_line` the one of least curvature, `track_road` lays the
road under the wheels along a line, `kerb_passage` lists the kerbs met there.

Heights in metres, z up, against distance travelled; nothing here knows how a car moves.
"""
