"""When to look at a batch, and what share of its slices is likely ready by then.

The first look is when the first slices may be ready at the earliest, the next ones follow for as long as slices of a
thickness stay pliable. How many slices are ready by a time is open in two ways: kitchens and batches differ, so that all of a
batch may be early or late; and within a batch no two slices are alike. Kitchens are drawn, and slices within each; the ends of
the range are those of the kitchens. A slice is ready by its weight, so how well a water activity is known does not matter.
"""

import math
from dataclasses import dataclass
from typing import Annotated

import numpy as np

from dryingsim.batch.uncertainties import uncertainties_of
from dryingsim.constants import GAS_CONSTANT
from dryingsim.evidence import Evidence
from dryingsim.history import History
from dryingsim.judge.done_window import CERTAIN, Course, normal_points, of_kitchens
from dryingsim.judge.stop_weight import stop_level
from dryingsim.properties.diffusivity import activation_energy

_KITCHENS: Annotated[
    int, Evidence("-", "numerical", "drawn; twice as many move no end of a share by 0.03")
] = 256
_SLICES: Annotated[int, Evidence("-", "numerical", "drawn of each slab in each kitchen")] = 128


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadyShare:
    """What share of the slices, by what they weigh dry, is ready to be taken off by a time.

    Attributes
    ----------
    time_s : float
        Since the start [s].
    low, likely, high : float
        Nine times in ten it is between the outer two, as often above as below the middle one [-].
    """

    time_s: float
    low: float
    likely: float
    high: float


def look_times(first_s: float, every_s: float, until_s: float) -> list[float]:
    """Return when to look: first, then again and again until all are likely ready [s].

    Parameters
    ----------
    first_s, every_s, until_s : float
        [s]; the last look is the first one at or after `until_s`.

    Examples
    --------
    >>> look_times(2700.0, 1800.0, 8000.0)
    [2700.0, 4500.0, 6300.0, 8100.0]
    """
    count = max(math.ceil((until_s - first_s) / every_s - 1e-9), 0)
    return [first_s + number * every_s for number in range(count + 1)]


def ready_shares(history: History, course: Course, times_s: list[float]) -> tuple[ReadyShare, ...]:
    """Return what share of the slices is ready by some times, nine times in ten.

    Parameters
    ----------
    history : History
    course : Course
        Of it.
    times_s : list of float
        [s].
    """
    level = np.array([stop_level(history.batch, history.batch.targets.water_activity)])
    meat, air = _rates(history)
    weights = history.dry_mass_kg / history.dry_mass_kg.sum()
    shares = np.zeros((len(times_s), _KITCHENS))
    for slab, weight in enumerate(weights):
        reached = course.reached_s(slab, level)
        inner, outer = (
            np.interp(reached, course.time_s, part[:, slab]) for part in (course.inner_s, course.outer_s)
        )
        ready = np.where(np.isnan(reached), np.inf, inner / meat + outer / air)  # (kitchens, slices)
        shares += weight * np.array([(ready <= time).mean(axis=1) for time in times_s])
    ends = np.quantile(shares, (CERTAIN[0], 0.5, CERTAIN[1]), axis=1).T.tolist()
    return tuple(
        ReadyShare(time_s=time, low=low, likely=likely, high=high)
        for time, (low, likely, high) in zip(times_s, ends, strict=True)
    )


def _rates(history: History) -> tuple[np.ndarray, np.ndarray]:
    """Draw factors on the rate by the meat and by the air, each (kitchens, slices)."""
    uncertainties, surface_K = (
        uncertainties_of(history.batch),
        float(np.median(history.surface_temperature_K)),
    )
    kelvin = activation_energy(history.slabs.diffusivity, surface_K, 1.0) / (GAS_CONSTANT * surface_K**2)
    sizes = {key: uncertainty.deviation for key, uncertainty in uncertainties.items()}
    kitchen, own, film, warmth = normal_points(4)[:, :_KITCHENS]
    fibres, thickness, place = normal_points(3)[:, :_SLICES]
    warm = sizes["setpoint"] * kelvin * warmth
    meat = of_kitchens(uncertainties["diffusivity"], kitchen) + sizes["diffusivity_batches"] * own + warm
    thick = math.hypot(sizes["thickness_between"], sizes["thickness_within"]) * thickness
    of_slices = sizes["diffusivity_slices"] * fibres - 2.0 * thick
    air = (sizes["film"] * film + warm)[:, None] + sizes["film_places"] * place - thick
    return np.exp(meat[:, None] + of_slices), np.exp(air)
