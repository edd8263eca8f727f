"""A thermometer held against what water does by itself: ice melts at 0 degC, water boils where the pressure of the air says.

What is known of it is a range: the fixed point has one, and the display shows steps. The largest error against the cook shifts
a limit: where a thermometer may read 1.2 K too high, 71.1 degC is reached for certain when it shows 72.3. A limit is never
lowered for a thermometer that reads low.
"""

from dataclasses import dataclass
from typing import Annotated, Literal

from dryingsim.constants import ZERO_CELSIUS
from dryingsim.errors import InputError
from dryingsim.evidence import Evidence
from dryingsim.properties.atmosphere import standard_pressure
from dryingsim.properties.moist_air import dew_point

_ICE_K: Annotated[
    float, Evidence("K", "estimate", "crushed ice of tap water, stirred, the probe not at its wall")
] = 0.2
_WEATHER_PA: Annotated[
    float,
    Evidence("Pa", "estimate", "weather moves the pressure of a place by 25 hPa either way, storms by more"),
] = 2500.0
_BAROMETER_PA: Annotated[float, Evidence("Pa", "estimate", "a household barometer, or a telephone's")] = 300.0
_BROKEN_K: Annotated[
    float,
    Evidence("K", "estimate", "farther off than this it was not the fixed point, or it is no thermometer"),
] = 20.0
DOUBTFUL_K: Annotated[
    float,
    Evidence(
        "K", "common practice", "no source; farther off than this it is mended or replaced, not corrected"
    ),
] = 2.0

FixedPoint = Literal["ice", "boiling"]
_WORDS = {"ice": "ice and water", "boiling": "boiling water"}


@dataclass(frozen=True, slots=True, kw_only=True)
class FixedPointCheck:
    """What a thermometer showed at a fixed point, and how far off it is.

    Attributes
    ----------
    point : str
        `ice` or `boiling`.
    true_K, true_low_K, true_high_K : float
        The temperature there [K], and its range.
    read_K : float
        What was shown [K].
    off_low_K, off_high_K : float
        Range of the error, shown less true [K].
    """

    point: FixedPoint
    true_K: float
    true_low_K: float
    true_high_K: float
    read_K: float
    off_low_K: float
    off_high_K: float

    @property
    def off_K(self) -> float:
        """The error, shown less true [K]."""
        return self.read_K - self.true_K

    @property
    def doubtful(self) -> bool:
        """Whether the thermometer is too far off to be corrected."""
        return abs(self.off_K) > DOUBTFUL_K

    def shown_for(self, limit_K: float) -> float:
        """Return what the thermometer has to show for a limit to be reached [K]; never less than the limit."""
        return limit_K + max(self.off_high_K, 0.0)


def ice_check(read_K: float, step_K: float) -> FixedPointCheck:
    """Return the error of a thermometer in ice water.

    Parameters
    ----------
    read_K : float
        What it shows in stirred, crushed ice and water [K].
    step_K : float
        Step of its display [K].

    Examples
    --------
    >>> round(ice_check(274.35, 0.1).off_K, 2)
    1.2
    """
    return _check("ice", (ZERO_CELSIUS, ZERO_CELSIUS - _ICE_K, ZERO_CELSIUS + _ICE_K), read_K, step_K)


def boiling_check(
    read_K: float, step_K: float, altitude_m: float = 0.0, pressure_Pa: float | None = None
) -> FixedPointCheck:
    """Return the error of a thermometer in boiling water.

    Parameters
    ----------
    read_K : float
        What it shows in water that boils strongly [K].
    step_K : float
        Step of its display [K].
    altitude_m : float
        Of the place [m]: its pressure, whatever the weather.
    pressure_Pa : float, optional
        Of the air at the place [Pa], not brought down to the sea; then the altitude is not looked at.

    Examples
    --------
    >>> round(boiling_check(368.15, 0.5, altitude_m=1600.0).true_K - 273.15, 1)
    94.6
    """
    pressure = float(standard_pressure(altitude_m)) if pressure_Pa is None else pressure_Pa
    margin = _WEATHER_PA if pressure_Pa is None else _BAROMETER_PA
    true = tuple(float(dew_point(value)) for value in (pressure, pressure - margin, pressure + margin))
    return _check("boiling", (true[0], true[1], true[2]), read_K, step_K)


def _check(
    point: FixedPoint, true: tuple[float, float, float], read_K: float, step_K: float
) -> FixedPointCheck:
    best, low, high = true
    if abs(read_K - best) > _BROKEN_K:
        raise InputError(
            f"it shows {read_K - ZERO_CELSIUS:.1f} degC where {best - ZERO_CELSIUS:.1f} degC is true: was it in {_WORDS[point]}, "
            "and is the unit right?"
        )
    return FixedPointCheck(
        point=point,
        true_K=best,
        true_low_K=low,
        true_high_K=high,
        read_K=read_K,
        off_low_K=read_K - 0.5 * step_K - high,
        off_high_K=read_K + 0.5 * step_K - low,
    )
