"""The class's batch, what happens to it in everyday units, and laws made of the functions that students write."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from dryingsim.batch.reading.batch_file import parse_document
from dryingsim.batch.schema import Batch
from dryingsim.batch.shared_file import shared_rows
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.errors import InputError
from dryingsim.history import History
from dryingsim.judge.doneness import judge_batch
from dryingsim.properties.diffusivity import Convention
from dryingsim.typing import Array

_SLICES = {
    "cut": "beef eye of round",
    "thickness": "5 mm",
    "length": "120 mm",
    "width": "50 mm",
    "weight": "0.7 kg",
}
_SALT, _SUGAR, _ROOM_HUMIDITY = "15 g/kg", "12 g/kg", "45 %"


def lab_batch(
    *,
    air: str = "68 degC",
    speed: str = "1 m/s",
    duration: str = "6 h",
    wet_bulb: str | None = None,
    until: Mapping[str, Any] | None = None,
    thickness: str | Sequence[str] = "5 mm",
    salt: str = _SALT,
    room_humidity: str = _ROOM_HUMIDITY,
    altitude: str | None = None,
    **more: str,
) -> Batch:
    """Return the class's batch: 0.7 kg of eye of round in slices, in given air; any quantity may be changed.

    Parameters
    ----------
    air, speed, duration : str
        Of the one stage: temperature, speed of the air along the slices, time.
    wet_bulb : str, optional
        Held in the air; without it, the air is that of the room, heated.
    until : mapping, optional
        Ends the stage earlier, such as {"water_activity": 0.85}.
    thickness : str or sequence of str
        Several: as many slices of each.
    salt : str
        In the raw meat; sugar is 12 g/kg.
    room_humidity : str
        Of a room at 21 degC.
    altitude : str, optional
        Above sea level.
    **more : str
        Any other key of the table [meat] of a batch file, such as `width`, `form`.

    Returns
    -------
    Batch

    Examples
    --------
    >>> lab_batch(air="60 degC").stages[0].duration_s / 3600
    6.0
    """
    stage: dict[str, Any] = {"air": air, "speed": speed, "duration": duration}
    if wet_bulb is not None:
        stage["humidity"] = {"wet_bulb": wet_bulb}
    if until is not None:
        stage["until"] = dict(until)
    return lab_schedule(
        [stage], thickness=thickness, salt=salt, room_humidity=room_humidity, altitude=altitude, **more
    )


def lab_schedule(
    stages: Sequence[Mapping[str, Any]],
    *,
    thickness: str | Sequence[str] = "5 mm",
    salt: str = _SALT,
    room_humidity: str = _ROOM_HUMIDITY,
    altitude: str | None = None,
    **more: str,
) -> Batch:
    """Return the class's batch dried in several stages.

    Parameters
    ----------
    stages : sequence of mapping
        Each with the keys of a table [[stage]] of a batch file, such as {"air": "68 degC", "speed": "1 m/s", "duration": "5 h"}.
    thickness, salt, room_humidity, altitude, **more
        As for `lab_batch`.

    Returns
    -------
    Batch
    """
    room = {"temperature": "21 degC", "humidity": room_humidity}
    if altitude is not None:
        room["altitude"] = altitude
    thicknesses: Any = thickness
    if not isinstance(thickness, str):
        share = f"{100 / len(thickness)!r} %"
        thicknesses = [{"value": value, "share": share} for value in thickness]
    document: dict[str, Any] = {
        "title": "the class's batch",
        "meat": {**_SLICES, "thickness": thicknesses, **more},
        "room": room,
        "stage": [{"name": f"stage {i}", **stage} for i, stage in enumerate(stages, start=1)],
    }
    if not salt.startswith("0 "):
        document["marinade"] = {"salt": salt, "sugar": _SUGAR}
    return parse_document(document, "the class's batch")


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
    """
    return Curves(history, slab)


def ready_hours(history: History) -> Any:
    """Return when slices of each thickness are expected to be down to a water activity of 0.85, equilibrated [h].

    Parameters
    ----------
    history : History

    Returns
    -------
    float or ndarray
        One number where there is one thickness; no number where they are not ready at the end.
    """
    times = [window.expected_s for window in judge_batch(history).doneness.classes]
    hours = np.array([np.nan if seconds is None else seconds / 3600.0 for seconds in times])
    return float(hours[0]) if hours.size == 1 else hours


def shared_table(name: str) -> list[dict[str, str]]:
    """Return the rows of a reference file of the project, as text by column.

    Parameters
    ----------
    name : str
        Of a file in `shared/`, without its ending.

    Examples
    --------
    >>> shared_table("sodium_chloride")[0]["molality"]
    '0.0'
    """
    return [dict(row) for row in shared_rows(name)[1]]


@dataclass(frozen=True)
class _WrittenDiffusivity:
    function: Callable[[Any, Any], Any]
    convention: Convention

    def value(self, temperature: Array, moisture_db: Array, /) -> Array:
        """Diffusivity [m2/s]."""
        return _filled(self.function, temperature, moisture_db)


@dataclass(frozen=True)
class _WrittenSorption:
    function: Callable[[Any, Any], Any]

    def water_activity(self, temperature: Array, moisture_db: Array, /) -> Array:
        """Water activity [-]."""
        return _filled(self.function, temperature, moisture_db)


def _filled(function: Callable[[Any, Any], Any], temperature: Array, moisture_db: Array) -> Array:
    """Return what a function gives, in the shape of its arguments: a constant is a law too."""
    values = function(temperature, moisture_db)
    return np.asarray(values, dtype=float) + 0.0 * temperature + 0.0 * moisture_db


def diffusivity_law(function: Callable[[Any, Any], Any], convention: Convention = "dry_mass") -> Any:
    """Make a law for `ds.run(batch, diffusivity=...)` of a function.

    Parameters
    ----------
    function : callable
        Of temperature [K] and moisture [kg/kg], arrays; gives m2/s.
    convention : str
        "dry_mass", the constant of a slab that does not shrink, or "local".

    Examples
    --------
    >>> law = diffusivity_law(lambda T, X: 5e-10)
    >>> law.value(np.full(2, 300.0), np.ones(2)).tolist()
    [5e-10, 5e-10]
    """
    return _WrittenDiffusivity(function, convention)


def sorption_law(function: Callable[[Any, Any], Any]) -> Any:
    """Make a law for `ds.Components(sorption=...)` of a function.

    Parameters
    ----------
    function : callable
        Of temperature [K] and moisture [kg/kg], arrays; gives a water activity, from above 0 to 1.
    """
    return _WrittenSorption(function)
