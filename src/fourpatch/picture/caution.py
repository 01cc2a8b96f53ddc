"""What stands below every answer, wherever it is shown."""

COMPUTED = (
    "Computed, not driven. On a real car the maker's limits, the series' rules and licensed practice come "
    "first; support a raised car on stands, change one thing at a time, and try it with room to spare."
)
