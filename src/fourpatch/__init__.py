"""Fourpatch: what a set-up does to the four contact patches."""

__version__ = "0.1.0"
