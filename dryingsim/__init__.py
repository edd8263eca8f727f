"""Physics-based prediction of what happens inside a thin slab of meat while it dries.

>>> import dryingsim as ds
>>> history = ds.run(ds.demo_batch())  # or ds.load_batch("batch.toml")
>>> answers = ds.judge_batch(history)
>>> answers.doneness.batch.expected_s is not None
True

The names below are loaded when first used: importing the package alone costs next to nothing.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from dryingsim.batch.schema import (
        Air,
        Batch,
        Composition,
        Humidity,
        Marinade,
        Meat,
        Room,
        Stage,
        Targets,
        ThicknessClass,
        Until,
    )
    from dryingsim.batch.toml_file import load_batch, parse_batch
    from dryingsim.errors import InputError, SolverError
    from dryingsim.history import History
    from dryingsim.judge.doneness import Answers, judge_batch
    from dryingsim.show.files import write_results
    from dryingsim.simulate import run

__version__ = "0.1.0"

__all__ = [
    "Air",
    "Answers",
    "Batch",
    "Composition",
    "History",
    "Humidity",
    "InputError",
    "Marinade",
    "Meat",
    "Room",
    "SolverError",
    "Stage",
    "Targets",
    "ThicknessClass",
    "Until",
    "__version__",
    "demo_batch",
    "judge_batch",
    "load_batch",
    "parse_batch",
    "run",
    "write_results",
]

_HOME = {
    **dict.fromkeys(
        (
            "Air",
            "Batch",
            "Composition",
            "Humidity",
            "Marinade",
            "Meat",
            "Room",
            "Stage",
            "Targets",
            "ThicknessClass",
            "Until",
        ),
        "dryingsim.batch.schema",
    ),
    **dict.fromkeys(("load_batch", "parse_batch"), "dryingsim.batch.toml_file"),
    **dict.fromkeys(("InputError", "SolverError"), "dryingsim.errors"),
    "History": "dryingsim.history",
    **dict.fromkeys(("Answers", "judge_batch"), "dryingsim.judge.doneness"),
    "write_results": "dryingsim.show.files",
    "run": "dryingsim.simulate",
}


def demo_batch() -> "Batch":
    """Return the demonstration batch: a food lab drying eye of round in three thicknesses."""
    from dryingsim.batch.toml_file import demo_text, parse_batch

    return parse_batch(demo_text(), "demo")


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(import_module(_HOME[name]), name)
    globals()[name] = value  # next time without this detour
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
