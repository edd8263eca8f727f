"""How the answer that matters, the time to an end point, depends on nodes and steps."""

from functools import cache

import numpy as np

from dryingsim.batch.schema import Batch, Stage, Until
from dryingsim.simulate import run
from validation.case import Case, Plot, Result
from validation.numerics.coupled import lean_batch, stage

TARGET = 0.85  # equalised water activity
FINE = 1e-6  # step tolerance that leaves only the grid's error


def until_dry(celsius: float) -> Stage:
    whole = stage(celsius, 20.0)
    return Stage(
        name=whole.name, air=whole.air, duration_s=whole.duration_s, until=Until(water_activity=TARGET)
    )


BATCHES = {
    "3 mm, both faces, 68 degC": lean_batch(until_dry(68.0), thickness_mm=3.0),
    "5 mm, both faces, 68 degC": lean_batch(until_dry(68.0), thickness_mm=5.0),
    "6 mm on a sheet, 60 degC": lean_batch(until_dry(60.0), thickness_mm=6.0, support="sheet"),
}


@cache
def drying_time(name: str, nodes: int, tolerance: float) -> float:
    """Seconds to the target; the end is found to 0.5 s by the run and sharpened here on the recorded activities."""
    batch: Batch = BATCHES[name]
    history = run(batch, nodes=nodes, tolerance=tolerance, interval_s=30.0)
    activity = history.equalised_water_activity[-4:, 0]
    return float(np.interp(-TARGET, -activity, history.time_s[-4:]))


def against_fine(full: bool) -> np.ndarray:
    """Return drying times with 24 nodes and the default tolerance, and with 96 nodes and fine steps."""
    return np.array([drying_time(name, 24, 1.5e-4) for name in BATCHES])


def fine(full: bool) -> np.ndarray:
    return np.array([drying_time(name, 96 if full else 48, FINE if full else 1e-5) for name in BATCHES])


def order_of_grid(full: bool) -> Result:
    """Observed order from three grids, each twice as fine as the one before (spacings 1/(n - 1))."""
    name = "5 mm, both faces, 68 degC"
    sizes = np.array([13, 25, 49, 97]) if full else np.array([13, 25, 49])
    times = np.array([drying_time(name, int(n), FINE if full else 1e-5) for n in sizes])
    steps = np.abs(np.diff(times))
    slope = float(np.log2(steps[-2] / steps[-1]))
    plot = Plot(
        title=f"Time to a_w {TARGET}, {name}: order {slope:.2f}",
        x_label="nodes - 1",
        y_label="change to the next finer grid, s",
        points=(("change", sizes[:-1] - 1, steps),),
        lines=(("second order", sizes[:-1] - 1, steps[-1] * ((sizes[:-1] - 1) / (sizes[-2] - 1.0)) ** -2.0),),
        log=True,
    )
    return Result(slope, (plot,))


CASES = [
    Case(
        name="time to a_w 0.85: 24 nodes against 96",
        kind=1,
        source="convergence of the package's own equations",
        status="derived",
        inputs="; ".join(BATCHES) + "; 24 nodes and default steps against 96 (reduced: 48) and fine steps",
        expected=fine,
        tolerance=0.005,
        relative=True,
        unit="s",
        reason="what 24 nodes are meant to give: the time to an end point within 0.5 %",
        compute=against_fine,
        slow=True,
    ),
    Case(
        name="order of convergence of the drying time",
        kind=1,
        source="second order in theory",
        status="derived",
        inputs="5 mm, both faces, 68 degC, to a_w 0.85 on 13, 25, 49 (full: 97) nodes",
        expected=1.7,
        tolerance=0.0,
        bound="at least",
        reason="second order in theory; 0.3 for a front that runs through coarse grids",
        compute=order_of_grid,
        slow=True,
    ),
]
