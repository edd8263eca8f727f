"""Batches side by side: the same meat in other appliances, on other schedules."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from dryingsim.batch.schema import Batch
from dryingsim.errors import InputError
from dryingsim.history import History
from dryingsim.judge.doneness import Answers, judge_batch
from dryingsim.judge.energy import Energy, Price, judge_energy
from dryingsim.judge.grades import GRADES, Lethality
from dryingsim.judge.taking_off import held_activity
from dryingsim.judge.trays import judge_trays
from dryingsim.judge.verdict import judge_batch_lethality
from dryingsim.kitchen.loads import loads_of
from dryingsim.lazy_import import from_above
from dryingsim.simulate import run

if TYPE_CHECKING:
    import pandas
    import xarray
    from matplotlib.axes import Axes

# what makes it another meat, as a person calls it
_MEAT = {
    "name": "cut",
    "composition": "composition",
    "form": "form",
    "classes": "thickness",
    "length_m": "length",
    "width_m": "width",
    "weight_kg": "weight",
    "temperature_K": "temperature going in",
}


@dataclass(frozen=True, slots=True)
class Judged:
    """A history with its answers; of one load, and how many such `loads` the batch is.

    Attributes
    ----------
    energy : Energy or None
        None where the batch is dried in given air.
    lethality : Lethality
        The judgement on log reductions.
    """

    history: History
    answers: Answers
    energy: Energy | None
    lethality: Lethality
    loads: int


@dataclass(frozen=True, kw_only=True)
class Comparison:
    """Runs side by side.

    Attributes
    ----------
    labels : tuple of str
        The titles of the batches, made unique.
    runs : tuple of Judged
    measures : dict of ndarray, shape (runs,)
        As `measure` names them; nan where a run has no such answer.
    currency : str or None
        Of the costs.
    remarks : tuple of str
        What to know before the numbers are compared.
    """

    labels: tuple[str, ...]
    runs: tuple[Judged, ...]
    measures: dict[str, np.ndarray]
    currency: str | None
    remarks: tuple[str, ...]

    def to_xarray(self) -> "xarray.Dataset":
        """Return the measures with their axis named; needs xarray. See `dryingsim.explore.labelled`."""
        arrays: xarray.Dataset = from_above("Comparison.to_xarray")(self)
        return arrays

    def to_pandas(self) -> "pandas.DataFrame":
        """Return one row per run; needs pandas. See `dryingsim.explore.labelled`."""
        table: pandas.DataFrame = from_above("Comparison.to_pandas")(self)
        return table

    def plot(self, axes: "Axes | None" = None, units: str | None = None) -> "Axes":
        """Draw the water activity of the wettest slices of each run over time.

        Parameters
        ----------
        axes : matplotlib.axes.Axes, optional
            To draw on; a new figure if left out.
        units : str, optional
            "metric" or "us"; as the first batch file says if left out.
        """
        drawn: Axes = from_above("Comparison.plot")(self, axes, units)
        return drawn


def compare(
    batches: Sequence[Batch],
    *,
    price: Price | None = None,
    progress: Callable[[int, float], None] | None = None,
) -> Comparison:
    """Simulate batches and put their answers side by side.

    Parameters
    ----------
    batches : sequence of Batch
        Two or more.
    price : Price, optional
        Of the energy.
    progress : callable, optional
        Called with the index of the batch and its simulated time [s] after every step.

    Returns
    -------
    Comparison

    Examples
    --------
    What another air temperature does; with an appliance, what changing the places of the trays gains is found
    the same way, with `rotate_every_s=None` in one of the batches.

    >>> from dataclasses import replace
    >>> import dryingsim as ds
    >>> warm = ds.demo_batch()
    >>> first = replace(warm.stages[1], air=replace(warm.stages[1].air, temperature_K=333.15))
    >>> found = compare([warm, replace(warm, name="cooler", stages=(warm.stages[0], first))])
    >>> bool(found.measures["done_s"][1] > found.measures["done_s"][0])
    True
    """
    if len(batches) < 2:
        raise InputError("there is nothing to compare: at least two batches are expected")
    runs = tuple(
        judged(batch, price, _of(index, progress) if progress else None)
        for index, batch in enumerate(batches)
    )
    return Comparison(
        labels=_unique([batch.name for batch in batches]),
        runs=runs,
        measures=stacked([measure(own) for own in runs]),
        currency=price.currency if price else None,
        remarks=_differences(batches),
    )


def judged(batch: Batch, price: Price | None, progress: Callable[[float], None] | None) -> Judged:
    """Simulate one batch, or a load of it where the trays do not hold it, and judge it.

    Parameters
    ----------
    batch : Batch
    price : Price or None
        Of the energy.
    progress : callable or None
        Called with the simulated time [s] after every step.
    """
    loads = loads_of(batch)
    history = run(loads.one, progress=progress)
    answers = judge_batch(history)
    return Judged(
        history=history,
        answers=answers,
        energy=judge_energy(history, answers, price),
        lethality=judge_batch_lethality(_as_taken_out(history, answers)),
        loads=loads.count,
    )


def _as_taken_out(history: History, answers: Answers) -> History:
    """Return the history until the meat is taken out: when done, unless stages are planned that only then begin."""
    done = answers.doneness.batch.expected_s
    begins = float(history.stage_end_s[-2]) if history.stage_end_s.size > 1 else 0.0
    return history if done is None or done <= begins else history.up_to(done)


def measure(run_judged: Judged) -> dict[str, float]:
    """Return the answers of a run as numbers in SI, nan where there is none.

    Keys
    ----
    done_s, done_earliest_s, done_latest_s : when the whole batch is done; nine times in ten it is between the last two.
    loads, all_loads_s : how many it takes where the trays do not hold it, and how long all of them take; else is of one.
    first_hour_meat_K, first_hour_air_K : coldest spot of the meat after one hour, and its air (see `Heating`).
    hottest_meat_K, hottest_air_K : the same when the coldest spot was hottest, and the air at that moment.
    classes_apart_s, trays_apart_s : between the first and the last thickness class, or tray, that is done.
    driest_water_activity : of the driest slices when the batch is done, evened out, as they were taken off.
    weight_kg, weight_share, moisture_protein_ratio : of the batch when done, slices taken off before among it.
    energy_J, energy_per_water_J_kg, cost : taken by the appliance until done.
    run_energy_J, peak_heater_W : of the whole run.
    salmonella_lower, e_coli_lower, listeria_lower : log10 reduction at the organism's least-reduced place, its lower
        95 % bound; salmonella_best, e_coli_best, listeria_best : its best estimate; salmonella_counted, e_coli_counted,
        listeria_counted : of the lower bound what its grade counts, as a run prints it.
    salmonella_grade, e_coli_grade, listeria_grade : place of the grade in `dryingsim.judge.grades.GRADES`, 0 the
        worst; grade : of the batch, which is the worst of them.
    """
    history, done, heating = run_judged.history, run_judged.answers.doneness, run_judged.answers.heating
    trays, energy = judge_trays(history), run_judged.energy
    until = energy.until_done if energy else None
    activity = held_activity(history).min(axis=1)
    when = done.batch.expected_s
    measures = {
        "done_s": when,
        "done_earliest_s": done.batch.earliest_s,
        "done_latest_s": done.batch.latest_s,
        "loads": run_judged.loads,
        "all_loads_s": None if done.all_off_s is None else run_judged.loads * done.all_off_s,
        "first_hour_meat_K": heating.first_hour_K,
        "first_hour_air_K": heating.air_first_hour_K,
        "hottest_meat_K": heating.peak_K,
        "hottest_air_K": heating.air_at_peak_K,
        "classes_apart_s": _apart([window.expected_s for window in done.classes]),
        "trays_apart_s": trays.apart_s if trays and trays.used > 1 else None,
        "driest_water_activity": None if when is None else float(np.interp(when, history.time_s, activity)),
        "weight_kg": done.weight_kg,
        "weight_share": done.weight_share,
        "moisture_protein_ratio": done.moisture_protein_ratio,
        "energy_J": until.total_J if until else None,
        "energy_per_water_J_kg": until.per_water_J_kg if until else None,
        "cost": until.cost if until else None,
        "run_energy_J": energy.run.total_J if energy else None,
        "peak_heater_W": energy.peak_heater_W if energy else None,
        **_reductions(run_judged.lethality),
    }
    return {name: math.nan if value is None else float(value) for name, value in measures.items()}


def _reductions(lethality: Lethality) -> dict[str, float]:
    order = list(GRADES)
    measures: dict[str, float] = {"grade": order.index(lethality.grade)}
    for judged_organism in lethality.organisms:
        measures[f"{judged_organism.organism}_lower"] = judged_organism.lower
        measures[f"{judged_organism.organism}_best"] = judged_organism.best
        measures[f"{judged_organism.organism}_counted"] = judged_organism.counted
        measures[f"{judged_organism.organism}_grade"] = order.index(judged_organism.grade)
    return measures


def stacked(measured: Sequence[dict[str, float]]) -> dict[str, np.ndarray]:
    """Return one array per measure."""
    return {name: np.array([measures[name] for measures in measured]) for name in measured[0]}


def _apart(times: list[float | None]) -> float | None:
    known = [time for time in times if time is not None]
    return max(known) - min(known) if len(known) == len(times) > 1 else None


def _of(index: int, progress: Callable[[int, float], None]) -> Callable[[float], None]:
    return lambda simulated_s: progress(index, simulated_s)


def _unique(titles: list[str]) -> tuple[str, ...]:
    """Number the titles that stand more than once: "Friday", "Friday (2)"."""
    labels: list[str] = []
    for title in titles:
        label, number = title, 1
        while label in labels:
            number += 1
            label = f"{title} ({number})"
        labels.append(label)
    return tuple(labels)


def _differences(batches: Sequence[Batch]) -> tuple[str, ...]:
    """Say in one line what of the meat is not the same."""
    first, differing = batches[0], []
    for field, word in _MEAT.items():
        if any(getattr(batch.meat, field) != getattr(first.meat, field) for batch in batches):
            differing.append(word)
    if "cut" in differing and "composition" in differing:
        differing.remove("composition")  # goes without saying
    differing += ["marinade"] if any(batch.marinade != first.marinade for batch in batches) else []
    differing += ["target"] if any(batch.targets != first.targets for batch in batches) else []
    if not differing:
        return ()
    return (
        f"the batches differ in their meat too ({', '.join(differing)}): the answers do not show the appliance or "
        "the schedule alone",
    )
