"""The trade's rules of thumb, each computed on the car at hand and given a verdict."""
