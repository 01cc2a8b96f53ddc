"""What a car is: parameters, adjusters, files, and the way to the kernels."""
