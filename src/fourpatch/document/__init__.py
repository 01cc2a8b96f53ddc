"""What a user writes, as typed parts: read, refused with everything that is wrong at once, written whole."""
