"""When a batch is done, what it weighs then, and how hot the meat really got.

Done means: the water activity of the wettest slices, once their moisture has evened out at 25 degC, has
fallen to the target. Each time comes with a window that holds all that is uncertain (`judge.done_window`), and the batch
with the weight at which it is surely dry (`judge.stop_weight`): the weight decides, whatever the clock says.

Dryness says nothing about how far bacteria were reduced; that is judged in `dryingsim.judge.verdict`.
"""

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from dryingsim.batch.schema import StageKind
from dryingsim.batch.uncertainties import activity_error_of
from dryingsim.errors import InputError
from dryingsim.evidence import Evidence
from dryingsim.history import History
from dryingsim.judge.done_window import Window, course_of, windows
from dryingsim.judge.stop_weight import Stop, salt_step, stop_of
from dryingsim.judge.taking_off import coldest_place, held_weight, leaving_times
from dryingsim.model.build import recipe_of

HOUR_S: Annotated[float, Evidence("s", "exact", "an hour")] = 3600.0
_QUARTER_S: Annotated[
    float, Evidence("s", "assumed", "times to look are told in whole quarters of an hour")
] = 900.0
_AROUND_S: Annotated[
    float,
    Evidence("s", "estimate", "either side of the first hour: several swings of a thermostat that switches"),
] = 900.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Doneness:
    """When the slices are dry, and how to tell by weighing.

    Attributes
    ----------
    target_water_activity, uncertainty : float
        What counts as dry, and how well the water activity of such a product is known, nine times in ten [-].
    product : str
        What product that is.
    classes : tuple of Window
        One per thickness class, in the order of the batch: the wettest of its slices over all trays.
    batch : Window
        The whole batch: its wettest slices.
    first_look_s : float or None
        A suggestion: when the first slices on any tray may be dry at the earliest (1 in 20 are earlier), in whole quarters
        of an hour [s].
    weight_kg, weight_share : float or None
        Of the whole batch when done [kg], and as a share of the weight laid on the trays [-].
    moisture_protein_ratio : float or None
        Water over protein of the whole batch when done, by mass [-].
    stop : Stop or None
        The weight at which the wettest slices are dry with 95 % certainty; None where they are never near the target.
    salt_step_share : float or None
        Share of the drying time that hangs on where salt crystallises; None where that is of no matter.
    """

    target_water_activity: float
    uncertainty: float
    product: str
    classes: tuple[Window, ...]
    batch: Window
    first_look_s: float | None
    weight_kg: float | None
    weight_share: float | None
    moisture_protein_ratio: float | None
    stop: Stop | None
    salt_step_share: float | None

    @property
    def all_off_s(self) -> float | None:
        """When the last slices are likely off, surely dry; done as computed where no weight tells; else None [s]."""
        done = self.batch.expected_s
        if done is None or self.stop is None or self.stop.likely_s is None:
            return done
        return self.stop.likely_s


@dataclass(frozen=True, slots=True, kw_only=True)
class Heating:
    """How hot the coldest spot of the meat was, against the air around those slices.

    Attributes
    ----------
    peak_K, peak_s, air_at_peak_K : float
        Highest temperature of the coldest spot [K], when it was first reached [s], and of what warmed it [K]: the air then,
        or the liquid or steam that it has just come out of. Slices that are taken off before others get hotter keep theirs.
    peak_in : str
        What that was, a kind of stage.
    first_hour_K, air_first_hour_K : float or None
        The coldest spot and the air after one hour [K]; None for a shorter run. In an appliance, whose thermostat
        makes the air swing, its mean from 15 min before to 15 min after, within the stage.
    kind : int
        Thickness class of the slices whose coldest spot `peak_K` is of, as the batch counts them.
    off_before_s : float or None
        When these are taken off, where a stage of the plan comes later and heats only others, such as a hot finish [s]; else
        None.
    """

    peak_K: float
    peak_s: float
    air_at_peak_K: float
    peak_in: StageKind
    first_hour_K: float | None
    air_first_hour_K: float | None
    kind: int
    off_before_s: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Answers:
    """What a run says to the person who dries the batch.

    Attributes
    ----------
    doneness : Doneness
        When it is dry, and the weight to stop at.
    heating : Heating
        How hot the meat gets.
    """

    doneness: Doneness
    heating: Heating


def judge_batch(history: History) -> Answers:
    """Answer when a batch is done and how hot it got.

    Parameters
    ----------
    history : History

    Returns
    -------
    Answers
    """
    if not isinstance(history, History):
        raise InputError(f"a History is expected, as run(batch) returns it, not {type(history).__name__}")
    return Answers(doneness=_doneness(history), heating=_heating(history))


def _doneness(history: History) -> Doneness:
    time, target, slabs = history.time_s, history.batch.targets.water_activity, history.kind.size
    kinds = [history.kind == k for k in range(len(history.batch.meat.classes))]
    course, error = course_of(history, target), activity_error_of(history.batch)
    every = [
        *kinds,
        np.ones(slabs, dtype=bool),
        *np.eye(slabs, dtype=bool),
    ]  # last, every class on every tray
    found = windows(history, every, target, course)
    classes, batch, each = tuple(found[: len(kinds)]), found[len(kinds)], found[len(kinds) + 1 :]
    looks = [window.earliest_s for window in each if window.earliest_s is not None]
    weight = share = ratio = stop = None
    if batch.earliest_s is not None:
        stop = stop_of(history, course_of(history, target, as_planned=True), target)
    if batch.expected_s is not None:
        total = held_weight(history)
        weight = float(np.interp(batch.expected_s, time, total))
        share = weight / (float(total[0]) * history.batch.washing)
        water = weight - float(history.dry_mass_kg.sum())
        ratio = water / (recipe_of(history.batch)[0].protein * float(history.dry_mass_kg.sum()))
    return Doneness(
        target_water_activity=target,
        uncertainty=error.half_width,
        product=error.words,
        classes=classes,
        batch=batch,
        first_look_s=max(_QUARTER_S * (min(looks) // _QUARTER_S), _QUARTER_S) if looks else None,
        weight_kg=weight,
        weight_share=share,
        moisture_protein_ratio=ratio,
        stop=stop,
        salt_step_share=None
        if stop is None
        else salt_step(history, course, (stop.water_activity, target + error.half_width)),
    )


def _heating(history: History) -> Heating:
    coldest = coldest_place(history)  # the middle, unless a face is colder still
    slab = coldest.argmin(axis=1)
    rows = np.arange(slab.size)
    meat, air = coldest[rows, slab], history.air_temperature_K[rows, slab]
    peak = int(meat.argmax())
    limiting, leaves_s = int(slab[peak]), leaving_times(history)
    off = bool(history.time_s[peak] > leaves_s[limiting])
    if off:  # others get hotter when it has gone: its own peak is what counts
        peak = int(coldest[:, limiting].argmax())
        slab = np.full_like(slab, limiting)
    air_here, hottest = (
        values[rows, slab] for values in (history.air_temperature_K, history.temperature_K.max(axis=1))
    )
    warming = np.flatnonzero(air_here[: peak + 1] >= hottest[: peak + 1])
    warmed = (
        int(warming[-1]) if warming.size else peak
    )  # out of the liquid the core warms on from its hotter surface
    last_stage = int(history.stage[-1])
    missed = off and int(history.stage[np.searchsorted(history.time_s, leaves_s[limiting])]) < last_stage
    after_hour = history.time_s[-1] >= HOUR_S
    return Heating(
        peak_K=float(coldest[peak, slab[peak]]),
        peak_s=float(history.time_s[peak]),
        air_at_peak_K=float(air_here[warmed]),
        peak_in=history.batch.stages[min(int(history.stage[warmed]), len(history.batch.stages) - 1)].kind,
        first_hour_K=float(np.interp(HOUR_S, history.time_s, meat)) if after_hour else None,
        air_first_hour_K=_first_hour_air(history, air) if after_hour else None,
        kind=int(history.kind[limiting]),
        off_before_s=float(leaves_s[limiting]) if missed else None,
    )


def _first_hour_air(history: History, air: np.ndarray) -> float:
    away = np.abs(history.time_s - HOUR_S)
    around = (away <= _AROUND_S) & (history.stage == history.stage[away.argmin()])
    if history.chamber is None or not around.any():
        return float(np.interp(HOUR_S, history.time_s, air))
    return float(air[around].mean())
