"""Many histories: batches side by side, and one batch with something varied."""

from dryingsim.lazy_import import modules

__getattr__, __dir__ = modules(__name__, __path__)
