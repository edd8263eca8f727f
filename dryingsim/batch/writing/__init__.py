"""From nouns to files: what `batch.reading` reads, written so that it reads back the same."""

from dryingsim.lazy_import import modules

__getattr__, __dir__ = modules(__name__, __path__)
