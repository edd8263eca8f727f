"""Physics-based prediction of what happens inside a thin slab of meat while it dries.

>>> import dryingsim as ds
>>> history = ds.run(ds.demo_batch())  # or ds.load_batch("batch.toml")
>>> answers = ds.judge_batch(history)
>>> answers.doneness.batch.expected_s is not None
True
>>> ds.judge_batch_lethality(history).grade  # of dryingsim.judge.verdict.GRADES
'not shown'

The names below are loaded when first used: importing the package alone costs next to nothing.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from dryingsim.batch.schema import (
        Air,
        Appliance,
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
    from dryingsim.explore.changes import small_changes
    from dryingsim.explore.compare import Comparison, compare
    from dryingsim.explore.vary import Variation, vary
    from dryingsim.history import History
    from dryingsim.judge.doneness import Answers, judge_batch
    from dryingsim.judge.energy import judge_energy, read_price
    from dryingsim.judge.remedies import remedies
    from dryingsim.judge.verdict import judge_batch_lethality
    from dryingsim.show.files import write_results
    from dryingsim.show.report import write_report
    from dryingsim.simulate import run

__version__ = "0.1.0"

__all__ = [
    "Air",
    "Answers",
    "Appliance",
    "Batch",
    "Comparison",
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
    "Variation",
    "__version__",
    "compare",
    "demo_batch",
    "judge_batch",
    "judge_batch_lethality",
    "judge_energy",
    "load_batch",
    "parse_batch",
    "read_price",
    "remedies",
    "run",
    "small_changes",
    "vary",
    "write_report",
    "write_results",
]

_HOME = {
    **dict.fromkeys(
        (
            "Air",
            "Appliance",
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
    "small_changes": "dryingsim.explore.changes",
    **dict.fromkeys(("Comparison", "compare"), "dryingsim.explore.compare"),
    **dict.fromkeys(("Variation", "vary"), "dryingsim.explore.vary"),
    "History": "dryingsim.history",
    **dict.fromkeys(("Answers", "judge_batch"), "dryingsim.judge.doneness"),
    **dict.fromkeys(("judge_energy", "read_price"), "dryingsim.judge.energy"),
    "remedies": "dryingsim.judge.remedies",
    "judge_batch_lethality": "dryingsim.judge.verdict",
    "write_report": "dryingsim.show.report",
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
