"""The next batch: which settings, within what may be changed, reach what is asked for in the least time."""

from dryingsim.lazy_import import modules

__getattr__, __dir__ = modules(__name__, __path__)
