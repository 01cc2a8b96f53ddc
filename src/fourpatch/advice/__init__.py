"""What a change does, and what to change."""
