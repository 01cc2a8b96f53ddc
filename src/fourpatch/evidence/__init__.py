"""Evidence: which of the plausible cars make what was observed, and what that teaches."""
