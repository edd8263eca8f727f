"""Numerical kernels: arrays in, arrays out, no physics."""
