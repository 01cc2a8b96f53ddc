"""How a notebook of an older format becomes one of the present."""
