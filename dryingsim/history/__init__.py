"""What happened in a batch: the record, its columns, its form for xarray and pandas; nothing of words or pictures."""

from dryingsim.history.record import ChamberHistory, History
from dryingsim.lazy_import import modules

__all__ = ["ChamberHistory", "History"]

__getattr__, _modules = modules(__name__, __path__)


def __dir__() -> list[str]:
    return sorted({*globals(), *_modules()})
