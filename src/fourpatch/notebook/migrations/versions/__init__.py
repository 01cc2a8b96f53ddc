"""A file for each change of format, in order."""
