"""Many slices of many batches like one: when they are done, how far apart they are, and what makes them differ.

Batches are drawn with all that is uncertain about a whole batch, and in each of them slices (see `sampling`). In an
appliance the air of a batch drawn is put together from few runs (`engine.deviations`), and its slices lie in the air of
their tray without acting on it. That holds while many slices share the air; the tests compare it with runs in which they
act.

Stages end by the clock: when the batch as it is meant ends them; but a heating that ends by a temperature inside goes on in
each kitchen until the thickest of its own slices drawn has it (`engine.own_heating`). Where a stage ends by a condition,
slices are also followed beyond, in the same setting, to see when they would have been done.
"""

import os
import pickle
from collections.abc import Callable, Mapping, Sequence
from contextlib import closing
from functools import partial
from pathlib import Path
from typing import get_args

import numpy as np

from dryingsim._version import __version__
from dryingsim.batch.catalog import growth_limits, organisms
from dryingsim.batch.checks import check_choice, check_range
from dryingsim.batch.component_checks import laws_named
from dryingsim.batch.components import Components
from dryingsim.batch.distributions import Correlation, checked_correlations
from dryingsim.batch.schema import Batch, with_components
from dryingsim.batch.uncertainties import (
    LEVELS,
    activity_error_of,
    checked_uncertainties,
    uncertainties_of,
)
from dryingsim.batch.uncertainty import Uncertainty
from dryingsim.engine.checkpoints import Checkpoints
from dryingsim.engine.counts import BINS, CountsOverTime, coded
from dryingsim.engine.ensemble import Numbers, Request, Task, joined, tasks, work
from dryingsim.engine.executors import Workers, each, name_of, results_of_calls, workers_of
from dryingsim.engine.own_heating import heated_until
from dryingsim.engine.segments import Clock, clock_of
from dryingsim.errors import InputError
from dryingsim.explore.laid_slices import kinds, lay
from dryingsim.explore.sampling import Points, draw
from dryingsim.explore.spread_result import Spread
from dryingsim.history import History
from dryingsim.judge.doneness import judge_batch
from dryingsim.judge.exposed import drier_by
from dryingsim.judge.grades import Lethality
from dryingsim.judge.texture import texture_window
from dryingsim.kernels.grid import NODES_OF_MANY
from dryingsim.model.build import build_slabs, slice_area, slice_count
from dryingsim.model.laying import face_area
from dryingsim.simulate import run

FEWEST, MOST = 64, 1_000_000
_BYTES_EACH = 1000.0  # of a slice, in the process that gathers and writes them: measured on 20,000 to 100,000
_SHARE_OF_MEMORY = 0.7  # that a spread may take of a machine's; the system and the workers need some
_NOTES = 120  # states noted per slice, at most
_ROUND_S = (60.0, 120.0, 300.0, 600.0, 900.0, 1800.0, 3600.0)
# Of the steps: as sharp as the grid of a spread, no sharper. Against 60 nodes in a loaded dehydrator, out of boiling marinade:
# 2.4e-4 kg/kg, 9 s of the time when done, 0.005 of a lower bound's log (root mean squares); at half of it 1.8e-4, 6 s, 0.005
TOLERANCE = 2e-3


def spread(
    batch: Batch,
    uncertainties: Mapping[str, Uncertainty] | None = None,
    *,
    correlations: Sequence[Correlation] | None = None,
    points: Points = "sobol",
    slices: int = 4000,
    seed: int = 1,
    batches: int | None = None,
    nodes: int = NODES_OF_MANY,
    components: Components | None = None,
    meant: History | None = None,
    judged: Lethality | None = None,
    executor: Workers = None,
    folder: Path | None = None,
    progress: Callable[[int, int], None] | None = None,
    notice: Callable[[str], None] | None = None,
) -> Spread:
    """Simulate many slices of many batches like one.

    Parameters
    ----------
    batch : Batch
    uncertainties : mapping of Uncertainty, optional
        By the keys of `batch.uncertainties.INPUTS`; where one is left out, as the batch has it or by default.
    correlations : sequence of (str, str, float), optional
        Rank correlations of two inputs each [-]; as the batch has them if left out.
    points : str
        How they fill the space: "sobol" or "latin", see `sampling.draw`.
    slices : int
        How many in all, at least; filled up to the same number in each batch drawn.
    seed : int
    batches : int, optional
        Batches drawn, two or more, see `sampling.draw`.
    nodes : int
        Across each slice; grades are meant for 12 or more.
    components : Components, optional
        Laws to simulate with, in place of those of the batch.
    meant, judged : History and Lethality, optional
        What `dryingsim.run` makes of the batch, and `judge_batch_lethality` of that; worked out here if left out.
    executor : Executor, or a callable that makes one, optional
        See `engine.executors.each`. The result does not depend on it.
    folder : Path, optional
        Where finished chunks are put; those of an earlier, interrupted call of the same work are taken from there.
        `engine.checkpoints.forget` removes them.
    progress : callable, optional
        Called with the number of slices done, and of all.
    notice : callable, optional
        Called with a sentence where something had to be done again.
    """
    batch = with_components(batch, components)
    if batches is not None:
        check_range("batches", batches, batches, 2, slices, "2 to the number of slices")
    uncertainties, pairs = checked_inputs(batch, uncertainties, slices), related(batch, correlations, points)
    drawing = partial(draw, uncertainties, slices, seed, batches, correlations=pairs, points=points)
    if meant is None:
        sample, nominal = results_of_calls([drawing], executor, here=partial(run, batch))
    else:
        sample, nominal = drawing(), meant
    clock = clock_of(nominal)
    laid = lay(nominal, clock, uncertainties, sample, nodes, executor, judged)
    kitchens = sample.batches["setpoint"].size
    in_batch = slice_count(batch, float(face_area(batch, slice_area(batch, build_slabs(batch, 3))).sum()))
    segments, heating = heated_until(
        batch, clock, laid.slices, laid.thickness_m, in_batch, kitchens, laid.segments
    )
    organism = laid.judged.worst.organism
    request = request_of(batch, clock, organism)
    todo = tasks(laid.slices, segments, request, workers=workers_of(executor))
    sizes = [len(task.slices) for task in todo]
    drawn = uncertainties, pairs, points, slices, seed, batches
    identity = batch, drawn, nodes, sizes, BINS, __version__, np.__version__
    checkpoints = Checkpoints(folder, repr((identity, _as_bytes(batch.components))))
    counts = CountsOverTime(request.times_s.size)
    done = {i: counts.take_from(numbers) for i, numbers in checkpoints.load(len(todo))}
    if checkpoints.damaged and notice:
        notice(f"{checkpoints.damaged} of the finished parts in {folder} were damaged; they are done again")
    with laws_named(batch.components):
        _do_missing(todo, done, counts, checkpoints, executor, progress)
    return Spread(
        batch=batch,
        uncertainties=uncertainties,
        correlations=pairs,
        points=points,
        seed=seed,
        sample=sample,
        thickness_m=laid.thickness_m,
        kind=kinds(batch, sample),
        tray=(laid.slices.column % laid.trays).astype(int),
        clock=clock,
        times_s=request.times_s,
        numbers=joined([done[i] for i in range(len(todo))]),
        counts_over_time=counts,
        in_batch=in_batch,
        heating=heating,
        judged=laid.judged,
        organism=organism,
        target_log10=organisms.target(organism, batch.meat.judged_as).log10,
        meant=nominal,
        first_look_s=judge_batch(nominal).doneness.first_look_s,
        look_again_s=texture_window(nominal).look_again_s,
        workers=name_of(executor),
    )


def checked_inputs(
    batch: Batch, uncertainties: Mapping[str, Uncertainty] | None, slices: int
) -> dict[str, Uncertainty]:
    """Return the uncertainties of all inputs; raise where they, or the number of slices, cannot be.

    Parameters
    ----------
    batch : Batch
    uncertainties : mapping of Uncertainty or None
        Those stated beside the batch's own.
    slices : int
    """
    if not FEWEST <= slices <= MOST:
        raise InputError(f"slices = {slices} is outside {FEWEST} to {MOST}")
    _check_memory(slices)
    return uncertainties_of(batch) | checked_uncertainties("uncertainties", uncertainties or {})


def related(batch: Batch, correlations: Sequence[Correlation] | None, points: str) -> tuple[Correlation, ...]:
    """Return the rank correlations; raise where they cannot be, or where there are no such points.

    Parameters
    ----------
    batch : Batch
    correlations : sequence of (str, str, float) or None
        As stated [-]; None: those of the batch.
    points : str
    """
    check_choice("points", points, get_args(Points))
    stated = batch.correlations if correlations is None else correlations
    return checked_correlations("correlations", stated, LEVELS)


def request_of(batch: Batch, clock: Clock, organism: str) -> Request:
    """Return what is wanted of every slice.

    Parameters
    ----------
    batch : Batch
    clock : Clock
    organism : str
    """
    target, error = batch.targets.water_activity, activity_error_of(batch).half_width
    return Request(
        temperature_K=batch.meat.temperature_K,
        times_s=times_of_sample(clock),
        levels=(target + error, target, target - error, growth_limits.texture().brittle),
        organism=organism,
        form=batch.meat.form,
        activity_error=drier_by(batch),
        tolerance=TOLERANCE,
    )


def _as_bytes(components: Components) -> bytes:
    """Return components as they go to workers."""
    try:
        return pickle.dumps(components)
    except Exception as error:  # whatever a class may raise is its fault
        raise InputError(
            f"components do not go to workers: {error}; a law must be a function or a class of a module, no lambda"
        ) from None


def _do_missing(
    todo: Sequence[Task],
    done: dict[int, Numbers],
    counts: CountsOverTime,
    checkpoints: Checkpoints,
    executor: Workers,
    progress: Callable[[int, int], None] | None,
) -> None:
    """Do the chunks that are not done, put their numbers beside the others and their series among the counts."""
    missing = [i for i in range(len(todo)) if i not in done]
    of_all = sum(len(task.slices) for task in todo)
    with closing(each(_work, [todo[i] for i in missing], executor)) as results:
        for k, numbers in results:
            checkpoints.keep(missing[k], numbers)
            done[missing[k]] = counts.take_from(numbers)
            if progress:
                progress(sum(numbers["steps"].size for numbers in done.values()), of_all)


def _work(task: Task) -> Numbers:
    return coded(work(task))


def _check_memory(slices: int) -> None:
    """Refuse, before the work, what this machine's memory cannot hold."""
    try:
        memory = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES")
    except (AttributeError, OSError, ValueError):  # a system that does not tell
        return
    most = int(_SHARE_OF_MEMORY * memory / _BYTES_EACH)
    if slices > most:
        need, have = slices * _BYTES_EACH / 1e9, memory / 1e9
        raise InputError(
            f"{slices} slices need about {need:.1f} GB of memory and this machine has {have:.1f} GB: at most "
            f"{most} fit"
        )


def times_of_sample(clock: Clock) -> np.ndarray:
    """Even times over all that counts for how dry the slices get [s], round ones; and when stages end, however short they are."""
    end = clock.longer_s
    step = min(next((even for even in _ROUND_S if end / even <= _NOTES), 2.0 * _ROUND_S[-1]), end)
    even = step * np.arange(int(end / step + 1e-9) + 1)
    return np.unique([*even.tolist(), *(stage_end for stage_end in clock.ends_s if stage_end < even[-1])])
