"""Pure functions of arrays: water, moist air, meat, water activity, diffusivity, films."""

from dryingsim.lazy_import import modules

__getattr__, __dir__ = modules(__name__, __path__)
