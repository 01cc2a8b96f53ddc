"""Everything the user makes, in one file: cars, tracks, styles, set-ups, meetings, what was tried."""
