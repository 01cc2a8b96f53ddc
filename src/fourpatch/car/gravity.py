"""What presses a car on the road."""

GRAVITY = 9.81
"""[m/s^2]"""
