"""What a fit says, in numbers a person can read: each thing before and after, what stays open, what did not fit."""

from dataclasses import dataclass

import numpy as np

from dryingsim.batch.learned import appliance_name, with_learned
from dryingsim.batch.reading.learned_file import read_learned
from dryingsim.batch.reading.weigh_in_log import Reading
from dryingsim.batch.schema import Correction, Learned
from dryingsim.batch.writing.learned_file import as_told, learned_toml
from dryingsim.errors import InputError
from dryingsim.learn.fit import Fit
from dryingsim.learn.forecast import NINETY
from dryingsim.learn.parameters import natural

_HARDLY = 0.8  # of the uncertainty before: what is left of something that the log does not determine
_STRANGE = 2.5  # standard deviations of what was thought before: one in eighty is farther off
_TOGETHER = 0.85  # correlation from which on two things are known only together


@dataclass(frozen=True)
class Estimate:
    """One thing: factors, or offsets in SI.

    Attributes
    ----------
    key : str
        Of `batch.learned.KEYS`.
    before, after : tuple of float
        Most likely value, and the ends of the interval that holds 90 %.
    left : float
        Share of the uncertainty before that is left.
    away : float
        How far from what was thought before, in its standard deviations.
    """

    key: str
    before: tuple[float, float, float]
    after: tuple[float, float, float]
    left: float
    away: float

    @property
    def determined(self) -> bool:
        """Whether the log says anything about it."""
        return self.left < _HARDLY

    @property
    def strange(self) -> bool:
        """Whether it is farther off than hardly any batch should be."""
        return abs(self.away) > _STRANGE


@dataclass(frozen=True)
class Misfit:
    """A reading that was left out: what it should have been [SI], and how many standard deviations it is off.

    Attributes
    ----------
    log : str
        It stands in.
    expected : float
        What it should have been [SI].
    """

    log: str
    reading: Reading
    expected: float
    deviations: float


def estimates(fitted: Fit, part: int = 0) -> list[Estimate]:
    """Return what a fit says of one of its batches.

    Parameters
    ----------
    fitted : Fit
    part : int
        Which of its batches, 0 the first.
    """
    priors = fitted.priors
    after, spread = fitted.values(part), np.sqrt(np.diag(fitted.spread(part)))
    rows = zip(priors.keys, priors.mean, priors.total, after, spread, strict=True)
    return [
        Estimate(
            key,
            _interval(key, mean, total),
            _interval(key, value, size),
            float(size / total),
            float((value - mean) / total),
        )
        for key, mean, total, value, size in rows
    ]


def _interval(key: str, value: float, size: float) -> tuple[float, float, float]:
    ends = (value, value - NINETY * size, value + NINETY * size)
    middle, low, high = (natural(key, end) for end in ends)
    return middle, low, high


def together(fitted: Fit, part: int = 0) -> list[tuple[str, str, float]]:
    """Return pairs of things that are known only together, with their correlation [-].

    Parameters
    ----------
    fitted : Fit
    part : int
        Which of its batches, 0 the first.
    """
    covariance = fitted.spread(part)
    size = np.sqrt(np.diag(covariance))
    correlation = covariance / np.outer(size, size)
    keys = fitted.priors.keys
    return [
        (keys[i], keys[j], float(correlation[i, j]))
        for i in range(len(keys))
        for j in range(i + 1, len(keys))
        if abs(correlation[i, j]) > _TOGETHER
    ]


def misfits(fitted: Fit) -> list[Misfit]:
    """Readings that were left out, in the order of the logs."""
    left_out = []
    for slip in sorted(fitted.slips, key=lambda slip: (slip.part, slip.index)):
        should = expected_readings(fitted, slip.part)[slip.index]
        logged = fitted.problem.parts[slip.part].logged
        reading = logged.readings.readings[slip.index]
        left_out.append(Misfit(logged.log.name, reading, float(should), slip.deviations))
    return left_out


def expected_readings(fitted: Fit, part: int) -> np.ndarray:
    """Return what the readings of a log should be, by the fit [kg], [K].

    Parameters
    ----------
    fitted : Fit
    part : int
        Which of its batches, 0 the first.
    """
    problem = fitted.problem
    mine = problem.parts[part]
    fitted_run = problem.fitted_runs(mine, fitted.z)[0]
    return mine.predicted(fitted_run) * problem.factors(mine, fitted.z)


def learned_from(fitted: Fit) -> Learned:
    """Return what a later batch should be simulated with."""
    value, uncertainty = fitted.next_batch()
    rows = zip(fitted.priors.keys, value.tolist(), uncertainty.tolist(), strict=True)
    return Learned(
        logs=tuple(part.logged.log.name for part in fitted.problem.parts),
        corrections={key: Correction(value=middle, uncertainty=size) for key, middle, size in rows},
    )


def learned_file(fitted: Fit, name: str) -> bytes:
    """Return it as a learned file, which every batch of the logs was tried with: see `batch.learned`.

    Parameters
    ----------
    fitted : Fit
    name : str
        Of the file to be, for messages.
    """
    learned, batches = learned_from(fitted), [part.logged.batch for part in fitted.problem.parts]
    count = len(learned.logs)
    about = f"learned from {count} log{'s' if count > 1 else ''}: {', '.join(learned.logs)}"
    text = learned_toml(as_told(learned), appliance_name(batches[0]), about)
    try:
        content = text.encode()
        read, _ = read_learned(text, name)
        for batch in batches:
            with_learned(batch, read)
    except UnicodeEncodeError:
        raise InputError(f"{name} is not written: the name of a log is no text in UTF-8") from None
    except InputError as error:
        raise InputError(
            f"{name} is not written, for no batch could use it ({error}). Look again at the thickness and the weight in "
            "the batch file, and at the times and units in the log"
        ) from None
    return content
