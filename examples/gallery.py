"""Every picture the package draws, from the demonstration batch and a stacked dehydrator: `python examples/gallery.py OUT_DIR`.

Each is a function that returns axes, so that a notebook can draw it into a figure of its own or add to it. The files are
PNG; `--units us` prints ounces, inches and degrees Fahrenheit.
"""

import argparse
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

from matplotlib.figure import Figure

import dryingsim as ds
from dryingsim.explore.changes import small_changes
from dryingsim.show.compare.pictures import comparison_figure
from dryingsim.show.lethality import pictures as lethality_plots
from dryingsim.show.report import change_pictures as change_plots
from dryingsim.show.run import air_pictures as air_plots
from dryingsim.show.run import depth_pictures as depth_plots
from dryingsim.show.run import pictures as plots
from dryingsim.show.run import rate_pictures as rate_plots

HERE = Path(__file__).parent
DOTS_PER_INCH = 80


@cache
def demo() -> ds.History:
    """The demonstration batch."""
    return ds.run(ds.demo_batch())


@cache
def stacked() -> ds.History:
    """A kilogram in a stacked dehydrator."""
    return ds.run(ds.load_batch(HERE / "stacked_dehydrator.toml"))


@cache
def humid() -> ds.History:
    """The demonstration batch, its air held at a wet bulb of 60 degC."""
    batch = ds.demo_batch()
    first = batch.stages[batch.first_drying]
    moist = replace(first.air, humidity=ds.Humidity(kind="wet_bulb", value=333.15))
    return ds.run(replace(batch, name="held humid", stages=(replace(first, air=moist),)))


def pictures(units: str) -> dict[str, Callable[[], Figure]]:
    """Return every picture by the name of its file."""
    alone = {
        "temperatures": lambda: plots.temperatures(demo(), units=units),
        "moisture_profiles": lambda: plots.moisture(demo(), units=units),
        "moisture_map": lambda: depth_plots.moisture_map(demo(), units=units),
        "temperature_map": lambda: depth_plots.temperature_map(demo(), units=units),
        "water_activity": lambda: plots.water_activity(demo(), units=units),
        "weight": lambda: plots.weight(demo(), units=units),
        "drying_rate": lambda: rate_plots.drying_rate(demo(), units=units),
        "air_path": lambda: air_plots.air_path(demo(), units=units),
        "air_path_in_appliance": lambda: air_plots.air_path(stacked(), units=units),
        "tray_done": lambda: plots.tray_done(stacked(), units=units),
        "tray_water_activity": lambda: plots.tray_water_activity(stacked(), units=units),
        "tray_air_temperature": lambda: plots.tray_air_temperature(stacked(), units=units),
        "lethal_rate": lambda: lethality_plots.lethal_rate(demo(), units=units)[0],
        "reduction_lower": lambda: lethality_plots.reduction_map(demo(), units=units),
        "reduction_best": lambda: lethality_plots.reduction_map(demo(), units=units, estimate="best"),
        "reduction_against_humid": lambda: lethality_plots.against_humid(demo(), humid(), units=units),
        "decimal_times": lambda: lethality_plots.decimal_times(units=units, path=demo()),
        "what_moves": lambda: change_plots.what_moves(small_changes(demo().batch)),
    }
    sheets = {
        "sheet_drying": lambda: plots.figure(ds.Answer(demo()), units),
        "sheet_lethality": lambda: plots.lethality_figure(ds.Answer(demo()), units),
        "sheet_trays": lambda: plots.tray_figure(stacked(), units),
        "sheet_comparison": lambda: comparison_figure(ds.compare([demo().batch, stacked().batch]), units),
    }
    return {name: (lambda draw=draw: draw().figure) for name, draw in alone.items()} | sheets


def main() -> None:
    """Draw all pictures, or those named, into a folder."""
    reader = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    reader.add_argument("folder", type=Path, metavar="OUT_DIR")
    reader.add_argument("names", nargs="*", metavar="NAME", help="only these pictures")
    reader.add_argument("--units", choices=("metric", "us"), default="metric")
    asked = reader.parse_args()
    known = pictures(asked.units)
    unknown = sorted(set(asked.names) - set(known))
    if unknown:
        reader.error(f"no such picture: {', '.join(unknown)}; there are {', '.join(known)}")
    asked.folder.mkdir(parents=True, exist_ok=True)
    for name in asked.names or known:
        path = asked.folder / f"{name}.png"
        known[name]().savefig(path, dpi=DOTS_PER_INCH, metadata={"Software": None})
        print(path)


if __name__ == "__main__":
    main()
