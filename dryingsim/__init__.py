"""Physics-based prediction of what happens inside a thin slab of meat while it dries.

>>> import dryingsim as ds
>>> history = ds.run(ds.demo_batch())  # or ds.load_batch("batch.toml")
>>> answers = ds.judge_batch(history)
>>> answers.doneness.batch.expected_s is not None
True
>>> ds.judge_batch_lethality(history).grade  # of dryingsim.judge.grades.GRADES
'met'

The names below are loaded when first used: importing the package alone costs next to nothing. So are the subpackages and
their modules, with all that is underneath:

>>> round(float(ds.properties.water.saturation_pressure(293.15)))  # Pa, at 20 degC
2339

`batch` reads and describes, `properties` are of water, air and meat, `judge` answers, `explore` runs many batches, `kitchen` is
what comes before and after the dryer, `learn` and `plan` are for the next batch, `show` draws and tells, `teaching` is
for a class; `model` and `kernels` are the physics and numerics underneath.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from dryingsim._version import __version__
from dryingsim.lazy_import import attach, modules

if TYPE_CHECKING:
    from dryingsim.answer import Answer, Prices
    from dryingsim.batch.air_stages import air_stages
    from dryingsim.batch.component_checks import check_component
    from dryingsim.batch.components import Components, HeldSurface, IsothermalSurface
    from dryingsim.batch.reading.batch_file import load_batch, parse_batch
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
    from dryingsim.batch.uncertainties import default_uncertainties
    from dryingsim.batch.uncertainty import Uncertainty
    from dryingsim.errors import InputError, SolverError
    from dryingsim.explore.changes import small_changes
    from dryingsim.explore.compare import Comparison, compare
    from dryingsim.explore.effect_shares import Effects
    from dryingsim.explore.effects import effects
    from dryingsim.explore.maps import Map, map_file, map_over
    from dryingsim.explore.spread import spread
    from dryingsim.explore.spread_result import Spread
    from dryingsim.explore.vary import Variation, vary
    from dryingsim.history import History
    from dryingsim.judge.doneness import Answers, judge_batch
    from dryingsim.judge.energy import judge_energy, read_price
    from dryingsim.judge.remedies import remedies
    from dryingsim.judge.verdict import judge_batch_lethality
    from dryingsim.model.build import constant_properties
    from dryingsim.properties.diffusivity import LABORATORY_SPREAD, LEAN_MEAT, Diffusivity
    from dryingsim.properties.shrinkage import LinearShrinkage
    from dryingsim.properties.water_activity import Recipe
    from dryingsim.show.report.document import write_report
    from dryingsim.show.run.files import write_results
    from dryingsim.simulate import run


__all__ = [
    "LABORATORY_SPREAD",
    "LEAN_MEAT",
    "Air",
    "Answer",
    "Answers",
    "Appliance",
    "Batch",
    "Comparison",
    "Components",
    "Composition",
    "Diffusivity",
    "Effects",
    "HeldSurface",
    "History",
    "Humidity",
    "InputError",
    "IsothermalSurface",
    "LinearShrinkage",
    "Map",
    "Marinade",
    "Meat",
    "Prices",
    "Recipe",
    "Room",
    "SolverError",
    "Spread",
    "Stage",
    "Targets",
    "ThicknessClass",
    "Uncertainty",
    "Until",
    "Variation",
    "__version__",
    "air_stages",
    "check_component",
    "compare",
    "constant_properties",
    "default_uncertainties",
    "demo_batch",
    "effects",
    "judge_batch",
    "judge_batch_lethality",
    "judge_energy",
    "load_batch",
    "map_file",
    "map_over",
    "parse_batch",
    "read_price",
    "remedies",
    "run",
    "small_changes",
    "spread",
    "vary",
    "write_report",
    "write_results",
]

_HOME = {
    **dict.fromkeys(("Answer", "Prices"), "dryingsim.answer"),
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
    "air_stages": "dryingsim.batch.air_stages",
    "check_component": "dryingsim.batch.component_checks",
    **dict.fromkeys(("Components", "HeldSurface", "IsothermalSurface"), "dryingsim.batch.components"),
    **dict.fromkeys(("load_batch", "parse_batch"), "dryingsim.batch.reading.batch_file"),
    **dict.fromkeys(("InputError", "SolverError"), "dryingsim.errors"),
    "small_changes": "dryingsim.explore.changes",
    "Effects": "dryingsim.explore.effect_shares",
    "effects": "dryingsim.explore.effects",
    **dict.fromkeys(("Comparison", "compare"), "dryingsim.explore.compare"),
    **dict.fromkeys(("Map", "map_file", "map_over"), "dryingsim.explore.maps"),
    "Uncertainty": "dryingsim.batch.uncertainty",
    "default_uncertainties": "dryingsim.batch.uncertainties",
    "spread": "dryingsim.explore.spread",
    "Spread": "dryingsim.explore.spread_result",
    **dict.fromkeys(("Variation", "vary"), "dryingsim.explore.vary"),
    "History": "dryingsim.history",
    **dict.fromkeys(("Answers", "judge_batch"), "dryingsim.judge.doneness"),
    **dict.fromkeys(("judge_energy", "read_price"), "dryingsim.judge.energy"),
    "remedies": "dryingsim.judge.remedies",
    "judge_batch_lethality": "dryingsim.judge.verdict",
    "constant_properties": "dryingsim.model.build",
    **dict.fromkeys(("Diffusivity", "LABORATORY_SPREAD", "LEAN_MEAT"), "dryingsim.properties.diffusivity"),
    "LinearShrinkage": "dryingsim.properties.shrinkage",
    "Recipe": "dryingsim.properties.water_activity",
    "write_report": "dryingsim.show.report.document",
    "write_results": "dryingsim.show.run.files",
    "run": "dryingsim.simulate",
}

attach(
    {
        "Appliance.to_toml": "dryingsim.batch.writing.appliance_file:appliance_toml",
        "Batch.to_toml": "dryingsim.batch.writing.batch_file:batch_toml",
        "Comparison.plot": "dryingsim.show.compare.pictures:dryness",
        "Comparison.to_xarray": "dryingsim.explore.labelled:comparison_dataset",
        "Comparison.to_pandas": "dryingsim.explore.labelled:comparison_frame",
        "History._repr_html_": "dryingsim.show.run.first_screen:history_html",
        "History.plot": "dryingsim.show.run.pictures:temperatures",
        "History.plot_moisture": "dryingsim.show.run.pictures:moisture",
        "History.to_pandas": "dryingsim.history.labelled:frame",
        "History.to_xarray": "dryingsim.history.labelled:dataset",
        "Map.plot": "dryingsim.show.map.pictures:done_over",
        "Map.to_pandas": "dryingsim.explore.labelled:map_frame",
        "Map.to_xarray": "dryingsim.explore.labelled:map_dataset",
        "Spread.plot": "dryingsim.show.spread.pictures:dryness_bands",
        "Spread.to_pandas": "dryingsim.explore.labelled:spread_frame",
        "Spread.to_xarray": "dryingsim.explore.labelled:spread_dataset",
    }
)


def demo_batch() -> "Batch":
    """Return the demonstration batch: a food lab drying eye of round in three thicknesses."""
    from dryingsim.batch.reading.batch_file import demo_text, parse_batch

    return parse_batch(demo_text(), "demo")


_module, _modules = modules(__name__, __path__)


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        return _module(name)
    value = getattr(import_module(_HOME[name]), name)
    globals()[name] = value  # next time without this detour
    return value


def __dir__() -> list[str]:
    return sorted({*__all__, *_modules(), *(name for name in globals() if name.startswith("__"))})
