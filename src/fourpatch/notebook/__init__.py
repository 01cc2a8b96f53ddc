"""Everything the user makes, in one file: cars, tracks, styles, set-ups and their history, what was tried."""
