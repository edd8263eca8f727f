"""Physics-based prediction of what happens inside a thin slab of meat while it dries."""

__version__ = "0.1.0"
