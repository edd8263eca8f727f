"""How the answers that matter, the time to an end point and the log reduction, depend on nodes and steps."""

from dataclasses import replace
from functools import cache

import numpy as np

from dryingsim import demo_batch
from dryingsim.batch.schema import Air, Batch, Humidity, Stage, ThicknessClass, Until
from dryingsim.judge.verdict import judge_as_computed
from dryingsim.kernels.grid import NODES
from dryingsim.simulate import run
from validation.case import Case
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
    """Return drying times with the default nodes and tolerance, and with 96 nodes and fine steps."""
    return np.array([drying_time(name, NODES, 1.5e-4) for name in BATCHES])


def fine(full: bool) -> np.ndarray:
    return np.array([drying_time(name, 96 if full else 48, FINE if full else 1e-5) for name in BATCHES])


def out_of_liquid(thickness_mm: float) -> Batch:
    """Slices out of boiling liquid into mild air: what their faces dry in the first seconds decides what heat still does."""
    demo = demo_batch()
    mild = replace(
        demo.stages[-1],
        air=Air(temperature_K=316.15, humidity=Humidity(kind="room"), speed_m_s=1.0),
        duration_s=8 * 3600.0,
        until=None,
    )
    hot = replace(demo.stages[0], until=Until(core_temperature_K=349.15))
    one = (ThicknessClass(thickness_m=1e-3 * thickness_mm, share=1.0),)
    return replace(demo, meat=replace(demo.meat, classes=one), stages=(hot, mild))


THICK_MM = (5.0, 8.0)


def lower_bounds(nodes: int) -> np.ndarray:
    return np.array([judge_as_computed(run(out_of_liquid(mm), nodes=nodes)).worst.lower for mm in THICK_MM])


CASES = [
    Case(
        name=f"lower bound out of boiling liquid into 43 degC: {NODES} nodes against 96",
        kind=1,
        source="convergence of the package's own equations",
        status="derived",
        inputs=f"slices of 5 and 8 mm to 76 degC in the middle, then air of 43 degC; {NODES} nodes against 96",
        expected=lambda full: lower_bounds(96),
        tolerance=0.05,
        relative=False,
        unit="log10",
        reason="half of the tenth that is told, its rounding",
        compute=lambda full: lower_bounds(NODES),
        slow=True,
    ),
    Case(
        name=f"time to a_w 0.85: {NODES} nodes against 96",
        kind=1,
        source="convergence of the package's own equations",
        status="derived",
        inputs="; ".join(BATCHES)
        + f"; {NODES} nodes and default steps against 96 (reduced: 48) and fine steps",
        expected=fine,
        tolerance=0.001,
        relative=True,
        unit="s",
        reason=f"what {NODES} nodes are meant to give: the time to an end point within 0.1 %",
        compute=against_fine,
        slow=True,
    ),
]
