"""Parasites, a separate check by the kind of animal: what heat, freezing and the animal's health have to see to.

Drying, salt and smoke are not counted: they destroy none reliably. The rules stand in `shared/parasites.csv`.
"""

from functools import cache
from typing import Annotated

import numpy as np

from dryingsim.batch.schema import Species
from dryingsim.batch.shared_file import shared_rows
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.evidence import Evidence
from dryingsim.judge.findings import Finding
from dryingsim.judge.lethality import cumulative_exponential
from dryingsim.typing import Array

FISH_K: Annotated[float, Evidence("K", "published", "cooked to 60 degC; shared/parasites.csv")] = 333.15
GAME_K: Annotated[float, Evidence("K", "published", "74 degC for bear and game; shared/parasites.csv")] = (
    347.15
)
MAY_CARRY_TRICHINELLA: tuple[Species, ...] = ("pork", "game", "other", "unknown")


@cache
def _trichinella() -> tuple[Array, Array]:
    """Temperatures [K] and log10 of the times [s] of the former 9 CFR 318.10, the hottest row that has a time the last."""
    rows = [
        (float(row["temperature_C"]) + ZERO_CELSIUS, float(row["time_s"]))
        for row in shared_rows("parasites")[1]
        if row["parasite"] == "Trichinella spiralis, pork"
        and row["mode"] == "heat"
        and float(row["time_s"]) > 0.0
    ]
    at, times = np.array(rows).T
    return at, np.log10(times)


def trichinella_share(time_s: Array, coldest_K: Array) -> float:
    """Return the share of the federal time against Trichinella that a history gathers [-]; 1 and more fulfil it.

    Parameters
    ----------
    time_s : ndarray, shape (t,)
        Time, not falling [s].
    coldest_K : ndarray, shape (t,)
        Temperature of the coldest place [K].

    Examples
    --------
    >>> trichinella_share(np.array([0.0, 60.0]), np.full(2, 333.15))  # 60 degC asks for a minute
    1.0
    """
    at, log10_time = _trichinella()
    rate = -np.interp(coldest_K, at, log10_time)
    return round(float(cumulative_exponential(time_s, rate, coldest_K, float(at[0]))[-1]), 9)


def judge_parasites(species: Species, time_s: Array, coldest_K: Array) -> tuple[Finding, ...]:
    """Return what is to be known of parasites of this kind of animal; nothing of beef and poultry.

    Parameters
    ----------
    species : str
    time_s, coldest_K : ndarray, shape (t,)
        Time [s], and temperature of the coldest place, heating before the drying included [K].
    """
    hottest = float(coldest_K.max())
    found = []
    if species in MAY_CARRY_TRICHINELLA:
        share = trichinella_share(time_s, coldest_K)
        short = Finding("trichinella_short", {"share_percent": 100.0 * share})
        found.append(short if share < 1.0 else Finding("trichinella_met"))
    if species == "game":
        found.append(Finding("game_parasites", {"asked_K": GAME_K, "hottest_K": hottest}))
    if species == "fish":
        found.append(Finding("fish_parasites", {"asked_K": FISH_K, "hottest_K": hottest}))
    return tuple(found)
