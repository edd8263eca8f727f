"""What very many slices do over time, as counts: how many of them are in each of many narrow bins, time by time.

So much is stored whatever the number of slices, and whole numbers add up to the same in any order. Shares of the slices
follow to within half the width of a bin.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from dryingsim.engine.ensemble import Numbers

BINS = 8192
_NOT_FOLLOWED = np.iinfo(np.uint16).max
_PREFIX = "series_"


@dataclass(frozen=True)
class _Scale:
    """Even bins over a range, of a quantity or of what rises with it."""

    low: float
    high: float
    rising: Callable[[np.ndarray], np.ndarray] = np.asarray
    back: Callable[[np.ndarray], np.ndarray] = np.asarray

    def codes(self, values: np.ndarray) -> np.ndarray:
        place = (self.rising(values) - self.low) * (BINS / (self.high - self.low))
        known = np.isfinite(place)
        inside = np.clip(np.where(known, place, 0.0), 0.0, BINS - 1.0)
        return np.where(known, inside, _NOT_FOLLOWED).astype(np.uint16)

    def middles(self, bins: np.ndarray) -> np.ndarray:
        return self.back(self.low + (bins + 0.5) * ((self.high - self.low) / BINS))


# bins of 0.00012 in water activity and in moisture per weight, of 0.03 K
_SCALES = {
    "moisture_db": _Scale(0.0, 1.0, lambda x: x / (1.0 + x), lambda wet: wet / (1.0 - wet)),
    "water_activity": _Scale(0.0, 1.0),
    "core_K": _Scale(240.0, 480.0),
    "face_K": _Scale(240.0, 480.0),
}


def coded(numbers: Numbers) -> Numbers:
    """Return what `ensemble.work` gives, with the bins of its series in place of their values: two bytes each."""
    return {
        name: _SCALES[name.removeprefix(_PREFIX)].codes(values) if name.startswith(_PREFIX) else values
        for name, values in numbers.items()
    }


class CountsOverTime:
    """Counts of slices by quantity, time and bin.

    Parameters
    ----------
    times : int
        How many there are.

    Attributes
    ----------
    slices : int
        How many are counted.
    counts : dict of ndarray, shape (t, BINS)
    """

    def __init__(self, times: int) -> None:
        self.slices = 0
        self.counts = {name: np.zeros((times, BINS), dtype=np.uint32) for name in _SCALES}

    def take_from(self, numbers: Numbers) -> Numbers:
        """Count the series of a chunk, as `coded` gives them; return its other numbers."""
        series = {name: values for name, values in numbers.items() if name.startswith(_PREFIX)}
        for name, codes in series.items():
            place = codes + BINS * np.arange(codes.shape[0])[:, None]
            flat = self.counts[name.removeprefix(_PREFIX)].reshape(-1)
            np.add.at(flat, place[codes != _NOT_FOLLOWED], np.uint32(1))
            self.slices += codes.shape[1] if name == f"{_PREFIX}core_K" else 0
        return {name: values for name, values in numbers.items() if name not in series}

    def below(self, name: str, shares: Sequence[float]) -> np.ndarray:
        """Return the values below which a share of the slices lies, as `numpy.quantile` has them.

        Parameters
        ----------
        name : str
            "moisture_db" [kg/kg], "water_activity", "core_K" or "face_K" [K].
        shares : sequence of float
            0 to 1.

        Returns
        -------
        ndarray, shape (shares, t)
            Not a number at times at which not all slices are followed.
        """
        scale, up_to = _SCALES[name], np.cumsum(self.counts[name], axis=1)

        def ranked(rank: int) -> np.ndarray:
            values = scale.middles((up_to <= rank).sum(axis=1))
            return np.where(up_to[:, -1] == self.slices, values, np.nan)

        rows = []
        for share in shares:
            place = share * (self.slices - 1)
            low = int(place)
            first, second = ranked(low), ranked(min(low + 1, self.slices - 1))
            rows.append(first + (place - low) * (second - first))
        return np.stack(rows)
