"""Decline without heat: the published law against counts it was not made from, and against a constant."""

from dataclasses import dataclass

import numpy as np

from dryingsim.constants import ZERO_CELSIUS
from dryingsim.judge.decline import decline_rate
from validation.data import table

FILE = "heat_free_counts"
_DAY = 86400.0


@dataclass(frozen=True)
class Count:
    """A reduction counted without heat [log10], from `least` to `most`, and what the law for E. coli makes of its days."""

    study: str
    organism: str
    words: str
    least: float
    most: float
    law: float

    def miss(self, value: float) -> float:
        """Return how far a value is outside of what was counted [log10]."""
        return max(self.least - value, 0.0) - max(value - self.most, 0.0)


def _number(text: str, otherwise: float) -> float:
    return float(text) if text else otherwise


def counts() -> list[Count]:
    """Return the rows."""
    out = []
    for row in table(FILE).rows:
        stages = [(row["celsius"], row["days"]), (row["celsius_2"], row["days_2"])]
        each = [(float(celsius), float(days)) for celsius, days in stages if days]
        law = sum(_DAY * days * float(decline_rate(celsius + ZERO_CELSIUS)) for celsius, days in each)
        words = (
            row["product"]
            + ", "
            + ", then ".join(f"{days:g} d at {celsius:g} degC" for celsius, days in each)
        )
        ends = _number(row["least"], -np.inf), _number(row["most"], np.inf)
        out.append(Count(row["study"], row["organism"], words, *ends, law))
    return out


def _middle(row: Count) -> float:
    return float(np.mean([end for end in (row.least, row.most) if np.isfinite(end)]))


def constant_of_others(row: Count, rows: list[Count]) -> float:
    """Return the mean of what the other studies counted [log10]."""
    return float(np.mean([_middle(other) for other in rows if other.study != row.study]))


def rms(misses: list[float]) -> float:
    """Return the root mean square."""
    return float(np.sqrt(np.mean(np.square(misses))))


@dataclass(frozen=True)
class Compared:
    """Root mean square misses of the law and of the mean of the other studies, over so many rows."""

    rows: int
    studies: int
    law: float
    constant: float


def compared(organism: str | None = None) -> Compared:
    """Compare law and constant on all rows, or on those of one organism.

    Parameters
    ----------
    organism : str, optional
    """
    every = counts()
    own = [row for row in every if organism in (None, row.organism)]
    return Compared(
        len(own),
        len({row.study for row in own}),
        rms([row.miss(row.law) for row in own]),
        rms([row.miss(constant_of_others(row, every)) for row in own]),
    )
