"""The version, in a module that imports nothing: whoever names it in a file needs no more."""

__version__ = "0.1.0"
