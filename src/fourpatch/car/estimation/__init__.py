"""How a car is estimated from a brief, subject by subject."""
