"""Numerical kernels: arrays in, arrays out, no physics."""

from dryingsim.lazy_import import modules

__getattr__, __dir__ = modules(__name__, __path__)
