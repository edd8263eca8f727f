"""What a person describes: validated, frozen, in SI."""

from dryingsim.lazy_import import modules

__getattr__, __dir__ = modules(__name__, __path__)
