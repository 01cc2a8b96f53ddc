"""What the car is put through, and the histories that come of it."""
