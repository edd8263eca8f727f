"""Any continuous distribution of scipy as an uncertainty, by its name and parameters; ranks that go together.

scipy's statistics take a while to import, so they are imported where a distribution is named, and only there.
"""

import math
from collections.abc import Mapping, Sequence
from numbers import Real
from typing import Any

import numpy as np

from dryingsim.batch.checks import check_keys, hint, show
from dryingsim.batch.units import expected, to_ratio, to_si
from dryingsim.errors import InputError

Parameters = tuple[tuple[str, float], ...]
Correlation = tuple[str, str, float]
PLACE = ("loc", "scale")  # parameters that every distribution of scipy has, in the unit of what is drawn


def frozen(name: str, parameters: Mapping[str, Any]) -> Any:
    """Return a distribution of `scipy.stats` with its parameters set.

    Parameters
    ----------
    name : str
        As scipy calls it: "triang", "gamma".
    parameters : mapping of float
        Those that scipy asks for, and `loc` and `scale` [1, or SI].

    Raises
    ------
    InputError
        If there is no such distribution, a parameter is missing or impossible, or its standard deviation is not finite.
    """
    from scipy import stats

    where, known = f"distribution {show(name)}", getattr(stats, name, None) if isinstance(name, str) else None
    if not isinstance(known, stats.rv_continuous):
        names = [each for each in dir(stats) if isinstance(getattr(stats, each), stats.rv_continuous)]
        advice = hint(str(name), names) or ";"
        raise InputError(
            f"{where}: scipy.stats has no such continuous distribution{advice} for example 'triang', 'gamma'"
        )
    own = known.shapes.replace(" ", "").split(",") if known.shapes else []
    check_keys(where, parameters, [*own, *PLACE])
    if missing := [key for key in own if key not in parameters]:
        raise InputError(f"{where} needs {' and '.join(missing)}, as scipy.stats.{name} does")
    for key, value in parameters.items():
        if not isinstance(value, Real) or isinstance(value, bool) or not math.isfinite(value):
            raise InputError(f"{where}, {key} = {show(value)}: a number is expected")
    distribution = known(**parameters)
    deviation = float(distribution.std())
    if not math.isfinite(deviation) or not math.isfinite(float(distribution.ppf(0.5))):
        raise InputError(
            f"{where}: with these parameters there is none, or its standard deviation is not finite"
        )
    return distribution


def read_parameters(where: str, typed: Mapping[str, Any], dimension: str) -> dict[str, float]:
    """Read the parameters of a distribution: `loc` and `scale` with the unit of the input, others plain numbers.

    Parameters
    ----------
    where : str
        Their place, for messages.
    typed : mapping
        What was typed, `distribution` among it.
    dimension : str
        Of the input, see `dryingsim.batch.units`.
    """
    if "scale" not in typed:
        raise InputError(f"{where} = {show(dict(typed))}: 'scale' is expected too, {expected(dimension)}")
    return {
        key: to_si(f"{where}, {key}", value, dimension)
        if key in PLACE
        else to_ratio(f"{where}, {key}", value)
        for key, value in typed.items()
        if key != "distribution"
    }


def checked_correlations(
    place: str, stated: Sequence[Any], levels: Mapping[str, str]
) -> tuple[Correlation, ...]:
    """Return rank correlations if each is of two inputs drawn together, and all of them can hold at once.

    Parameters
    ----------
    place : str
        What messages call them.
    stated : sequence
        Each of two keys and a number between -1 and 1.
    levels : mapping of str
        At which level each of the inputs that there are is drawn.
    """
    if not isinstance(stated, list | tuple):
        raise InputError(f'{place} = {show(stated)}: a list is expected, such as [["film", "setpoint", 0.5]]')
    read: list[Correlation] = []
    for row in stated:
        if (
            not isinstance(row, list | tuple)
            or len(row) != 3
            or not all(isinstance(key, str) for key in row[:2])
        ):
            raise InputError(
                f'{place}: {show(row)}: two inputs and a number are expected, such as ["film", "setpoint", 0.5]'
            )
        first, second, value = row
        check_keys(place, (first, second), levels)
        if not isinstance(value, int | float) or isinstance(value, bool) or not -1.0 < value < 1.0:
            raise InputError(
                f"{place}, {first} and {second} = {show(value)}: a number between -1 and 1 is expected"
            )
        if first == second or levels[first] != levels[second]:
            raise InputError(
                f"{place}, {first} and {second}: two different inputs are expected, both of the whole batch or both of a slice"
            )
        if any({first, second} == set(pair[:2]) for pair in read):
            raise InputError(f"{place}, {first} and {second}: the pair stands there twice")
        read.append((first, second, float(value)))
    keys = linked(read)
    if keys and np.linalg.eigvalsh(_normal_correlations(read, keys)).min() < 1e-9:
        raise InputError(
            f"{place}: these correlations cannot all hold at once; take some of them nearer to 0"
        )
    return tuple(read)


def linked(correlations: Sequence[Correlation]) -> list[str]:
    """Return the inputs that are correlated with any other, in the order in which they are named.

    Parameters
    ----------
    correlations : sequence of (str, str, float)
        Of ranks [-].
    """
    return list(dict.fromkeys(key for pair in correlations for key in pair[:2]))


def _normal_correlations(correlations: Sequence[Correlation], keys: Sequence[str]) -> np.ndarray:
    """Correlations of normal numbers whose ranks correlate so: 2 sin(pi r/6) (Pearson 1907)."""
    matrix = np.eye(len(keys))
    for first, second, value in correlations:
        if first in keys:
            i, k = keys.index(first), keys.index(second)
            matrix[i, k] = matrix[k, i] = 2.0 * math.sin(math.pi * value / 6.0)
    return matrix


def correlated(u: np.ndarray, keys: Sequence[str], correlations: Sequence[Correlation]) -> np.ndarray:
    """Return even numbers whose ranks correlate as stated; rows of inputs that are not correlated stay as they are.

    Parameters
    ----------
    u : ndarray, shape (k or more, points)
        Even independent numbers, a row for each key [-].
    keys : sequence of str
        Of the first rows.
    correlations : sequence of (str, str, float)
        Of ranks [-]. Those of other inputs are left out.

    Notes
    -----
    The normal copula: normal numbers are mixed by the Cholesky factor of their correlations.
    """
    from scipy.special import ndtr, ndtri

    own = [key for key in linked(correlations) if key in keys]
    if not own:
        return u
    rows = [keys.index(key) for key in own]
    mixed = u.copy()
    mixed[rows] = ndtr(np.linalg.cholesky(_normal_correlations(correlations, own)) @ ndtri(u[rows]))
    return np.clip(mixed, 1e-9, 1.0 - 1e-9)
