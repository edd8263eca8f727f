"""Stages of a schedule from air that is a function of time: a climate, a solar dryer, a controller of one's own."""

from collections.abc import Callable
from itertools import pairwise
from typing import Any

import numpy as np

from dryingsim.batch.checks import check_range
from dryingsim.batch.component_checks import air_at, air_faults
from dryingsim.batch.stage_schema import LONGEST_S, SHORTEST_S, Air, Humidity, Stage
from dryingsim.errors import InputError
from dryingsim.properties.water import saturation_pressure

_LOOKS, _LEAST_LOOK_S = 4000, 5.0  # the function is asked so often, but not more often than every few seconds
_MOST_STAGES = 500


def air_stages(
    air: Callable[[np.ndarray], tuple[Any, Any]],
    *,
    duration_s: float,
    speed_m_s: float,
    name: str | None = None,
    measured: bool = False,
    within_K: float = 0.25,
    within_humidity: float = 0.01,
) -> tuple[Stage, ...]:
    """Return stages in straight lines that follow air over time, one after the other.

    They are stages as any others: every command reads them, a batch file holds them, a verdict treats their humidity as it
    treats any. Where the function jumps, the air gets there within some seconds.

    Parameters
    ----------
    air : callable
        Of an array of times since the first of these stages begins [s]; returns temperature [K] and relative humidity [-],
        an array or, where it stays, a number each. `check_component` tries it out.
    duration_s : float
        Of all stages together [s].
    speed_m_s : float
        Of the air past the slices [m/s].
    name : str, optional
        That the stages get, with a number; that of the function if left out.
    measured : bool
        Whether the humidity was measured at the slices, see `Humidity`.
    within_K, within_humidity : float
        How far the lines may be from the function: of the temperature [K]; of the vapour pressure, as a share of saturation.

    Returns
    -------
    tuple of Stage
        For `Batch.stages`.

    Examples
    --------
    >>> def morning(time_s):
    ...     return 303.15 + 15.0 * np.sin(np.pi * time_s / 36000.0), 0.3 + 0.0 * time_s
    >>> stages = air_stages(morning, duration_s=36000.0, speed_m_s=0.5)
    >>> stages[0].name, len(stages), round(sum(stage.duration_s for stage in stages))
    ('morning 1', 8, 36000)
    """
    check_range(
        "air_stages, duration_s",
        duration_s,
        duration_s,
        SHORTEST_S,
        LONGEST_S,
        "60 to 31622400; seconds are expected",
    )
    check_range("air_stages, within_K", within_K, within_K, 0.01, 10.0, "0.01 to 10")
    check_range("air_stages, within_humidity", within_humidity, within_humidity, 1e-4, 0.2, "0.0001 to 0.2")
    fault = next(air_faults(air), None)
    if fault is not None:
        raise InputError(fault)
    count = min(_LOOKS, int(duration_s / _LEAST_LOOK_S))
    time = np.linspace(0.0, duration_s, count + 1)
    temperature, humidity = air_at(air, time)
    states = [
        Air(temperature_K=t, speed_m_s=speed_m_s, humidity=_relative(h, measured))
        for t, h in zip(temperature.tolist(), humidity.tolist(), strict=True)
    ]
    full = saturation_pressure(temperature)
    scaled = np.stack([temperature / within_K, humidity * full / (within_humidity * full.min())], axis=1)
    corners = straight_between(time, scaled)
    if len(corners) - 1 > _MOST_STAGES:
        raise InputError(
            f"air_stages: {len(corners) - 1} straight lines are needed to follow the air, {_MOST_STAGES} at most are "
            "expected; allow them more distance by within_K and within_humidity"
        )
    own = name or getattr(air, "__name__", type(air).__name__)
    return tuple(
        Stage(
            name=f"{own} {number}",
            air=states[i],
            air_end=states[j] if states[j] != states[i] else None,
            duration_s=float(time[j] - time[i]),
        )
        for number, (i, j) in enumerate(pairwise(corners), start=1)
    )


def _relative(value: float, measured: bool) -> Humidity:
    return Humidity(kind="relative", value=value, measured=measured)


def straight_between(time: np.ndarray, values: np.ndarray) -> list[int]:
    """Return indices between which straight lines are within 1 of all values.

    Parameters
    ----------
    time : ndarray, shape (t,)
        Rising [s].
    values : ndarray, shape (t, kinds)
        Each by how far a line may be from it [-].

    Returns
    -------
    list of int
        The first and the last among them.

    Examples
    --------
    >>> straight_between(np.arange(5.0), np.array([[0.0], [2.0], [4.1], [2.0], [0.0]]))
    [0, 2, 4]
    """
    kept, open_spans = [0, time.size - 1], [(0, time.size - 1)]
    while open_spans:
        i, j = open_spans.pop()
        share = ((time[i : j + 1] - time[i]) / (time[j] - time[i]))[:, None]
        apart = np.abs(values[i : j + 1] - values[i] - share * (values[j] - values[i])).max(axis=1)
        furthest = i + int(apart.argmax())
        if apart.max() > 1.0 and i < furthest < j:
            kept.append(furthest)
            open_spans += [(i, furthest), (furthest, j)]
    return sorted(kept)
