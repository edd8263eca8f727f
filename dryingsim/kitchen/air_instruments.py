"""Two checks of what tells the air: a wet bulb's wick against the room, and an appliance's dial against a thermometer."""

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from dryingsim.errors import InputError
from dryingsim.evidence import Evidence
from dryingsim.properties.atmosphere import standard_pressure
from dryingsim.properties.moist_air import wet_bulb
from dryingsim.properties.water import saturation_pressure

_TWO_K: Annotated[float, Evidence("K", "estimate", "two thermometers that were checked, wet and dry")] = 0.7
_DRY_ROOM_K: Annotated[
    float,
    Evidence(
        "K", "estimate", "between air and wet bulb: with less, a dry wick cannot be told from a wet one"
    ),
] = 3.0
_FARTHEST_K: Annotated[float, Evidence("K", "estimate", "farther off, a dial was read in the other unit")] = (
    40.0
)


@dataclass(frozen=True, slots=True, kw_only=True)
class WickCheck:
    """A wet bulb held against the room's own humidity.

    Attributes
    ----------
    read_K, true_K, true_low_K, true_high_K : float
        What it shows, and what it has to show by the hygrometer, with the range of that [K].
    """

    read_K: float
    true_K: float
    true_low_K: float
    true_high_K: float

    @property
    def off_K(self) -> float:
        """What it shows less what is true [K]."""
        return self.read_K - self.true_K

    @property
    def holds(self) -> bool:
        """Whether it is within what both instruments leave open."""
        return self.true_low_K <= self.read_K <= self.true_high_K

    @property
    def dry(self) -> bool:
        """Whether it reads too high: the wick is dry, dirty, or the air too slow over it."""
        return self.read_K > self.true_high_K


def wick_check(
    air_K: float, wet_bulb_K: float, humidity: float, humidity_error: float, altitude_m: float = 0.0
) -> WickCheck:
    """Check a wet bulb in the air of a room, in front of a fan.

    Parameters
    ----------
    air_K, wet_bulb_K : float
        What both thermometers show [K].
    humidity, humidity_error : float
        Relative humidity by a hygrometer, and how far that may be off [-].
    altitude_m : float
        Of the place [m].

    Examples
    --------
    >>> check = wick_check(294.15, 290.65, 0.45, 0.05)
    >>> round(check.true_K - 273.15, 1), check.dry
    (13.9, True)
    """
    pressure = float(standard_pressure(altitude_m))
    if wet_bulb_K > air_K + _TWO_K:
        raise InputError("the wet bulb shows more than the air; are the two swapped?")

    def at(relative: float) -> float:
        vapour = min(max(relative, 0.01), 1.0) * float(saturation_pressure(air_K))
        return float(wet_bulb(air_K, vapour, pressure))

    true = at(humidity)
    if air_K - true < _DRY_ROOM_K:
        raise InputError(
            f"in air so humid a wet wick shows nearly what a dry one does ({air_K - true:.1f} K apart): check it in drier or "
            "warmer air"
        )
    return WickCheck(
        read_K=wet_bulb_K,
        true_K=true,
        true_low_K=at(humidity - humidity_error) - _TWO_K,
        true_high_K=at(humidity + humidity_error) + _TWO_K,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class DialCheck:
    """An appliance's dial held against its air.

    Attributes
    ----------
    offset_K, uncertainty_K : float
        Air less dial in the mean, and one standard deviation of that for the next batch [K].
    low_K, high_K : float
        The least and the most that a pair of readings gave [K].
    count : int
    """

    offset_K: float
    uncertainty_K: float
    low_K: float
    high_K: float
    count: int


def dial_check(pairs: tuple[tuple[float, float], ...], thermometer_error_K: float) -> DialCheck:
    """Return how far the air stands from the dial.

    Parameters
    ----------
    pairs : tuple of (float, float)
        What was set and what a thermometer in the air showed, as the mean of a few minutes [K].
    thermometer_error_K : float
        Of the thermometer [K], one standard deviation.

    Examples
    --------
    >>> check = dial_check(((338.15, 334.15), (343.15, 338.15)), 1.0)
    >>> check.offset_K, round(check.uncertainty_K, 1)
    (-4.5, 1.2)
    """
    off = np.array([air - dial for dial, air in pairs])
    if np.abs(off).max() > _FARTHEST_K:
        raise InputError(
            f"the air is {off[np.abs(off).argmax()]:+.0f} K off the dial: is the unit of both the same, and had the air settled?"
        )
    scatter = float(off.std(ddof=1)) if off.size > 1 else 0.0
    return DialCheck(
        offset_K=float(off.mean()),
        uncertainty_K=float(np.hypot(thermometer_error_K, scatter)),
        low_K=float(off.min()),
        high_K=float(off.max()),
        count=int(off.size),
    )
