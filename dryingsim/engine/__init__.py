"""Thousands of slices, and appliances side by side: one engine for whoever asks for many histories."""

from dryingsim.lazy_import import modules

__getattr__, __dir__ = modules(__name__, __path__)
