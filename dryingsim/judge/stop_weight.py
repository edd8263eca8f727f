"""The weight to stop at: where the water activity is at or below its limit with 95 % certainty.

A batch is taken out by its weight, whatever the clock says, so how fast it dries does not matter here. What does: how well the
sorption curve knows this kind of product, the salt and sugar taken up, the water in the raw meat (which says how much dry
matter a weight holds), and the scale.
"""

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated

import numpy as np

from dryingsim.batch.catalog.growth_limits import lowest_growth, shelf_stable
from dryingsim.batch.schema import Batch, Composition, Marinade
from dryingsim.batch.uncertainties import activity_error_of, uncertainties_of
from dryingsim.evidence import Evidence
from dryingsim.history import History
from dryingsim.judge.done_window import Course, computed_level, first_time_down_to, normal_points
from dryingsim.model.build import curve_of, recipe_of
from dryingsim.properties.solutions import SALT_SATURATION
from dryingsim.properties.sorption import Curve, SorptionLaw
from dryingsim.properties.water_activity import REFERENCE_TEMPERATURE, Recipe

_SCALE: Annotated[
    float, Evidence("-", "estimate", "standard deviation of a kitchen scale, of the weight", (0.002, 0.01))
] = 0.005
_DRIEST: Annotated[float, Evidence("-", "numerical", "water activity: no product is dried below")] = 0.02
_CERTAINTY: Annotated[float, Evidence("-", "assumed", "that the water activity is at or below its limit")] = (
    0.95
)
_STEP: Annotated[
    float,
    Evidence(
        "-",
        "estimate",
        "of water activity either side of the saturation of salt, where the curve is steepest",
    ),
] = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """When to stop by weight.

    Attributes
    ----------
    water_activity : float
        As computed: so low that the true one is at or below the limit with 95 % certainty [-].
    weight_kg : float or None
        Of the batch, or the part of it, then, those taken off before among them [kg]; None where slices do not get so
        dry in this air.
    left_in_kg : float or None
        Of the same if none is taken off before: thin slices go on drying, so this is less [kg].
    likely_s : float or None
        When that is likeliest [s]; may lie beyond the run, if the slices are left in as they are.
    """

    water_activity: float
    weight_kg: float | None
    left_in_kg: float | None
    likely_s: float | None


def stop_level(batch: Batch, target: float) -> float:
    """Return the water activity, as computed, at whose weight the true one is at or below a limit with 95 % certainty.

    Of each batch drawn the largest weight is found at which it is dry enough; nineteen in twenty are above the answer. What is
    dried to keep in the room is dried on to where no pathogen may grow there, by the cautious figure of `kitchen.storage`.

    Parameters
    ----------
    batch : Batch
    target : float
        Limit of the water activity [-].
    """
    uncertainties, (recipe, solids, _) = uncertainties_of(batch), recipe_of(batch)
    deviations = (
        uncertainties["moisture"].deviation,
        uncertainties["marinade"].deviation,
        activity_error_of(batch).deviation,
    )
    meant = batch.meat.composition, batch.seasoning, deviations, recipe, solids, target
    law = batch.components.sorption
    sure = _sure_level_of_meat(*meant) if law is None else _sure_level(*meant, law)
    if target > shelf_stable()[0]:
        return sure
    return min(sure, lowest_growth() - activity_error_of(batch).half_width)


@lru_cache(maxsize=256)
def _sure_level_of_meat(
    raw: Composition,
    marinade: Marinade,
    deviations: tuple[float, float, float],
    meant: Recipe,
    solids: float,
    target: float,
) -> float:
    """Return `stop_level` with meat's own curve: every class, tray and look of a batch asks for it."""
    return _sure_level(raw, marinade, deviations, meant, solids, target, None)


def _sure_level(
    raw: Composition,
    marinade: Marinade,
    deviations: tuple[float, float, float],
    meant: Recipe,
    solids: float,
    target: float,
    law: SorptionLaw | None,
) -> float:
    """Return `stop_level` of what it goes by."""
    of_moisture, of_marinade, of_activity = deviations
    curve, water, taken_up, scale = normal_points(4)
    wetter = of_moisture * water
    others = 1.0 - wetter / (1.0 - raw.water)  # of protein and all else that is dry
    more = np.exp(of_marinade * taken_up)
    salt, sugar = more * marinade.salt_kg_kg, more * marinade.sugar_kg_kg
    dry = (1.0 - raw.water) * others + salt + sugar
    level = computed_level(target, of_activity * curve)
    recipe = Recipe(protein=raw.protein * others / dry, salt=salt / dry, sugar=sugar / dry)
    moisture = Curve(recipe, law).moisture(np.clip(level, _DRIEST, 0.995), REFERENCE_TEMPERATURE)
    weights = dry * (1.0 + moisture) / (1.0 + _SCALE * scale)  # per raw meat, as a scale tells them
    sure = float(np.quantile(weights, 1.0 - _CERTAINTY, method="inverted_cdf")) / solids - 1.0
    return min(float(Curve(meant, law).water_activity(max(sure, 1e-3), REFERENCE_TEMPERATURE)), target)


def ready_moisture(batch: Batch) -> float:
    """Return the mean moisture at which slices are ready to be taken off, as they are then surely dry [kg/kg]."""
    level = stop_level(batch, batch.targets.water_activity)
    return float(curve_of(batch).moisture(level, REFERENCE_TEMPERATURE))


def ready_share(batch: Batch) -> float:
    """Return what slices weigh when they are ready, of their weight laid on [-]."""
    return batch.meat.weight_kg * recipe_of(batch)[1] * (1.0 + ready_moisture(batch)) / batch.laid_on_kg


def stop_of(history: History, course: Course, target: float, slabs: np.ndarray | None = None) -> Stop:
    """Return when to stop a batch by its weight, or a part of it.

    Parameters
    ----------
    history : History
    course : Course
        Of it, as planned.
    target : float
        Limit of the water activity [-].
    slabs : ndarray of bool, shape (m,), optional
        The part, whose wettest slices count; all of it if left out.
    """
    here = np.ones(history.kind.size, dtype=bool) if slabs is None else slabs
    level = stop_level(history.batch, target)
    time = first_time_down_to(history.time_s, history.equalised_water_activity[:, here].max(axis=1), level)
    times, weights = history.time_s, history.weight_kg[:, here].sum(axis=1)
    if time is None:
        wettest = course.water_activity[:, here].max(axis=1)
        if wettest[-1] > level:
            return Stop(water_activity=level, weight_kg=None, left_in_kg=None, likely_s=None)
        time = float(np.interp(-level, -wettest, course.time_s))
        times, weights = (
            course.time_s,
            (history.dry_mass_kg * (1.0 + course.moisture_db))[:, here].sum(axis=1),
        )
    left_in = float(np.interp(time, times, weights))
    moisture = curve_of(history.batch).moisture(level, REFERENCE_TEMPERATURE)
    ready = float(history.dry_mass_kg[here].sum() * (1.0 + moisture))
    weight = ready if history.batch.take_off == "as ready" else left_in
    return Stop(water_activity=level, weight_kg=weight, left_in_kg=left_in, likely_s=time)


def salt_step(history: History, course: Course, window: tuple[float, float]) -> float | None:
    """Return the share of the drying time that hangs on where salt crystallises, None where that is of no matter.

    Parameters
    ----------
    history : History
    course : Course
        Of it.
    window : tuple of float
        Water activities between which the end may lie [-].

    Notes
    -----
    Where salt crystallises its water is set free: the water activity stays while much water leaves.
    """
    low, high = window
    salted = history.batch.seasoning.salt_kg_kg > 0.0 and history.batch.components.sorption is None
    if not (salted and low <= SALT_SATURATION <= high):
        return None
    falling = -course.water_activity.max(axis=1)
    begins, ends = np.interp(
        [-(SALT_SATURATION + _STEP), -(SALT_SATURATION - _STEP)], falling, course.time_s, right=np.nan
    ).tolist()
    return (ends - begins) / ends if math.isfinite(ends) and ends > 0.0 else None
