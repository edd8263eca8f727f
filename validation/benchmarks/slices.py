"""Many slices: how fast, how exact, how it grows. `python -m validation.benchmarks.slices [--long] [--write]`.

Slices of 3.5 to 7 mm in set air (68 degC from an ordinary room) for eight hours, on the default nodes; every number is measured
in this run. Other solvers get the same right-hand side, one slice after the other, with the setting that comes nearest in
error: LSODA and BDF of scipy told the band, and a general PDE package (`pde_package`) where it is installed. Times are
processor seconds, but for those of several processes and of the command, which are by the clock. Other work on the
machine makes caches and clocks slower; the load is printed. `--write` keeps what is printed in `slices.md`.

Why the method is what it is, by what `precision` and `choices` print (the numbers of the last run that was kept are in
`slices.md`): order three, because an error ten times smaller then takes about twice the steps and 5e-4 kg/kg some
fifty; a factorisation for every step, because one kept for two steps takes more steps than it saves time; own steps for
each slice, not for their number, which is a little smaller only, but because a slice's numbers then do not depend on
its company; chunks of 3072, whose arrays still fit a large cache and are long enough to hide the overhead.
"""

import argparse
import os
import platform
import subprocess
import sys
import tempfile
import time
import tracemalloc
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import redirect_stdout
from dataclasses import replace
from pathlib import Path

import numpy as np

from dryingsim.batch.reading.appliance_file import appliance_of
from dryingsim.batch.reading.batch_file import demo_text
from dryingsim.batch.schema import Batch
from dryingsim.engine.air_history import ApplianceAirHistory
from dryingsim.engine.appliance_ensemble import run_appliances
from dryingsim.engine.deviations import deviated
from dryingsim.engine.ensemble import (
    CHUNK,
    TOLERANCE,
    Task,
    run_ensemble,
    tasks,
    work,
)
from dryingsim.engine.segments import (
    Segment,
    SliceAir,
    clock_of,
    segments_in_appliance,
)
from dryingsim.engine.slices import Slices
from dryingsim.explore.spread import TOLERANCE as OF_SPREAD
from dryingsim.kernels.blocks import BlockElimination, BlockTridiagonal
from dryingsim.kernels.grid import NODES, NODES_OF_MANY
from dryingsim.kernels.own_steps import OwnSteps
from dryingsim.kernels.rosenbrock import Stepper
from dryingsim.model.build import build_slabs
from dryingsim.model.system import SlabSystem
from dryingsim.simulate import run
from validation.benchmarks import pde_package
from validation.benchmarks.__main__ import Interleaved, errors
from validation.benchmarks.chunk import END_S, NOTED_S, best_of, request, set_air, slices_
from validation.benchmarks.ratio import SLICES, passes

MAP = ["map", "--over", "meat.thickness = 3 to 8 mm in 21", "--over", "stage.2.air = 55 to 75 degC in 21"]
PACKAGE_NODES = 96  # of the PDE package, whose cells are of second order: as sharp as the default nodes here
RTOL = (1e-2, 3e-3, 1e-3, 3e-4, 1e-4, 3e-5)


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


Rows = list[tuple[str, str]]  # of the table at the end


def precision(batch: Batch, segments: tuple[Segment, ...]) -> Rows:
    some = slices_(batch, 64)
    exact = run_ensemble(some, segments, request(series=True, tolerance=1e-6))
    many = slices_(batch, CHUNK)
    print("work and precision: one chunk, one core")
    print(f"{'tolerance':>10} {'slices/s':>9} {'steps':>6} {'error X [kg/kg]':>16} {'error T core [K]':>17}")
    for tolerance in (3e-3, 1e-3, 3e-4, 1e-4):
        found = run_ensemble(some, segments, request(series=True, tolerance=tolerance))
        miss = [np.abs(found[f"series_{k}"] - exact[f"series_{k}"]).max() for k in ("moisture_db", "core_K")]
        task = Task(many, segments, request(tolerance=tolerance))
        seconds = best_of(3, lambda task=task: work(task))
        print(
            f"{tolerance:10.0e} {CHUNK / seconds:9.0f} {found['steps'].max():6d} {miss[0]:16.1e} {miss[1]:17.2f}"
        )
        if tolerance == TOLERANCE:
            rate = f"{CHUNK / seconds:.0f} slices/s, error {miss[0]:.1e} kg/kg in mean moisture"
    return [(f"set air, 8 h, {NODES_OF_MANY} nodes, one core", rate)]


def others(batch: Batch, segments: tuple[Segment, ...], long: bool) -> Rows:
    """Other solvers on the same slice: of what comes as near, the fastest; or the nearest, where nothing does."""
    per_class = replace(batch.meat.classes[0], share=1.0, thickness_m=5e-3)
    single = replace(batch, meat=replace(batch.meat, classes=(per_class,)))
    history = run(single, tolerance=1e-7, interval_s=NOTED_S)
    exact = history.mean_moisture_db[:, 0]
    own = Slices(build_slabs(single, NODES), np.zeros(1, dtype=np.intp), np.ones(1))
    target = np.abs(
        run_ensemble(own, segments, request(series=True))["series_moisture_db"][:, 0] - exact
    ).max()
    task = Task(slices_(batch, CHUNK), segments, request())
    each = best_of(3, lambda: work(task)) / CHUNK
    rows = [(f"here, {CHUNK} at once", f"{TOLERANCE:g}", target, each)]

    def by_scipy(method: str, rtol: float) -> float:
        with np.errstate(all="ignore"):
            return errors(*Interleaved(single).solve(history.time_s, rtol, method), history)[0]

    for method in ("LSODA", "BDF"):
        tried = [(f"rtol {r:g}", lambda m=method, r=r: by_scipy(m, r)) for r in RTOL]
        rows.append((f"scipy {method}", *nearest(tried, target)))
    if pde_package.installed():
        steps = (1, 2, 4, 8, 16) if long else (2, 4)

        def by_package(count: int) -> float:
            return float(
                np.abs(pde_package.mean_moisture(single, PACKAGE_NODES, history.time_s, count) - exact).max()
            )

        tried = [(f"{6 * n} steps/h", lambda n=n: by_package(n)) for n in steps]
        rows.append((f"{pde_package.NAME}, implicit Euler", *nearest(tried, target)))
    else:
        rows.append((f"{pde_package.NAME} (not installed)", "-", float("nan"), float("nan")))
    print(
        "\none slice of 5 mm against other solvers: error in mean moisture over eight hours, processor time"
    )
    print("| solver | setting | error [kg/kg] | ms per slice | times as long |\n|---|---|---|---|---|")
    for name, setting, miss, seconds in rows:
        print(f"| {name} | {setting} | {miss:.1e} | {1e3 * seconds:.3g} | {seconds / each:.3g} |", flush=True)
    return [
        (f"{name} ({setting}), one slice", f"{seconds / each:.3g} times as long, error {miss:.1e} kg/kg")
        for name, setting, miss, seconds in rows[1:]
        if np.isfinite(seconds)
    ]


def nearest(tried: Sequence[tuple[str, Callable[[], float]]], target: float) -> tuple[str, float, float]:
    """Of several settings the fastest within twice the target error, else the nearest: setting, error, time [s]."""
    found = []
    for setting, solve in tried:
        start = time.process_time()
        miss = solve()
        found.append((setting, miss, time.process_time() - start))
    able = [one for one in found if one[1] <= 2.0 * target]
    return min(able, key=lambda one: one[2]) if able else min(found, key=lambda one: one[1])


def growth(batch: Batch, segments: tuple[Segment, ...], most: int) -> None:
    print(f"\n{'slices':>7} {'s':>8} {'slices/s':>9} {'exponent':>9}")
    before = None
    count = 1
    while count <= most:
        some = slices_(batch, count)
        seconds = best_of(
            2 if count <= 1000 else 1, lambda some=some: run_ensemble(some, segments, request())
        )
        exponent = "" if before is None else f"{np.log10(seconds / before):9.3f}"
        print(f"{count:7d} {seconds:8.2f} {count / seconds:9.0f} {exponent}", flush=True)
        before, count = seconds, 10 * count


def nodes(batch: Batch, segments: tuple[Segment, ...]) -> None:
    """What the grid costs and how far it is off a fine one, at steps that add nothing."""
    names = ("moisture_db", "core_K")
    fine = run_ensemble(slices_(batch, 8, 250), segments, request(series=True, tolerance=1e-6))
    print(f"\n{'nodes':>6} {'slices/s':>9} {'steps':>6} {'error X [kg/kg]':>16} {'error T core [K]':>17}")
    for n in (8, 12, 16, 20, 24, 48):
        found = run_ensemble(slices_(batch, 8, n), segments, request(series=True, tolerance=1e-6))
        miss = [np.abs(found[f"series_{k}"] - fine[f"series_{k}"]).max() for k in names]
        task = Task(slices_(batch, CHUNK, n), segments, request())
        seconds = best_of(3, lambda task=task: work(task))
        steps = work(task)["steps"].max()
        print(f"{n:6d} {CHUNK / seconds:9.0f} {steps:6d} {miss[0]:16.1e} {miss[1]:17.3f}", flush=True)


def total(batch: Batch, segments: tuple[Segment, ...]) -> Rows:
    """Error of grid and steps together, by nodes and tolerance: what a chunk costs for how sharp it is in all."""
    names = ("moisture_db", "core_K")
    fine = run_ensemble(slices_(batch, 16, 160), segments, request(series=True, tolerance=1e-6))
    print(
        f"\n{'nodes':>6} {'tolerance':>10} {'slices/s':>9} {'total error X [kg/kg]':>22} {'T core [K]':>11}, grid and steps"
    )
    best = 0.0
    for n, tolerance in (
        (20, 1e-3),
        (16, 1e-3),
        (16, 1.5e-3),
        (12, 1e-3),
        (12, 1.5e-3),
        (10, 1e-3),
        (10, 1.5e-3),
    ):
        found = run_ensemble(slices_(batch, 16, n), segments, request(series=True, tolerance=tolerance))
        miss = [np.abs(found[f"series_{k}"] - fine[f"series_{k}"]).max() for k in names]
        task = Task(slices_(batch, CHUNK, n), segments, request(tolerance=tolerance))
        rate = CHUNK / best_of(3, lambda task=task: work(task))
        print(f"{n:6d} {tolerance:10.1e} {rate:9.0f} {miss[0]:22.1e} {miss[1]:11.2f}", flush=True)
        best = max(best, rate if miss[0] <= 1e-3 else 0.0)
    return [("set air, 8 h, the cheapest grid and steps within 1e-3 kg/kg in all", f"{best:.0f} slices/s")]


def timed_work(task: Task) -> float:
    """Do a chunk; the processor time it took [s]."""
    start = time.process_time()
    work(task)
    return time.process_time() - start


def cores(batch: Batch, segments: tuple[Segment, ...]) -> Rows:
    """Two workers against one; how much slower a chunk is while the other core works too is the machine's part."""
    todo = tasks(slices_(batch, 6 * CHUNK), segments, request())
    best = {1: (np.inf, np.inf), 2: (np.inf, np.inf)}
    for turn in range(6):  # in turns, so that other work on the machine falls on both
        workers = 1 + turn % 2
        start = time.perf_counter()
        with ProcessPoolExecutor(workers) as pool:
            seconds = sum(pool.map(timed_work, todo))
        best[workers] = min(best[workers], (time.perf_counter() - start, seconds))
    (one, alone), (two, both) = best[1], best[2]
    print(
        f"\n{6 * CHUNK} slices by the clock: {one:.2f} s on one core, {two:.2f} s on two: {one / two:.2f} times as fast; "
        f"processor time for the same chunks {alone:.2f} s with the other core idle, {both:.2f} s with both at work, so "
        f"the machine allows {2.0 * alone / both:.2f}"
    )
    return [
        (
            "two cores against one",
            f"{one / two:.2f} times as fast (the machine allows {2.0 * alone / both:.2f})",
        )
    ]


def choices(batch: Batch, segments: tuple[Segment, ...]) -> None:
    """Size of a chunk, own steps against shared ones, and what a kept factorisation could save at most."""
    print("\nsize of a chunk: slices/s")
    sizes = (96, 192, 384, 768, 1536, 3072, 6144)
    many = slices_(batch, sizes[-1])
    for size in sizes:
        todo = tasks(many.take(slice(0, max(size, 768))), segments, request(), chunk=size)
        seconds = best_of(3, lambda todo=todo: [work(one) for one in todo])
        print(f"{size:6d} {max(size, 768) / seconds:8.0f}")
    some, air = many.take(slice(0, 768)), segments[0]
    system = SlabSystem(some.slabs, SliceAir(air, some.column, some.film_factor), TOLERANCE, BlockElimination)
    start = system.initial(some.slabs.initial_moisture_db, 277.15)
    own = OwnSteps(system, 0.0, END_S, start.reshape(-1, 768), 0.1)
    sweeps = 0
    while own.active.any():
        own.sweep()
        sweeps += 1
    shared = Stepper(_Shared(system), 0.0, start)
    while shared.t < END_S:
        shared.step(END_S)
    kept = Stepper(_Shared(system, every=2), 0.0, start)
    while kept.t < END_S:
        kept.step(END_S)
    tried, old = shared.statistics.factorisations, kept.statistics.factorisations
    print(f"own steps: {sweeps} sweeps until the last of 768 arrives; one step for all: {tried}")
    print(f"the matrix of every second step used for two: {old} steps for all")
    t, h = np.zeros(768), np.full(768, 0.3)
    each = {
        "right-hand side": best_of(5, lambda: system.rhs(t, start.copy())),
        "linearise": best_of(5, lambda: system.linearize(t, start)),
        "factor": best_of(5, lambda: system.factor(h)),
        "solve": best_of(5, lambda: system.solve(start)),
    }
    step = 4.0 * each["right-hand side"] + each["linearise"] + each["factor"] + 4.0 * each["solve"]
    part = (each["linearise"] + each["factor"]) / step
    parts = ", ".join(f"{name} {1e3 * seconds:.1f} ms" for name, seconds in each.items())
    print(
        f"of a step of 768 slices: {parts}; a matrix that was kept would save {100.0 * part:.0f} % of its time at most"
    )


class _Shared:
    """The same slices with one step for all; the matrix is that of every step, or of every few."""

    def __init__(self, system: SlabSystem, every: int = 1) -> None:
        self._of, self._ones, self._every, self._count = system, np.ones(system.m), every, 0

    def rhs(self, t: float, y: np.ndarray) -> np.ndarray:
        return self._of.rhs(t * self._ones, y)

    def linearize(self, t: float, y: np.ndarray) -> None:
        if self._count % self._every == 0:
            self._of.linearize(t * self._ones, y)
        self._count += 1

    def factor(self, shift: float) -> None:
        self._of.factor(shift)

    def weigh(self, u: np.ndarray) -> np.ndarray:
        return self._of.weigh(u)

    def solve(self, r: np.ndarray) -> np.ndarray:
        return self._of.solve(r)

    def error_norm(self, error: np.ndarray, y: np.ndarray) -> float:
        return self._of.error_norm(error, y)


def memory(batch: Batch, segments: tuple[Segment, ...]) -> None:
    print(f"\n{'slices':>7} {'peak MB':>8} {'of it per slice kept [B]':>25}")
    for count in (CHUNK, 4 * CHUNK):
        some = slices_(batch, count)
        tracemalloc.start()
        kept = run_ensemble(some, segments, request())
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        print(f"{count:7d} {peak / 1e6:8.1f} {sum(v.nbytes for v in kept.values()) / count:25.0f}")


def in_appliance() -> Rows:
    """Slices in the air of a loaded dehydrator, with the log reduction of one organism and the states noted."""
    demo, _ = set_air()
    used = appliance_of("appliance", {"use": "stacked dehydrator"}, Path())
    batch = replace(demo, appliance=used)
    history = run(batch)
    seconds = best_of(2, lambda: run(batch))
    segments = segments_in_appliance(
        batch, clock_of(history), [ApplianceAirHistory.of_run(history)], np.zeros((0, 1))
    )
    wanted = request(organism="salmonella", series=True, tolerance=OF_SPREAD)
    fine = run_ensemble(slices_(demo, 16, 160), segments, replace(wanted, tolerance=1e-6))
    found = run_ensemble(slices_(demo, 16), segments, wanted)
    error = np.nanmax(np.abs(found["series_moisture_db"] - fine["series_moisture_db"]))
    bound = np.abs(found["lower"] - fine["lower"]).max()
    task = Task(slices_(demo, CHUNK), segments, wanted)
    rate = CHUNK / best_of(3, lambda: work(task))
    print(
        f"\nin the air of a loaded dehydrator, with log reductions and notes: {rate:.0f} slices/s, total error {error:.1e} "
        f"kg/kg, {bound:.3f} log of a lower bound; the dehydrator itself {seconds:.2f} s"
    )
    print(
        "appliances side by side, each with steps of its own: s for each; error of their air [K], mean and largest"
    )
    exact = ApplianceAirHistory.of_run(run(batch, tolerance=1e-6))
    for count in (1, 3, 9, 27):
        batches = [deviated(batch, {"setpoint": -0.1 * k})[0] for k in range(count)]
        seconds = best_of(2, lambda batches=batches: run_appliances(batches)) / count
        found = run_appliances(batches)[0]
        at = np.array([np.interp(exact.time_s, found.time_s, one) for one in found.cell_temperature_K.T]).T
        miss = np.abs(at - exact.cell_temperature_K)
        print(f"{count:6d} {seconds:8.3f} {miss.mean():8.3f} {miss.max():8.2f}", flush=True)
    return [
        (
            "in the air of a loaded dehydrator, with log reductions and notes, one core",
            f"{rate:.0f} slices/s, total error {error:.1e} kg/kg in mean moisture",
        ),
        ("loaded dehydrators, 27 side by side, one core", f"{seconds:.3f} s each"),
    ]


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


def command() -> Rows:
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
        Path(folder, "air.toml").write_text(demo_text(), encoding="utf-8")
        wanted = (
            ("spread, 4000 slices in a loaded dehydrator, answers only", ["spread", "--slices", "4000"]),
            ("the same with files and pictures", ["spread", "--slices", "4000", "--out", folder]),
            ("map of 21 x 21 points in set air, with files and pictures", [*MAP, "--out", folder]),
        )
        rows = []
        for what, (name, *options) in wanted:
            file = folder + ("/air.toml" if name == "map" else "/batch.toml")
            seconds = best_of(
                2, lambda words=[name, file, *options, "--quiet"]: called(words), time.perf_counter
            )
            print(f"{what}: {seconds:.1f} s by the clock, from start to end", flush=True)
            rows.append((what, f"{seconds:.1f} s by the clock"))
    return rows


def answers() -> Rows:
    """What a person waits for, by processor time of the command and all it starts."""
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        place = Path(__file__).parents[2] / "examples"
        wanted = (
            ("run with pictures", ["run", str(place / "stacked_dehydrator.toml"), "--out", folder]),
            (
                "learn from weighings",
                ["learn", str(place / "stacked_dehydrator.toml"), str(place / "weigh_ins.csv")],
            ),
            ("plan", ["plan", str(place / "plan_next_batch.toml")]),
        )
        for what, words in wanted:
            before = os.times()
            called([*words, "--quiet"])
            after = os.times()
            spent = (
                after.children_user + after.children_system - before.children_user - before.children_system
            )
            print(f"{what}: {spent:.1f} s of processor time", flush=True)
            rows.append((what, f"{spent:.1f} s of processor time"))
    return rows


def called(words: list[str]) -> None:
    subprocess.run([sys.executable, "-m", "dryingsim", *words], check=True, capture_output=True)


class _Both:
    """Standard output that is kept too."""

    def __init__(self) -> None:
        self.kept: list[str] = []
        self._out = sys.stdout

    def write(self, text: str) -> int:
        self.kept.append(text)
        return self._out.write(text)

    def flush(self) -> None:
        self._out.flush()


def main() -> None:
    reader = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    reader.add_argument("--long", action="store_true", help="up to 100 000 slices (some minutes)")
    reader.add_argument(
        "--write", action="store_true", help="keep what is printed in slices.md beside this file"
    )
    typed = reader.parse_args()
    out = _Both()
    with redirect_stdout(out):  # type: ignore[type-var]
        measure(typed.long)
    if typed.write:
        text = (
            "# Many slices, as measured\n\nWritten by `python -m validation.benchmarks.slices --write`.\n\n"
        )
        body = "".join(out.kept)
        Path(__file__).with_suffix(".md").write_text(f"{text}```text\n{body}```\n", encoding="utf-8")


def measure(long: bool) -> None:
    machine()
    batch, segments = set_air()
    work(Task(slices_(batch, 64), segments, request()))  # warms up
    rows = precision(batch, segments)
    choices(batch, segments)
    rows += others(batch, segments, long)
    growth(batch, segments, 100_000 if long else 10_000)
    nodes(batch, segments)
    rows += total(batch, segments)
    rows += cores(batch, segments)
    memory(batch, segments)
    rows += in_appliance()
    linear_algebra()
    rows.append((f"{SLICES} slices over eight hours", f"{passes():.0f} passes of numpy over their nodes"))
    print()
    rows += command()
    rows += answers()
    print("\n| what | measured |\n|---|---|")
    for what, measured in rows:
        print(f"| {what} | {measured} |")


if __name__ == "__main__":
    main()
