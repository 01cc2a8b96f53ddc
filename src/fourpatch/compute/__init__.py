"""Where the physics runs and how precisely: single-precision lanes and GPU kernels written from `physics`."""
