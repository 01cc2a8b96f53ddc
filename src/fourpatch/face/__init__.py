"""What a user types: a car with a set-up and what may be asked of it, for the command line and for Python."""
