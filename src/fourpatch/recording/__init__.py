"""Recordings of real cars: read from open formats, mapped to channels, mended, parted in laps and corners.

pyarrow and asammdf are imported inside the functions that read with them: they take 0.2 s and 3 s to load.
"""
