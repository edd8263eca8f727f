"""What was learned and is in the numbers of a batch, in words."""

import math

from dryingsim.batch.learned import KEYS
from dryingsim.batch.schema import Batch
from dryingsim.show.core.quantities import Units

_ONE_SIDED = 1.645  # standard deviations: nine in ten lie between


def learned_sentence(batch: Batch, units: str | None = None) -> str:
    """Return which learned values a batch uses and how sure they are; nothing where it uses none.

    Parameters
    ----------
    batch : Batch
    units : str, optional
        "metric" or "us"; as the batch file says if left out.

    Examples
    --------
    >>> from dryingsim import demo_batch
    >>> learned_sentence(demo_batch())
    ''
    """
    if batch.learned is None:
        return ""
    fahrenheit = Units(batch, units).temperature.name == "degF"
    told = [
        f"{KEYS[key].words} {_value(key, one.value, one.uncertainty, fahrenheit)}"
        for key, one in batch.learned.corrections.items()
    ]
    logs = batch.learned.logs
    return (
        f"Learned values are in these numbers, from {len(logs)} log{'' if len(logs) == 1 else 's'} ({', '.join(logs)}): "
        f"{'; '.join(told)} (nine times in ten between the two). Leave [learned] out of the batch file for the package's own."
    )


def learned_brief(batch: Batch, units: str | None = None) -> list[str]:
    """Return the same in a line, for a first screen.

    Parameters
    ----------
    batch : Batch
    units : str, optional
        "metric" or "us"; as the batch file says if left out.
    """
    if batch.learned is None:
        return []
    fahrenheit = Units(batch, units).temperature.name == "degF"
    told = [
        f"{KEYS[key].words} {_value(key, one.value, one.uncertainty, fahrenheit).partition(' (')[0]}"
        for key, one in batch.learned.corrections.items()
    ]
    logs = len(batch.learned.logs)
    return [f"In these numbers, from {logs} log{'' if logs == 1 else 's'}: {', '.join(told)}."]


def _value(key: str, value: float, uncertainty: float, fahrenheit: bool) -> str:
    ends = (value, value - _ONE_SIDED * uncertainty, value + _ONE_SIDED * uncertainty)
    if not KEYS[key].dimension:
        middle, low, high = map(math.exp, ends)
        return f"x {middle:.2f} ({low:.2f} to {high:.2f})"
    scale, unit = (1.8 if fahrenheit else 1.0, "°F" if fahrenheit else "K")
    if KEYS[key].dimension == "fraction":
        scale, unit = 100.0, "%"
    middle, low, high = (scale * end for end in ends)
    return f"{middle:+.1f} {unit} ({low:+.1f} to {high:+.1f})"
