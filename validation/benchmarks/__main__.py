"""One batch of twelve thicknesses, eight hours, four stages: the package against scipy's LSODA.

LSODA gets exactly the right-hand side of the package, state by state of the nodes (the running totals are left out),
stage by stage, and the same scales of error. It knows no mass matrix, so it is given the rates themselves, in which every
node of a slab feels every other: it is told of no band, as none would be true. It runs once for each thickness, and, for
comparison, once for all of them together (one matrix, one shared step). Errors are those in mean moisture, the largest
over thicknesses and over a record every ten minutes and at the ends of stages, against the package at a tolerance of
1e-7. Times are processor seconds of this process; those of the package include building the slabs and the record.
"""

import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from scipy.integrate import solve_ivp

from dryingsim.batch.schema import Air, Batch, Humidity, Stage, ThicknessClass
from dryingsim.history import History
from dryingsim.kernels.grid import NODES, node_shares
from dryingsim.model.air import given_air
from dryingsim.model.build import build_slabs
from dryingsim.model.system import TEMPERATURE_SCALE_K, X_FLOOR, SlabSystem
from dryingsim.simulate import run
from validation.setups import drying_demo

DEFAULT_TOLERANCE = 1.5e-4  # of `run`
RECORD_S = 600.0
LADDER = (3e-3, 1e-3, 3e-4, 1e-4, 3e-5, 1e-5)  # rtol of LSODA
FIRST_STEP_S = (
    1e-3  # the air jumps where a stage begins: with a first step of its own choice LSODA leaves for infinity
)
SCHEDULE = ((60.0, 9000.0), (68.0, 10800.0), (71.0, 8400.0), (135.0, 600.0))  # degC, s: eight hours


@dataclass(frozen=True, slots=True)
class Measured:
    """One line of the table."""

    method: str
    tolerance: float
    seconds: float
    rhs_calls: int
    moisture_error: float  # kg/kg
    temperature_error: float  # K


def benchmark_batch() -> Batch:
    demo = drying_demo()
    classes = tuple(ThicknessClass(thickness_m=t, share=1 / 12) for t in np.linspace(3.5e-3, 7e-3, 12))
    stages = tuple(
        Stage(
            name=f"{celsius:g} degC",
            air=Air(temperature_K=celsius + 273.15, humidity=Humidity(kind="room"), speed_m_s=1.0),
            duration_s=duration,
        )
        for celsius, duration in SCHEDULE
    )
    return replace(demo, meat=replace(demo.meat, classes=classes), stages=stages)


def timed(work: Callable[[], Any]) -> tuple[float, Any]:
    """Return the processor time [s] of some work, and its result."""
    start = time.process_time()
    result = work()
    return time.process_time() - start, result


def blocks_of_slabs(slabs: int) -> Any:
    """Where the Jacobian of the rates is not nil: all of a slab, as the inverse of its mass matrix is full."""
    from scipy.sparse import block_diag

    return block_diag([np.ones((2 * NODES, 2 * NODES))] * slabs)


class Interleaved:
    """The equations of a batch with the state ordered slab by slab, node by node, moisture and enthalpy in turn."""

    def __init__(self, batch: Batch) -> None:
        self.batch = batch
        self.slabs = build_slabs(batch, NODES)
        self.m = self.slabs.dry_mass_kg_m2.size
        self.calls = 0
        ones = np.ones(self.m)
        size = batch.meat.length_m * ones, batch.meat.width_m * ones
        t = 0.0
        self.systems = []
        for stage in batch.stages:
            assert stage.duration_s is not None
            air = given_air(stage.air, None, batch.room, t, stage.duration_s, *size)
            self.systems.append((t, t + stage.duration_s, SlabSystem(self.slabs, air, 1.0)))
            t += stage.duration_s
        first = self.systems[0][2]
        self.start = first.initial(self.slabs.initial_moisture_db, batch.meat.temperature_K)
        self._full = np.zeros_like(self.start)
        self._full_rows = self._full.reshape(-1, self.m)

    def order(self, full: np.ndarray) -> np.ndarray:
        """Nodes of a state of the package, interleaved."""
        rows = full.reshape(-1, self.m)[: 2 * NODES]
        return rows.reshape(2, NODES, self.m).transpose(2, 1, 0).reshape(-1)

    def rhs(self, system: SlabSystem, t: float, z: np.ndarray) -> np.ndarray:
        """Right-hand side of the package in this order."""
        self.calls += 1
        nodes = z.reshape(self.m, NODES, 2).transpose(2, 1, 0)
        self._full_rows[: 2 * NODES] = nodes.reshape(2 * NODES, self.m)
        return self.order(system.derivative(t, self._full))

    def solve(self, times: np.ndarray, rtol: float, method: str = "LSODA") -> tuple[np.ndarray, np.ndarray]:
        """Moisture and temperature at the times, shape (t, n, m) each; "LSODA" or "BDF", the latter told of the slabs.

        Infinite where a loose tolerance led into states without meaning.
        """
        z = self.order(self.start)
        capacity = self.slabs.heat_capacity(np.ones(self.m)).mean()
        floor = np.tile([X_FLOOR, TEMPERATURE_SCALE_K * capacity], NODES * self.m)
        out = [z[None]]
        told: dict[str, Any] = {"first_step": FIRST_STEP_S}
        if method == "BDF":
            told["jac_sparsity"] = blocks_of_slabs(self.m)
        for t0, t1, system in self.systems:
            wanted = times[(times > t0) & (times <= t1)]
            done = solve_ivp(
                lambda t, z, s=system: self.rhs(s, t, z),
                (t0, t1),
                z,
                method=method,
                t_eval=wanted,
                rtol=rtol,
                atol=rtol * floor,
                **told,
            )
            if not (done.success and np.isfinite(done.y).all()):
                nowhere = np.full((times.size, NODES, self.m), np.inf)
                return nowhere, nowhere
            out.append(done.y.T)
            z = done.y[:, -1]
        nodes = np.concatenate(out).reshape(-1, self.m, NODES, 2)
        x, h = nodes[..., 0].transpose(0, 2, 1), nodes[..., 1].transpose(0, 2, 1)
        return x, self.slabs.temperature(x, h)


def errors(x: np.ndarray, t: np.ndarray, reference: History) -> tuple[float, float]:
    mean = np.einsum("n,tnm->tm", node_shares(reference.slabs.nodes), x)
    return (
        float(np.max(np.abs(mean - reference.mean_moisture_db))),
        float(np.max(np.abs(t - reference.temperature_K))),
    )


def package(batch: Batch, tolerance: float, reference: History) -> tuple[Measured, History]:
    seconds, history = timed(lambda: run(batch, nodes=NODES, tolerance=tolerance, interval_s=RECORD_S))
    miss = errors(history.moisture_db, history.temperature_K, reference)
    return Measured("package", tolerance, seconds, history.statistics.rhs_calls, *miss), history


def lsoda(batches: list[Batch], name: str, rtol: float, reference: History) -> Measured:
    problems = [Interleaved(b) for b in batches]
    with np.errstate(all="ignore"):  # at loose tolerances it strays into states without meaning
        seconds, parts = timed(lambda: [p.solve(reference.time_s, rtol) for p in problems])
    x, t = (np.concatenate([p[i] for p in parts], axis=2) for i in (0, 1))
    return Measured(name, rtol, seconds, sum(p.calls for p in problems), *errors(x, t, reference))


def row(m: Measured) -> str:
    missed = f"{m.moisture_error:15.1e} {m.temperature_error:13.1e}"
    if not np.isfinite(m.moisture_error):
        missed = f"{'not a number':>15}"
    return f"{m.method:<20} {m.tolerance:9.1e} {m.seconds:8.3f} {m.rhs_calls:10d} {missed}"


def matched(candidates: list[Measured], target: Measured) -> Measured:
    """Of those not more than twice as exact as the target, the one nearest in error."""
    coarse = [c for c in candidates if c.moisture_error >= 0.5 * target.moisture_error]
    return min(coarse, key=lambda c: abs(np.log(c.moisture_error / target.moisture_error)))


def main() -> None:
    batch = benchmark_batch()
    kinds = [(ThicknessClass(thickness_m=c.thickness_m, share=1.0),) for c in batch.meat.classes]
    singles = [replace(batch, meat=replace(batch.meat, classes=kind)) for kind in kinds]
    ways = {"LSODA, one by one": singles, "LSODA, all together": [batch]}
    reference = run(batch, nodes=NODES, tolerance=1e-7, interval_s=RECORD_S)

    heads = ("method", "tolerance", "cpu [s]", "rhs calls", "error X [kg/kg]", "error T [K]")
    print("{:<20} {:>9} {:>8} {:>10} {:>15} {:>13}".format(*heads))
    package(batch, DEFAULT_TOLERANCE, reference)  # warms caches; not shown
    for tolerance in (1e-3, DEFAULT_TOLERANCE, 3e-5, 1e-5):
        line, _ = package(batch, tolerance, reference)
        print(row(line), flush=True)
        if tolerance == DEFAULT_TOLERANCE:
            default = line
    near = {}
    for name, batches in ways.items():
        lines = []
        for rtol in LADDER:
            lines.append(lsoda(batches, name, rtol, reference))
            print(row(lines[-1]), flush=True)
        near[name] = matched(lines, default)

    # What is compared runs in turns, so that other work on the machine falls on all alike.
    seconds: dict[str, list[float]] = {"package": [], **{name: [] for name in ways}}
    for turn in range(7):
        line, history = package(batch, DEFAULT_TOLERANCE, reference)
        seconds["package"].append(line.seconds)
        for name, batches in ways.items():
            if len(batches) == 1 or turn % 3 == 0:
                seconds[name].append(lsoda(batches, name, near[name].tolerance, reference).seconds)
    median = {name: statistics.median(values) for name, values in seconds.items()}
    done = history.statistics
    print(
        f"\npackage, tolerance {DEFAULT_TOLERANCE:g}: median of 7 runs {median['package']:.3f} s; {done.steps} steps, "
        f"{done.rejected} rejected, {done.rhs_calls} rhs calls for all {len(kinds)} thicknesses"
    )
    for name, line in near.items():
        print(
            f"{name}, rtol {line.tolerance:g}: median of {len(seconds[name])} runs {median[name]:.3f} s; "
            f"{line.rhs_calls} rhs calls; error {line.moisture_error / default.moisture_error:.2f} and time "
            f"{median[name] / median['package']:.1f} of the package's"
        )


if __name__ == "__main__":
    main()
