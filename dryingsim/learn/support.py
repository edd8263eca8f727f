"""What readings support of a thermostat's offset: a fit in which no probe out of its place turns the dial.

Weights tell slow meat from cool air hardly at all, and a thermometer beside the heater, in the sun of an element or in
the wrong place reads as if the thermostat were off. An offset is therefore learned only where the thermometers agree,
each reads as its place does, and it is no larger than what they can carry. Else the thermostat is taken at its setting,
and the logs are fitted again by their weights alone, so that the other values go with it.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from dryingsim.batch.reading.weigh_in_log import Reading
from dryingsim.batch.uncertainties import INPUTS
from dryingsim.learn.fit import Fit, fit
from dryingsim.learn.fitted_run import Simulate, simulate_runs
from dryingsim.learn.parameters import Priors
from dryingsim.learn.problem import LoggedBatch
from dryingsim.learn.readings import MEAT_K, predicted, readings_of

KEY = "setpoint"
# A household thermostat's own uncertainty (`batch.uncertainties`), twice and five times. Beyond the first, weighings alone say as
# well that the slices are thicker or heavier than typed; beyond the second (estimate, 12-20 K) a probe near the heater is
# likelier than a thermostat so far off.
MOST_BY_WEIGHT_K = 2.0 * INPUTS[KEY].default.size
MOST_BY_AIR_K = 5.0 * INPUTS[KEY].default.size
_FEWEST = 2  # looks at the air, before they say more than weighings
_BY_CHANCE = (
    0.0027  # so rarely do readings scatter so widely: as rarely as one is three standard deviations off
)
_APART_K = 5.0 * MEAT_K  # air and meat so far apart cannot be taken for each other


@dataclass(frozen=True)
class Supported:
    """A fit, and why it takes the thermostat at its setting; no reason where it need not."""

    fit: Fit
    why: str


def fit_supported(
    logged_batches: Sequence[LoggedBatch],
    priors: Priors,
    *,
    simulate: Simulate = simulate_runs,
    progress: Callable[[str], Any] | None = None,
) -> Supported:
    """Estimate from logs, with a thermostat's offset only where their readings support it.

    Parameters
    ----------
    logged_batches : sequence of LoggedBatch
    priors : Priors
    simulate : callable, optional
        As `fitted_run.simulate_runs`.
    progress : callable, optional
        As for `fit`.
    """
    fitted = fit(logged_batches, priors, simulate=simulate, progress=progress)
    why = unsupported(fitted)
    if not why:
        return Supported(fitted, "")
    weighed = [_weights_only(logged) for logged in logged_batches]
    again = fit(weighed, priors.without(KEY), simulate=simulate, progress=progress)
    return Supported(
        again, f"No offset of the thermostat is learned, and readings of thermometers do not count: {why}"
    )


def _weights_only(logged: LoggedBatch) -> LoggedBatch:
    log = replace(logged.log, readings=logged.log.of("weight"))
    return replace(logged, log=log, readings=readings_of(log))


def unsupported(fitted: Fit) -> str:
    """Return why the offset of the thermostat that a fit found is not to be learned; empty where it may be."""
    if KEY not in fitted.priors.keys:
        return ""
    looks = [look for part in range(len(fitted.problem.parts)) for look in _looks(fitted, part)]
    return _misplaced(looks) or _disagreeing(looks) or _too_large(fitted, looks)


@dataclass(frozen=True)
class _Look:
    """A reading of a thermometer against the fit."""

    log: str
    reading: Reading
    used: bool
    miss: float  # in its standard deviations, before they were widened
    air_K: float  # what the fit has for the air and for the meat there
    meat_K: float

    @property
    def words(self) -> str:
        return self.reading.place(self.log)

    @property
    def elsewhere(self) -> bool:
        """Whether it reads as the air does in the meat, or as the meat in the air."""
        own, other = self.meat_K, self.air_K
        if self.reading.quantity == "air":
            own, other = other, own
        return abs(other - own) > _APART_K and abs(self.reading.value - other) < abs(self.reading.value - own)


def _looks(fitted: Fit, part: int) -> list[_Look]:
    mine = fitted.problem.parts[part]
    logged, fitted_run = mine.logged, fitted.problem.fitted_runs(mine, fitted.z)[0]
    places = {
        place: predicted(
            fitted_run,
            replace(logged.readings, readings=tuple(replace(r, quantity=place) for r in logged.log.readings)),
            logged.batch,
        )
        for place in ("air", "meat")
    }
    misses = fitted.misses(part) * fitted.widened
    return [
        _Look(logged.log.name, reading, used, miss, air_K, meat_K)
        for reading, used, miss, air_K, meat_K in zip(
            logged.log.readings,
            mine.used.tolist(),
            misses.tolist(),
            places["air"].tolist(),
            places["meat"].tolist(),
            strict=True,
        )
        if reading.quantity in ("air", "meat")
    ]


def _misplaced(looks: Sequence[_Look]) -> str:
    astray = [look for look in looks if look.used and look.elsewhere]
    if not astray:
        return ""
    look = astray[0]
    other = "meat" if look.reading.quantity == "air" else "air"
    return f"{look.words} has a thermometer in the {look.reading.quantity} that reads as the {other} does"


def _disagreeing(looks: Sequence[_Look]) -> str:
    used = [look for look in looks if look.used]
    left_out = [look for look in looks if not look.used]
    if left_out and len(used) <= len(left_out):
        return f"as many readings of thermometers do not fit ({left_out[0].words}) as do"
    air = sorted((look for look in used if look.reading.quantity == "air"), key=lambda look: look.miss)
    if len(air) < _FEWEST:
        return ""
    from scipy.special import gammaincc  # slow to import

    misses = np.array([look.miss for look in air])
    scatter = float(np.sum((misses - misses.mean()) ** 2))
    if gammaincc(0.5 * (len(air) - 1), 0.5 * scatter) < _BY_CHANCE:  # chi square
        return f"readings of the air disagree by more than their errors explain ({air[0].words}, {air[-1].words})"
    return ""


def _too_large(fitted: Fit, looks: Sequence[_Look]) -> str:
    offset = float(fitted.next_batch()[0][fitted.priors.keys.index(KEY)])
    times = {
        (look.log, look.reading.time_s) for look in looks if look.used and look.reading.quantity == "air"
    }
    us = fitted.problem.parts[0].logged.batch.display == "us"
    amount = f"the air would be {_apart(abs(offset), us)} {'cooler' if offset < 0.0 else 'hotter'} than its setting"
    if len(times) < _FEWEST and abs(offset) > MOST_BY_WEIGHT_K:
        return (
            f"{amount}. Weights alone, or with one reading of the air, cannot show more than "
            f"{_apart(MOST_BY_WEIGHT_K, us)}: slices thicker or heavier than typed look the same"
        )
    if abs(offset) > MOST_BY_AIR_K:
        return (
            f"{amount}, more than {_apart(MOST_BY_AIR_K, us)}: a probe near the heater is likelier than a thermostat so far off. "
            "Where the air beside the slices truly is so, give that as the air of the stages"
        )
    return ""


def _apart(kelvin: float, us: bool) -> str:
    celsius, fahrenheit = f"{kelvin:.0f} K", f"{1.8 * kelvin:.0f} °F"
    return f"{fahrenheit} ({celsius})" if us else f"{celsius} ({fahrenheit})"
