"""What a person typed, in files and on lines, read into nouns in SI."""

from dryingsim.lazy_import import modules

__getattr__, __dir__ = modules(__name__, __path__)
