"""From answers to tables and pictures."""

from dryingsim.lazy_import import modules

__getattr__, __dir__ = modules(__name__, __path__)
