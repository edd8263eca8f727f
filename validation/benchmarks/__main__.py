"""One batch of twelve thicknesses, eight hours, four stages: the package against scipy's LSODA with banded matrices.

LSODA gets exactly the right-hand side of the package, state by state of the nodes (the running totals are left out),
stage by stage, and the same scales of error. It runs once for each thickness, and, for comparison, once for all of
them together (one band matrix, one shared step: what the package does). Errors are those in mean moisture, the largest
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
from dryingsim.batch.toml_file import demo_text, parse_batch
from dryingsim.history import History
from dryingsim.kernels.grid import control_volumes
from dryingsim.model.air import given_air
from dryingsim.model.build import build_slabs
from dryingsim.model.system import TEMPERATURE_SCALE_K, X_FLOOR, SlabSystem
from dryingsim.simulate import run

NODES = 24
DEFAULT_TOLERANCE = 1.5e-4  # of `run`
RECORD_S = 600.0
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
    demo = parse_batch(demo_text(), "demo")
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


def timed(work: Callable[[], Any], repeats: int) -> tuple[float, Any]:
    """Return the median of the processor times [s] of some repeats, and the last result."""
    seconds = []
    for _ in range(repeats):
        start = time.process_time()
        result = work()
        seconds.append(time.process_time() - start)
    return statistics.median(seconds), result


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
        self.calls += 1
        nodes = z.reshape(self.m, NODES, 2).transpose(2, 1, 0)
        self._full_rows[: 2 * NODES] = nodes.reshape(2 * NODES, self.m)
        return self.order(system.rhs(t, self._full))

    def solve(self, times: np.ndarray, rtol: float) -> tuple[np.ndarray, np.ndarray]:
        """Moisture and temperature at the times, shape (t, n, m) each."""
        z = self.order(self.start)
        capacity = self.slabs.heat_capacity(np.ones(self.m)).mean()
        floor = np.tile([X_FLOOR, TEMPERATURE_SCALE_K * capacity], NODES * self.m)
        out = [z[None]]
        for t0, t1, system in self.systems:
            wanted = times[(times > t0) & (times <= t1)]
            done = solve_ivp(
                lambda t, z, s=system: self.rhs(s, t, z),
                (t0, t1),
                z,
                method="LSODA",
                t_eval=wanted,
                rtol=rtol,
                atol=rtol * floor,
                lband=3,
                uband=3,
            )
            if not done.success:
                raise RuntimeError(done.message)
            out.append(done.y.T)
            z = done.y[:, -1]
        nodes = np.concatenate(out).reshape(-1, self.m, NODES, 2)
        x, h = nodes[..., 0].transpose(0, 2, 1), nodes[..., 1].transpose(0, 2, 1)
        return x, self.slabs.temperature(x, h)


def errors(x: np.ndarray, t: np.ndarray, reference: History) -> tuple[float, float]:
    mean = np.einsum("n,tnm->tm", control_volumes(reference.slabs.nodes), x)
    return (
        float(np.max(np.abs(mean - reference.mean_moisture_db))),
        float(np.max(np.abs(t - reference.temperature_K))),
    )


def package(batch: Batch, tolerance: float, reference: History, repeats: int) -> tuple[Measured, History]:
    seconds, history = timed(
        lambda: run(batch, nodes=NODES, tolerance=tolerance, interval_s=RECORD_S), repeats
    )
    miss = errors(history.moisture_db, history.temperature_K, reference)
    return Measured("package", tolerance, seconds, history.statistics.rhs_calls, *miss), history


def lsoda(batches: list[Batch], name: str, rtol: float, reference: History, repeats: int) -> Measured:
    problems = [Interleaved(b) for b in batches]

    def work() -> list[tuple[np.ndarray, np.ndarray]]:
        return [p.solve(reference.time_s, rtol) for p in problems]

    seconds, parts = timed(work, repeats)
    x, t = (np.concatenate([p[i] for p in parts], axis=2) for i in (0, 1))
    calls = sum(p.calls for p in problems) // repeats
    return Measured(name, rtol, seconds, calls, *errors(x, t, reference))


def row(m: Measured) -> str:
    return (
        f"{m.method:<22} {m.tolerance:9.1e} {m.seconds:9.3f} {m.rhs_calls:10d} "
        f"{m.moisture_error:15.1e} {m.temperature_error:13.1e}"
    )


def matched(candidates: list[Measured], target: Measured) -> Measured:
    """Of those not more than twice as exact as the target, the one nearest in error."""
    coarse = [c for c in candidates if c.moisture_error >= 0.5 * target.moisture_error] or candidates[:1]
    return min(coarse, key=lambda c: abs(np.log(c.moisture_error / target.moisture_error)))


def main() -> None:
    batch = benchmark_batch()
    singles = [
        replace(batch, meat=replace(batch.meat, classes=(ThicknessClass(thickness_m=c.thickness_m, share=1.0),)))
        for c in batch.meat.classes
    ]
    reference = run(batch, nodes=NODES, tolerance=1e-7, interval_s=RECORD_S)
    run(batch, nodes=NODES, interval_s=RECORD_S)  # warm caches before the clock starts
    print(f"{'method':<22} {'tolerance':>9} {'cpu [s]':>9} {'rhs calls':>10} {'error X [kg/kg]':>15} {'error T [K]':>13}")
    default, history = package(batch, DEFAULT_TOLERANCE, reference, 7)
    print(row(default), flush=True)
    for tolerance in (1e-3, 3e-5, 1e-5):
        print(row(package(batch, tolerance, reference, 3)[0]), flush=True)
    ladder = (1e-2, 3e-3, 1e-3, 3e-4, 1e-4, 3e-5, 1e-5)
    ratios = {}
    for name, batches in (("LSODA, one by one", singles), ("LSODA, all together", [batch])):
        lines = []
        for rtol in ladder:
            lines.append(lsoda(batches, name, rtol, reference, 1))
            print(row(lines[-1]), flush=True)
        near = matched(lines, default)
        ratios[name] = lsoda(batches, name, near.tolerance, reference, 3)
    done = history.statistics
    print(f"\npackage, default tolerance: median of 7 runs {default.seconds:.3f} s, {done.steps} steps,")
    print(f"  {done.rejected} rejected, {done.rhs_calls} rhs calls for all twelve thicknesses at once")
    for name, line in ratios.items():
        print(
            f"{name}, rtol {line.tolerance:.0e}: median of 3 runs {line.seconds:.3f} s, "
            f"{line.rhs_calls} rhs calls; its error is {line.moisture_error / default.moisture_error:.2f} of the "
            f"package's, its time {line.seconds / default.seconds:.1f} times the package's"
        )


if __name__ == "__main__":
    main()
