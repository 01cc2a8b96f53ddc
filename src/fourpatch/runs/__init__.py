"""A run: what a car did, as named channels with units, whether it was computed or recorded."""
