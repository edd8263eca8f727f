"""What was learned as a file, which later batches name: what `batch.reading.learned_file` reads, and reads back the same."""

import math
from dataclasses import replace
from decimal import Decimal, localcontext

from dryingsim.batch.learned import KEYS, LearnedKind
from dryingsim.batch.reading.learned_file import logarithm
from dryingsim.batch.schema import Correction, Learned
from dryingsim.batch.toml_writing import toml_text
from dryingsim.batch.writing.quantities import spelled

_FEW = 15  # digits that a number of a file keeps; with more it is written as text


def learned_toml(learned: Learned, appliance: str, about: str) -> str:
    """Return the text of a file that `batch.reading.learned_file` reads as the very same numbers.

    Parameters
    ----------
    learned : Learned
        `as_told` makes numbers of it that are short to write.
    appliance : str
        The name of the appliance that it was learned in.
    about : str
        What it was learned from, in one line.
    """
    lines = [
        "# Written by 'dryingsim learn'. A batch file uses it with",
        "#   [learned]",
        '#   file = "..."          # this file; use = "meat" or "appliance" takes a part of it',
        "# The values are for the next batch: what was special to the batches of the logs counts for less than there.",
        "# An uncertainty is one standard deviation of what may be met in it.",
        f"about = {toml_text(about)}",
        f"logs = {toml_text(learned.logs)}",
        f"appliance = {toml_text(appliance)}",
        "",
        "[corrections]",
        *(
            f"{key} = {_told(KEYS[key], one)}  # {KEYS[key].words}"
            for key, one in learned.corrections.items()
        ),
    ]
    return "\n".join([*lines, ""])


def as_told(learned: Learned) -> Learned:
    """Return what was learned with as few digits as are worth telling: thousandths of a factor, hundredths of a kelvin.

    Parameters
    ----------
    learned : Learned
    """
    return replace(
        learned, corrections={key: _short(KEYS[key], one) for key, one in learned.corrections.items()}
    )


def _short(kind: LearnedKind, one: Correction) -> Correction:
    if kind.dimension == "temperature difference":
        return Correction(value=round(one.value, 2) + 0.0, uncertainty=round(one.uncertainty, 2))
    if kind.dimension:
        return Correction(value=_of_percent(one.value, 2), uncertainty=_of_percent(one.uncertainty, 2))
    factor = f"{math.exp(one.value):.3f}"
    return Correction(value=logarithm(factor), uncertainty=_of_percent(one.uncertainty, 1))


def _of_percent(share: float, digits: int) -> float:
    """Return a share whose percentage has so many digits after the point; without minus nought."""
    return float(Decimal(f"{100.0 * share:.{digits}f}").scaleb(-2)) + 0.0


def _told(kind: LearnedKind, one: Correction) -> str:
    if kind.dimension:
        value, uncertainty = (_quantity(number, kind.dimension) for number in (one.value, one.uncertainty))
        return f'{{ offset = "{value}", uncertainty = "{uncertainty}" }}'
    return f'{{ factor = {_factor(one.value)}, uncertainty = "{_quantity(one.uncertainty, "fraction", 1)}" }}'


def _quantity(value: float, dimension: str, digits: int = 2) -> str:
    """Return a quantity with at least so many digits after the point."""
    number, unit = spelled(value, dimension).split()
    after = len(number.partition(".")[2])
    return f"{Decimal(number):.{max(after, digits)}f} {unit}"


def _factor(value: float) -> str:
    """Return the factor of a logarithm, with as many digits as it takes to read back the same; many as text, in quotes."""
    short = f"{math.exp(value):.3f}"
    if logarithm(short) == value:
        return short
    with localcontext() as exact:
        digits = 20 + max(0, -Decimal(value).adjusted())
        exact.prec = digits + 10
        text = f"{Decimal(value).exp():.{digits}f}"
    return f'"{text}"' if len(text) > _FEW else text
