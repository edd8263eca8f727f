"""Many slices: how fast, how exact, how it grows. `python -m validation.benchmarks.slices [--long]`.

Slices of 3.5 to 7 mm in set air (68 degC from an ordinary room) for eight hours, 24 nodes; every number is measured in
this run. LSODA of scipy with banded matrices gets the same right-hand side, one slice after the other, with the
tolerance that comes nearest in error. Times are processor seconds, but for those of several processes and of the
command, which are by the clock. Other work on the machine makes caches and clocks slower; the load is printed.
"""

import argparse
import os
import platform
import subprocess
import sys
import tempfile
import time
import tracemalloc
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

from dryingsim.batch.catalog.appliances import appliance_of
from dryingsim.batch.schema import Batch
from dryingsim.batch.toml_file import demo_text, parse_batch
from dryingsim.explore.ensemble import CHUNK, Ask, Members, Task, processes, run_ensemble, taken, work
from dryingsim.explore.legs import Clock, Leg, clock_of, legs_in_appliance, legs_in_given_air
from dryingsim.kernels.blocks import BlockElimination, BlockTridiagonal
from dryingsim.model.build import build_slabs
from dryingsim.simulate import run
from validation.benchmarks.__main__ import Interleaved, errors

HOURS = 8
END_S = HOURS * 3600.0
NOTED_S = 600.0


def set_air() -> tuple[Batch, tuple[Leg, ...]]:
    demo = parse_batch(demo_text(), "demo")
    batch = replace(demo, stages=(replace(demo.stages[0], until=None, duration_s=END_S),))
    return batch, legs_in_given_air([batch], Clock((END_S,), None, END_S))


def members(batch: Batch, count: int, nodes: int = 24) -> Members:
    one = build_slabs(batch, nodes)
    slabs = taken(one, np.zeros(count, dtype=np.intp))
    per_m = one.dry_mass_kg_m2[0] / batch.meat.classes[0].thickness_m
    # in an order that makes all chunks alike
    thickness = np.random.default_rng(0).permutation(np.linspace(3.5e-3, 7e-3, count))
    return Members(
        replace(slabs, dry_mass_kg_m2=per_m * thickness), np.zeros(count, dtype=np.intp), np.ones(count)
    )


def ask(**changed: object) -> Ask:
    times = np.arange(0.0, END_S + 1.0, NOTED_S)
    return replace(Ask(temperature_K=277.15, times_s=times, series=False), **changed)


def best_of(turns: int, work_: Callable[[], object], clock: Callable[[], float] = time.process_time) -> float:
    found = []
    for _ in range(turns):
        start = clock()
        work_()
        found.append(clock() - start)
    return min(found)


def machine() -> None:
    cpu = platform.processor() or platform.machine()
    info = Path("/proc/cpuinfo")
    if info.exists():
        cpu = next(
            (line.split(":")[1].strip() for line in info.read_text().splitlines() if "model name" in line),
            cpu,
        )
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else float("nan")
    print(
        f"{cpu}, {os.cpu_count()} cores, load {load:.1f}; Python {platform.python_version()}, numpy {np.__version__}\n"
    )


def precision(batch: Batch, legs: tuple[Leg, ...]) -> None:
    some = members(batch, 64)
    exact = run_ensemble(some, legs, ask(series=True, tolerance=1e-6))
    many = members(batch, CHUNK)
    print("work and precision: one chunk, one core")
    print(f"{'tolerance':>10} {'slices/s':>9} {'steps':>6} {'error X [kg/kg]':>16} {'error T core [K]':>17}")
    for tolerance in (3e-3, 1e-3, 3e-4, 1e-4):
        found = run_ensemble(some, legs, ask(series=True, tolerance=tolerance))
        miss = [np.abs(found[f"series_{k}"] - exact[f"series_{k}"]).max() for k in ("moisture_db", "core_K")]
        task = Task(many, legs, ask(tolerance=tolerance))
        seconds = best_of(3, lambda task=task: work(task))
        print(
            f"{tolerance:10.0e} {CHUNK / seconds:9.0f} {found['steps'].max():6d} {miss[0]:16.1e} {miss[1]:17.2f}"
        )


def against_lsoda(batch: Batch, legs: tuple[Leg, ...]) -> None:
    per_class = replace(batch.meat.classes[0], share=1.0, thickness_m=5e-3)
    single = replace(batch, meat=replace(batch.meat, classes=(per_class,)))
    history = run(single, tolerance=1e-7, interval_s=NOTED_S)
    own = Members(build_slabs(single, 24), np.zeros(1, dtype=np.intp), np.ones(1))
    noted = run_ensemble(own, legs, ask(series=True))["series_moisture_db"][:, 0]
    target = np.abs(noted - history.mean_moisture_db[:, 0]).max()
    tried = []
    for rtol in (1e-2, 3e-3, 1e-3, 3e-4, 1e-4, 3e-5):
        problem = Interleaved(single)
        start = time.process_time()
        with np.errstate(all="ignore"):
            x, t = problem.solve(history.time_s, rtol)
        tried.append((errors(x, t, history)[0], time.process_time() - start, rtol))
    able = [one for one in tried if one[0] <= 2.0 * target] or tried
    miss, seconds, rtol = min(able, key=lambda one: one[1])
    task = Task(members(batch, CHUNK), legs, ask())
    each = best_of(3, lambda: work(task)) / CHUNK
    print(
        f"\nLSODA, banded, rtol {rtol:g}: error {miss:.1e} (here {target:.1e}), {1e3 * seconds:.0f} ms per slice; "
        f"here {1e3 * each:.2f} ms: ratio {seconds / each:.0f}"
    )


def growth(batch: Batch, legs: tuple[Leg, ...], most: int) -> None:
    print(f"\n{'slices':>7} {'s':>8} {'slices/s':>9} {'exponent':>9}")
    before = None
    count = 1
    while count <= most:
        some = members(batch, count)
        seconds = best_of(2 if count <= 1000 else 1, lambda some=some: run_ensemble(some, legs, ask()))
        exponent = "" if before is None else f"{np.log10(seconds / before):9.3f}"
        print(f"{count:7d} {seconds:8.2f} {count / seconds:9.0f} {exponent}", flush=True)
        before, count = seconds, 10 * count


def nodes(batch: Batch, legs: tuple[Leg, ...]) -> None:
    print(f"\n{'nodes':>6} {'slices/s':>9} {'steps':>6}")
    for n in (12, 24, 48, 96, 192):
        task = Task(members(batch, CHUNK, n), legs, ask())
        start = time.process_time()
        found = work(task)
        print(f"{n:6d} {CHUNK / (time.process_time() - start):9.0f} {found['steps'].max():6d}", flush=True)


def cores(batch: Batch, legs: tuple[Leg, ...]) -> None:
    many = members(batch, 8 * CHUNK)
    one, two = (
        best_of(2, lambda w=w: run_ensemble(many, legs, ask(), executor=processes(w)), time.perf_counter)
        for w in (1, 2)
    )
    print(
        f"\n{8 * CHUNK} slices by the clock: {one:.2f} s on one core, {two:.2f} s on two: {one / two:.2f} times as fast"
    )


def memory(batch: Batch, legs: tuple[Leg, ...]) -> None:
    print(f"\n{'slices':>7} {'peak MB':>8} {'of it per slice kept [B]':>25}")
    for count in (CHUNK, 4 * CHUNK):
        some = members(batch, count)
        tracemalloc.start()
        kept = run_ensemble(some, legs, ask())
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        print(f"{count:7d} {peak / 1e6:8.1f} {sum(v.nbytes for v in kept.values()) / count:25.0f}")


def in_appliance() -> None:
    """Slices in the air of a loaded dehydrator, with the kill of one organism and the states noted."""
    demo, _ = set_air()
    used = appliance_of("appliance", {"use": "stacked dehydrator"}, Path())
    batch = replace(demo, appliance=used)
    start = time.process_time()
    history = run(batch)
    seconds = time.process_time() - start
    legs = legs_in_appliance(batch, clock_of(history), [history], np.zeros((0, 1)))
    task = Task(members(demo, CHUNK), legs, ask(organism="salmonella", series=True))
    print(
        f"\nin the air of a loaded dehydrator, with kill and notes: {CHUNK / best_of(3, lambda: work(task)):.0f} slices/s; "
        f"the dehydrator itself {seconds:.1f} s"
    )


def linear_algebra() -> None:
    rng = np.random.default_rng(1)
    print(f"\none factorisation and four solves, us per slab\n{'slabs':>6} {'band':>7} {'elimination':>12}")
    for m in (1, 8, 32, 64, 128, 256, 512, 1024):
        lower, upper = rng.random((2, 2, 2, 23, m))
        diagonal, r = -rng.random((2, 2, 24, m)), rng.random((2, 24, m))
        diagonal[[0, 1], [0, 1]] -= 4.0
        row = []
        for kind in (BlockTridiagonal, BlockElimination):
            matrix = kind(24, m)

            def once(matrix=matrix, lower=lower, diagonal=diagonal, upper=upper, r=r) -> None:
                for _ in range(5):
                    matrix.factor(0.3, lower, diagonal, upper)
                    for _ in range(4):
                        matrix.solve(r)

            row.append(best_of(3, once) / 5 / m * 1e6)
        print(f"{m:6d} {row[0]:7.1f} {row[1]:12.1f}")


def command() -> None:
    """The command as a person types it, from its start to its last word."""
    text = demo_text().replace('# appliance.use = "oven with fan"', 'appliance.use = "stacked dehydrator"')
    lines = [
        line
        for line in text.replace('"135 degC"', '"71 degC"').splitlines()
        if not line.startswith("speed =")
    ]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "batch.toml"
        path.write_text("\n".join(lines), encoding="utf-8")
        for extra in ([], ["--out", folder]):
            start = time.perf_counter()
            subprocess.run(
                [
                    sys.executable,
                    "-m",
                    "dryingsim",
                    "spread",
                    str(path),
                    "--slices",
                    "4000",
                    "--quiet",
                    *extra,
                ],
                check=True,
                capture_output=True,
            )
            what = "with files and pictures" if extra else "answers only"
            print(
                f"spread, 4000 slices in a loaded dehydrator, {what}: {time.perf_counter() - start:.1f} s by the clock"
            )


def main() -> None:
    reader = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    reader.add_argument("--long", action="store_true", help="up to 100 000 slices (some minutes)")
    most = 100_000 if reader.parse_args().long else 10_000
    machine()
    batch, legs = set_air()
    work(Task(members(batch, 64), legs, ask()))  # warms up
    precision(batch, legs)
    against_lsoda(batch, legs)
    growth(batch, legs, most)
    nodes(batch, legs)
    cores(batch, legs)
    memory(batch, legs)
    in_appliance()
    linear_algebra()
    print()
    command()


if __name__ == "__main__":
    main()
