"""From the log of a batch to what the next one needs: learned parameters, a forecast, a history of batches."""

from dryingsim.lazy_import import modules

__getattr__, __dir__ = modules(__name__, __path__)
