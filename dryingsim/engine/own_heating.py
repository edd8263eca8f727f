"""Slices that each kitchen heats until its own thickest is hot inside, as it is told to.

It heats them no shorter than the batch as it is meant takes, as it is told, too: thinner slices by themselves, such as a
portion of them, are hot inside before the heat has done to bacteria what it does in that time.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from dryingsim.batch.schema import Batch
from dryingsim.engine.ensemble import Request, tasks, work
from dryingsim.engine.segments import Clock, Segment
from dryingsim.engine.slices import Slices
from dryingsim.engine.views import down_to

_MOST = 8.0  # times as long as the batch as it is meant takes: then a kitchen gives up
_LEAST = 0.1  # times as long: when the thermometer is read first
_READINGS = 200  # with straight lines between, which errs by less than a thousandth of the time
_TOLERANCE = 5e-3  # of the steps: a hundredth of the time, less than what the depth of a probe does


@dataclass(frozen=True)
class Heating:
    """How kitchens heat their slices before they dry.

    Attributes
    ----------
    heated_s : ndarray, shape (kitchens,)
        For how long [s].
    inside : ndarray of bool, shape (kitchens,)
        Whether the thickest slice got as hot inside as that is to go on for.
    """

    heated_s: np.ndarray
    inside: np.ndarray


def heated_until(
    batch: Batch,
    clock: Clock,
    slices: Slices,
    thickness_m: np.ndarray,
    in_batch: int,
    kitchens: int,
    segments: Sequence[Segment],
) -> tuple[tuple[Segment, ...], Heating | None]:
    """Return the segments with each heating that ends by a temperature inside going on in every kitchen until it is there.

    The thickest of the slices of a kitchen tells, as its thermometer would; what follows is put off by as much.

    Parameters
    ----------
    batch : Batch
    clock : Clock
        By which the segments are.
    slices : Slices
        As many in every kitchen, those of one after the other.
    thickness_m : ndarray, shape (m,)
        Of each when laid on the trays [m].
    in_batch : int
        Slices that a kitchen has, however many are drawn: where they are fewer, the next kitchens' are among them, which differ
        in thickness alike.
    kitchens : int
    segments : sequence of Segment
        As `segments.segments_in_given_air` or `segments.segments_in_appliance` gives them.

    Returns
    -------
    tuple
        The segments; how each kitchen heats, None where no temperature inside ends that.
    """
    found, heated_s, inside = tuple(segments), np.zeros(kitchens), None
    of_each = slices.column[_first(thickness_m.size, kitchens)]
    taking_time = [i for i, (start, end) in enumerate(pairwise((0.0, *clock.ends_s))) if end > start]
    for k, i in enumerate(taking_time):
        stage = batch.stages[i]
        if not found[k].before:
            break
        if stage.kind == "rest":
            continue
        if stage.until is not None and stage.until.core_temperature_K is not None and found[k].beside:
            thickest = _thickest(slices, thickness_m, in_batch, kitchens)
            limit_s = stage.duration_s or np.inf
            later, there = _inside_at(
                thickest, found[: k + 1], stage.until.core_temperature_K, batch, limit_s
            )
            found = _put_off(found, k, np.repeat(later, found[k].air_history.columns // kitchens))
            inside = there if inside is None else inside & there
        start, end = found[k].span(of_each)
        heated_s = heated_s + end - start
    return found, None if inside is None else Heating(heated_s, inside)


def _first(m: int, kitchens: int) -> np.ndarray:
    """Return the first of the slices of each kitchen."""
    return np.arange(kitchens) * (m // kitchens)


def _thickest(slices: Slices, thickness_m: np.ndarray, in_batch: int, kitchens: int) -> Slices:
    """Return the thickest of the slices of each kitchen, where that kitchen has it."""
    m = thickness_m.size
    first = _first(m, kitchens)
    own = (first[:, None] + np.arange(min(in_batch, m))) % m
    which = own[np.arange(kitchens), thickness_m[own].argmax(axis=1)]
    return replace(slices.take(which), column=slices.column[first])


def _inside_at(
    slices: Slices, segments: Sequence[Segment], core_K: float, batch: Batch, longest_s: float
) -> tuple[np.ndarray, np.ndarray]:
    """How long after the end by the clock slices get to a temperature inside in the last of some segments.

    Returns
    -------
    tuple of ndarray, shape (m,)
        [s]; and whether they get there before it ends anyway.
    """
    columns = np.broadcast_to(segments[-1].end_s, (segments[-1].air_history.columns,)).copy()
    start, end = segments[-1].span(slices.column)
    limit = start + np.minimum(_MOST * (end - start), longest_s)
    columns[slices.column] = limit
    readings = start.min() + np.geomspace(_LEAST, _MOST, _READINGS) * (end - start).max()
    request = Request(
        temperature_K=batch.meat.temperature_K,
        times_s=np.concatenate([[0.0], readings]),
        tolerance=_TOLERANCE,
    )
    parts = tasks(slices, (*segments[:-1], replace(segments[-1], end_s=columns)), request)
    met = np.concatenate([down_to(request.times_s, -work(task)["series_core_K"], -core_K) for task in parts])
    return np.clip(met, end, np.maximum(limit, end)) - end, met <= limit


def _put_off(segments: Sequence[Segment], k: int, later_s: np.ndarray) -> tuple[Segment, ...]:
    """Return segments of which one ends later in each column, shape (c,), and those after it begin and end later."""
    return tuple(
        replace(
            segment,
            start_s=segment.start_s + later_s if i > k else segment.start_s,
            end_s=segment.end_s + later_s if i >= k else segment.end_s,
            since_s=segment.since_s + later_s if i > k and segment.since_s is not None else segment.since_s,
        )
        for i, segment in enumerate(segments)
    )
