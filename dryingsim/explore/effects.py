"""First-order and total effects of what is uncertain, by slices drawn for that: two samples, and mixtures of them.

Rank correlations (`Spread.influences`) come with a spread for nothing, but miss what goes up and down, and what acts through
something else. These effects miss neither; they cost a sample of their own. A row of it is a single slice, no kitchen with a
thickest one, so a heating goes by the clock of the batch as it is meant.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from dryingsim.batch.checks import check_seed
from dryingsim.batch.component_checks import laws_named
from dryingsim.batch.components import Components
from dryingsim.batch.distributions import Correlation, linked
from dryingsim.batch.schema import Batch, with_components
from dryingsim.batch.uncertainties import INPUTS
from dryingsim.batch.uncertainty import Uncertainty
from dryingsim.engine.ensemble import run_ensemble
from dryingsim.engine.executors import Workers
from dryingsim.engine.segments import clock_of
from dryingsim.errors import InputError
from dryingsim.explore.effect_shares import Effect, Effects, shares
from dryingsim.explore.laid_slices import lay
from dryingsim.explore.sampling import keys_of, placed, sobol
from dryingsim.explore.spread import checked_inputs, related, request_of
from dryingsim.explore.spread_result import ranks
from dryingsim.kernels.grid import NODES_OF_MANY
from dryingsim.simulate import run

FEWEST_ROWS = 32
CHOICES = ("class", "tray")  # drawn with every slice beside its inputs


def effects(
    batch: Batch,
    uncertainties: Mapping[str, Uncertainty] | None = None,
    *,
    correlations: Sequence[Correlation] | None = None,
    slices: int = 4000,
    seed: int = 1,
    nodes: int = NODES_OF_MANY,
    components: Components | None = None,
    executor: Workers = None,
) -> Effects:
    """Return how much of what differs between slices goes with each thing that is uncertain.

    Parameters
    ----------
    batch : Batch
    uncertainties, correlations
        See `dryingsim.spread`. Inputs that correlate have no effects apart: theirs are of all of them together.
    slices : int
        To simulate, at most. The rows of points are a power of two.
    seed : int
    nodes : int
        Across each slice.
    components : Components, optional
        Laws to simulate with, in place of those of the batch.
    executor : Executor, or a callable that makes one, optional
        See `engine.executors.each`. The result does not depend on it.
    """
    check_seed("effects", seed)
    batch = with_components(batch, components)
    stated, pairs = checked_inputs(batch, uncertainties, slices), related(batch, correlations, "sobol")
    meant = run(batch)
    groups = _groups(batch, stated, pairs, int(meant.tray.max()) + 1)
    rows = 2 ** int(np.log2(max(slices / (len(groups) + 2), 1.0)))
    if rows < FEWEST_ROWS:
        least = FEWEST_ROWS * (len(groups) + 2)
        raise InputError(
            f"slices = {slices}: {least} or more are expected for effects of {len(groups)} inputs"
        )
    of_batch, of_slice = _mixed(groups, rows, seed)
    clock = clock_of(meant)
    laid = lay(meant, clock, stated, placed(stated, of_batch, of_slice, pairs), nodes, executor)
    request = request_of(batch, clock, laid.judged.worst.organism)
    with laws_named(batch.components):
        numbers = run_ensemble(laid.slices, laid.segments, replace(request, series=False), executor=executor)
    time, reduction = (
        _effects(values, groups, rows, seed) for values in (numbers["done_s"][1], numbers["lower"])
    )
    return Effects(rows=rows, slices=of_slice.shape[1], seed=seed, of_time=time, of_reduction=reduction)


def _groups(
    batch: Batch, uncertainties: Mapping[str, Uncertainty], pairs: Sequence[Correlation], trays: int
) -> dict[str, tuple[str, ...]]:
    """Return what is exchanged together, by name."""
    own: dict[str, tuple[str, ...]] = {key: (key,) for key in INPUTS if uncertainties[key].size > 0.0}
    for key in linked(pairs):
        own.setdefault(key, (key,))
    for first, second, _ in pairs:
        joint = tuple(key for key in INPUTS if key in {*own[first], *own[second]})
        own |= dict.fromkeys(joint, joint)
    groups = {" + ".join(keys): keys for keys in own.values()}
    if len(batch.meat.classes) > 1:
        groups["class"] = ("class",)
    if trays > 1:
        groups["tray"] = ("tray",)
    return groups


def _mixed(groups: Mapping[str, tuple[str, ...]], rows: int, seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Return even numbers of the batches and of the slices: two samples, then the first with each group of the second."""
    names = [*keys_of("batch"), *keys_of("slice"), *CHOICES]
    a, b = np.split(sobol(2 * len(names), rows, seed), 2)
    parts = [a, b]
    for keys in groups.values():
        own = np.isin(names, keys)[:, None]
        parts.append(np.where(own, b, a))
    even, count = np.concatenate(parts, axis=1), len(keys_of("batch"))
    return even[:count], even[count:]


def _effects(
    values: np.ndarray, groups: Mapping[str, tuple[str, ...]], rows: int, seed: int
) -> dict[str, Effect]:
    by_part = ranks(values).reshape(-1, rows)
    found = zip(groups, shares(by_part[0], by_part[1], by_part[2:], seed), strict=True)
    return dict(sorted(found, key=lambda item: -item[1].total))
