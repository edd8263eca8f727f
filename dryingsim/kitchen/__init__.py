"""The steps around the drying: getting to know the appliance, and what comes before and after it."""

from dryingsim.lazy_import import modules

__getattr__, __dir__ = modules(__name__, __path__)
