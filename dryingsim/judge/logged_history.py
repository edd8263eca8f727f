"""A thermometer's log as its checks look at it, and what they return."""

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from dryingsim.constants import ZERO_CELSIUS
from dryingsim.evidence import Evidence
from dryingsim.judge.findings import Finding
from dryingsim.typing import Array

THIN_M: Annotated[
    float,
    Evidence(
        "m",
        "common practice",
        "a thin slice: where the thickness is not said, the one that follows its air fastest",
    ),
] = 3e-3
COLD_K: Annotated[
    float, Evidence("K", "common practice", "meat goes in from the cold or from a warm kitchen")
] = ZERO_CELSIUS + 25.0
HOT_K: Annotated[
    float,
    Evidence(
        "K", "published", "the coolest row of the federal tables (130 degF), below which nothing counts"
    ),
] = ZERO_CELSIUS + 54.0
HUMID: Annotated[
    float,
    Evidence(
        "-",
        "estimate",
        "relative humidity from which air is humid; high on purpose for household hygrometers",
    ),
] = 0.60
SLACK_K: Annotated[float, Evidence("K", "estimate", "two thermometers of a kitchen disagree by so much")] = (
    3.0
)
WET_AW: Annotated[
    float, Evidence("-", "estimate", "wetter than this, evaporation cools it like free water")
] = 0.95
DRY_AND_HOT_K: Annotated[float, Evidence("K", "estimate", "no dehydrator but an oven makes meat hotter")] = (
    ZERO_CELSIUS + 100.0
)


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggedHistory:
    """What the checks look at, in SI; arrays of shape (reading,).

    Attributes
    ----------
    time_s : Array
        Of each reading [s].
    meat_K : Array
        Temperature of the meat [K].
    water_activity : Array
        Of the meat where it was measured [-].
    air_K : Array or None
        Beside it [K]; None: not logged.
    relative_humidity : Array or None
        Of that air [-]; None: not logged.
    thickness_m : float
        Of the slice [m].
    started_warm : str or None
        Why the meat was warm at the first reading; None: nobody said.
    fahrenheit : bool
        Typed so: what messages speak.
    """

    time_s: Array
    meat_K: Array
    water_activity: Array
    air_K: Array | None = None
    relative_humidity: Array | None = None
    thickness_m: float = THIN_M
    started_warm: str | None = None
    fahrenheit: bool = False

    @property
    def humid(self) -> Array:
        """Where the air was measured to be humid."""
        if self.relative_humidity is None:
            return np.zeros(self.time_s.size, dtype=bool)
        return self.relative_humidity >= HUMID

    @property
    def in_oven(self) -> Array:
        """Where the air was measured to be above boiling: under a dry crust the middle may be wet and hot."""
        if self.air_K is None:
            return np.zeros(self.time_s.size, dtype=bool)
        return self.air_K >= DRY_AND_HOT_K

    @property
    def hot(self) -> Array:
        """Where the meat is hot enough to count."""
        return self.meat_K >= HOT_K


@dataclass(frozen=True, slots=True)
class Objection:
    """What speaks against a log, and the reading it is about.

    Attributes
    ----------
    finding : Finding
        What it is.
    """

    finding: Finding
    reading: int | None = None


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a log cannot be that of meat, as the message of an error, and the reading it is about."""

    message: str
    reading: int | None = None


def first_of(where: Array) -> int | None:
    """Return the first reading where something holds, or None."""
    at = np.flatnonzero(where)
    return int(at[0]) if at.size else None
