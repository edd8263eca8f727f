"""What happens to a batch over time, in everyday units."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from dryingsim.constants import ZERO_CELSIUS
from dryingsim.errors import InputError
from dryingsim.history import History
from dryingsim.judge.doneness import judge_batch
from dryingsim.typing import Array


@dataclass(frozen=True)
class Curves:
    """What happens to slices of one thickness on one tray, over time, in everyday units.

    Attributes
    ----------
    history : History
    slab : int
        Which of its slabs.
    """

    history: History
    slab: int = 0

    @cached_property
    def minutes(self) -> Array:
        """Time [min]."""
        return self.history.time_s / 60.0

    @cached_property
    def hours(self) -> Array:
        """Time [h]."""
        return self.history.time_s / 3600.0

    @cached_property
    def air_C(self) -> Array:
        """Temperature of the air [degC]."""
        return self.history.air_temperature_K[:, self.slab] - ZERO_CELSIUS

    @cached_property
    def wet_bulb_C(self) -> Array:
        """Wet bulb of the air [degC]."""
        return self.history.air_wet_bulb_K[:, self.slab] - ZERO_CELSIUS

    @cached_property
    def surface_C(self) -> Array:
        """Temperature of the surface, the mean of both faces [degC]."""
        return self.history.surface_temperature_K[..., self.slab].mean(axis=1) - ZERO_CELSIUS

    @cached_property
    def core_C(self) -> Array:
        """Temperature of the core [degC]."""
        return self.history.core_temperature_K[:, self.slab] - ZERO_CELSIUS

    @cached_property
    def surface_activity(self) -> Array:
        """Water activity of the surface, the mean of both faces [-]."""
        return self.history.surface_water_activity[..., self.slab].mean(axis=1)

    @cached_property
    def activity(self) -> Array:
        """Equilibrated water activity: as it will be once moisture has evened out [-]."""
        return self.history.equalised_water_activity[:, self.slab]

    @cached_property
    def moisture_db(self) -> Array:
        """Mean moisture [kg water/kg dry solid]."""
        return self.history.mean_moisture_db[:, self.slab]

    @cached_property
    def grams(self) -> Array:
        """Weight of the whole batch [g]."""
        return 1000.0 * self.history.weight_kg.sum(axis=1)

    @cached_property
    def flux_kg_m2_h(self) -> Array:
        """Water that leaves a square metre of surface in an hour, between the recorded times [kg/(m2 h)]."""
        per_face = 0.5 * np.gradient(self.history.vapour_kg_m2[:, self.slab], self.history.time_s)
        return 3600.0 * per_face

    def at(self, values: Array, *, minutes: float) -> float:
        """Return a curve's value at a time.

        Parameters
        ----------
        values : ndarray
            One of the curves.
        minutes : float
            Time [min].

        Returns
        -------
        float
            In the unit of the curve.
        """
        return float(np.interp(minutes, self.minutes, values))

    def minutes_until(self, values: Array, level: float) -> float:
        """Return when a curve first passes a level, rising or falling [min].

        Parameters
        ----------
        values : ndarray
            One of the curves.
        level : float
            In its unit.

        Returns
        -------
        float
            Time [min].
        """
        beyond = values >= level if values[0] < level else values <= level
        if not beyond.any():
            raise InputError(f"the curve does not reach {level:g} in {self.hours[-1]:.3g} h")
        i = max(int(beyond.argmax()), 1)
        share = (level - values[i - 1]) / (values[i] - values[i - 1])
        return float(self.minutes[i - 1] + share * (self.minutes[i] - self.minutes[i - 1]))


def curves(history: History, slab: int = 0) -> Curves:
    """Return what happens to slices over time, in everyday units.

    Parameters
    ----------
    history : History
    slab : int
        Which of its slabs: thicknesses in their order, tray by tray.

    Returns
    -------
    Curves
        An array over time for each quantity, with its unit in the name: `hours`, `surface_C`, `activity`, `grams` ...;
        `at(curve, minutes=30)` is a number, `minutes_until(curve, level)` a time.
    """
    return Curves(history, slab)


def ready_hours(history: History) -> Array:
    """Return when slices of each thickness are expected to be down to a water activity of 0.85, equilibrated [h].

    Parameters
    ----------
    history : History

    Returns
    -------
    ndarray, shape (thicknesses,)
        In the order of the batch [h]; one number where there is one thickness: `ready_hours(history)[0]`. It is nan where
        slices are not ready at the end.
    """
    times = [window.expected_s for window in judge_batch(history).doneness.classes]
    return np.array([np.nan if seconds is None else seconds / 3600.0 for seconds in times])
