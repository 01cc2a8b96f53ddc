"""Compiled kernels of the car: floats and flat arrays in, floats out, SI units throughout."""
