"""Verdicts on many slices at many times each: those of `judge.verdict`, with three differences, all on the side of caution.

A lower bound counts less what the engine may be off. Growth counts, of every interval, the faster of the rates at its two
ends. And whatever humidity is set was not measured.
"""

from dataclasses import dataclass

import numpy as np

from dryingsim.batch.catalog.growth_models import growers, growth_model
from dryingsim.batch.catalog.organisms import organisms, target
from dryingsim.batch.learned import may_gain
from dryingsim.batch.schema import Batch, Form
from dryingsim.judge.exposed import exposed_nodes
from dryingsim.judge.federal_table import COME_UP_K
from dryingsim.judge.grades import GRADES
from dryingsim.judge.growth import growth_rate
from dryingsim.judge.growth_places import NodeHeights
from dryingsim.judge.growth_time import LONGEST_H, WET
from dryingsim.judge.reductions import grade_of
from dryingsim.judge.relied_air import covered

_ENGINE_LOG10 = 0.05  # how far the engine's lower bound may be off that of a run (tests/explore/test_maps.py)
_MET = GRADES.index("met")
_HOUR_S = 3600.0


@dataclass(frozen=True)
class Seen:
    """What is seen of `p` slices at `t` times of each, from when they are raw on; at `j` of these they are judged.

    Attributes
    ----------
    time_s : ndarray, shape (t, p)
    moisture_db, temperature_K, water_activity : ndarray, shape (t, nodes, p)
        [kg/kg], [K], [-].
    judged : ndarray of int, shape (j,)
        Which of the times.
    lower, best : ndarray, shape (j, organisms, p)
        Log10 reduction so far, in the order of the catalog: lower 95 % bound and best estimate.
    height_m : ndarray, shape (nodes, p)
        Of the nodes in the raw slices [m].
    lower_open : ndarray of bool, shape (p,)
        Whether air reaches the lower surface.
    """

    time_s: np.ndarray
    moisture_db: np.ndarray
    temperature_K: np.ndarray
    water_activity: np.ndarray
    judged: np.ndarray
    lower: np.ndarray
    best: np.ndarray
    height_m: np.ndarray
    lower_open: np.ndarray


@dataclass(frozen=True)
class Verdicts:
    """Verdicts on slices taken out at the times at which a `Seen` is judged, each (j, p); see `followed.Followed`.

    Attributes
    ----------
    grade : ndarray
        Index of the grade in `GRADES`.
    organism : ndarray
        Index of the organism that limits.
    lower : ndarray
        Lower bound of its log10 reduction.
    best : ndarray
        Best estimate of it.
    grown : ndarray
        Whether bacteria may have multiplied too much.
    """

    grade: np.ndarray
    organism: np.ndarray
    lower: np.ndarray
    best: np.ndarray
    grown: np.ndarray


def graded(batch: Batch, seen: Seen, relied: Seen) -> Verdicts:
    """Judge slices at the times at which they are to be judged.

    Parameters
    ----------
    batch : Batch
        One of those they are of: its meat, and how it lies.
    seen, relied : Seen
        The slices in the air that is set, and at the same times in the air that can be relied on.
    """
    goals = np.array([target(key, batch.meat.judged_as).log10 for key in organisms()])[:, None]
    grown = growth_warned(seen, batch.meat.form)
    grades = _grades(seen, goals, grown)
    shown = _grades(relied, goals, growth_warned(relied, batch.meat.form)) == _MET
    held_back = "not shown" if covered(batch) or may_gain(batch) else "met only if measured"
    grades = np.where((grades == _MET) & ~shown, GRADES.index(held_back), grades)
    lower = np.maximum(seen.lower - _ENGINE_LOG10, 0.0)
    worst = (grades + 1e-3 * np.clip(lower - goals, -100.0, 100.0)).argmin(axis=1)[:, None]

    def of_worst(values: np.ndarray) -> np.ndarray:
        return np.take_along_axis(values, worst, axis=1)[:, 0]

    return Verdicts(of_worst(grades), worst[:, 0], of_worst(lower), of_worst(seen.best), grown)


def _grades(seen: Seen, goals: np.ndarray, grown: np.ndarray) -> np.ndarray:
    """Return the grade of every organism, shape (j, organisms, p); none is met where bacteria may have grown before."""
    lower = np.maximum(seen.lower - _ENGINE_LOG10, 0.0)
    grades = np.vectorize(lambda bound, best, goal: GRADES.index(grade_of(bound, best, goal)), otypes=[int])(
        lower, seen.best, goals
    )
    before = np.logical_or.accumulate((grades == _MET).all(axis=1) & ~grown, axis=0)
    unshown = (grown & ~before)[:, None] & (grades == _MET)
    return np.where(unshown, GRADES.index("not shown"), grades)


def growth_warned(seen: Seen, form: Form) -> np.ndarray:
    """Return whether bacteria may have multiplied too much, or had the time to, by each time judged, shape (j, p).

    Parameters
    ----------
    seen : Seen
    form : str
        Of the meat: where bacteria may sit.
    """
    low, high = COME_UP_K
    warm_wet = (
        (seen.temperature_K >= low) & (seen.temperature_K <= high) & (seen.water_activity > WET)
    ).astype(float)
    warned = (_total(seen, warm_wet) / _HOUR_S > LONGEST_H).any(axis=1)
    places = exposed_nodes(form, seen.height_m.shape[0])
    depth = NodeHeights(height_m=seen.height_m, lower_open=seen.lower_open).depth_m
    for key in growers():
        model = growth_model(key)
        if model.limit_log10 is None:
            continue
        multiplied = _total(seen, growth_rate(key, seen.temperature_K, seen.water_activity)) / np.log(10.0)
        if model.airless_m is not None:
            multiplied = np.where(depth > model.airless_m, multiplied, 0.0)
        warned |= (multiplied[:, places] > model.limit_log10).any(axis=1)
    return np.asarray(warned)[seen.judged]


def _total(seen: Seen, rate: np.ndarray) -> np.ndarray:
    """Return the integral of a rate [1/s] up to every time, of each interval the higher end; shape (t, nodes, p)."""
    higher = np.maximum(rate[1:], rate[:-1]) * np.diff(seen.time_s, axis=0)[:, None]
    return np.concatenate([np.zeros_like(rate[:1]), higher.cumsum(axis=0)])
