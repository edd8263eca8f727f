"""What was learned and is in the numbers of a batch, in words."""

import math

from dryingsim.batch.learned import KEYS
from dryingsim.batch.schema import Batch, Learned
from dryingsim.show.core.quantities import Units, count_of

_ONE_SIDED = 1.645  # standard deviations: nine in ten lie between


def learned_sentence(batch: Batch, units: str | None = None) -> str:
    """Return which learned values a batch uses and how sure they are; nothing where it uses none.

    Examples
    --------
    >>> from dryingsim import demo_batch
    >>> learned_sentence(demo_batch())
    ''
    """
    if batch.learned is None:
        return ""
    told = "; ".join(f"{value} ({ends})" for value, ends in _values(batch.learned, batch, units))
    logs = batch.learned.logs
    return (
        f"Learned values are in these numbers, from {count_of(len(logs), 'log')} ({', '.join(logs)}): {told} (nine times in ten "
        "between the two). Leave [learned] out of the batch file for the package's own."
    )


def learned_brief(batch: Batch, units: str | None = None) -> list[str]:
    """Return the same in a line, for a first screen: what is off by more than half of its uncertainty."""
    if batch.learned is None or not batch.learned.corrections:
        return []
    values = zip(batch.learned.corrections.values(), _values(batch.learned, batch, units), strict=True)
    told = [value for one, (value, _) in values if abs(one.value) >= 0.5 * one.uncertainty]
    all_told = len(told) == len(batch.learned.corrections)
    rest = "" if all_told else "the rest about as described" if told else "all about as described"
    said = "; ".join(filter(None, [", ".join(told), rest]))
    return [f"In these numbers, from {count_of(len(batch.learned.logs), 'log')}: {said}."]


def _values(learned: Learned, batch: Batch, units: str | None) -> list[tuple[str, str]]:
    """Return each learned value, and between what it lies nine times in ten."""
    fahrenheit = Units(batch, units).temperature.name == "degF"
    told = []
    for key, one in learned.corrections.items():
        off, kind = _ONE_SIDED * one.uncertainty, KEYS[key].dimension
        ends = (one.value, one.value - off, one.value + off)
        if kind:
            scale, unit = (100.0, "%") if kind == "fraction" else (1.8, "°F") if fahrenheit else (1.0, "K")
            middle, low, high = (f"{scale * end:+z.1f}" for end in ends)
            told.append((f"{KEYS[key].words} {middle} {unit}", f"{low} to {high}"))
        else:
            middle, low, high = (f"{math.exp(end):.2f}" for end in ends)
            told.append((f"{KEYS[key].words} x {middle}", f"{low} to {high}"))
    return told
