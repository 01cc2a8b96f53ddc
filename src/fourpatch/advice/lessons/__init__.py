"""Lessons: what a part of the set-up does, in words whose numbers are those of the car at hand."""
