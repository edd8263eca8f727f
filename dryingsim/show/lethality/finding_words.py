"""From a key and its numbers to a sentence: templates that say beside each number how it is printed, or functions.

A field is printed as Python prints it, and in ways of our own: `degrees` is a temperature [K] in the unit that was chosen,
`at_least` the same rounded up and `at_most` down, `difference` that between two, `weight` a weight [kg] and `length` a length
[m] in the same system of units, `log` a log10 reduction, `percent` a share, `plural` the s of what is counted, `lasting` a time
[s], `learned` what logs taught, `typed` text as somebody gave it, `sentence` another finding; `.1f/h` is divided by the unit
after the stroke first, and of `?this|that` the one is printed where the value holds, the other where it does not.
"""

import math
import string
from collections.abc import Callable, Mapping
from typing import Any

from dryingsim.batch.checks import show
from dryingsim.batch.learned import learned_words
from dryingsim.judge.findings import Finding
from dryingsim.show.core.quantities import (
    Degrees,
    KitchenUnits,
    Words,
    celsius,
    difference,
    lasting,
    logs,
    percent,
    system_of,
    to_a_degree,
)
from dryingsim.show.lethality.words import LETHALITY_WORDS
from dryingsim.show.thermometer.probe_words import PROBE_WORDS

SENTENCES: Mapping[str, Words] = {**LETHALITY_WORDS, **PROBE_WORDS}
_SI = {"h": 3600.0, "min": 60.0}


def sentence(finding: Finding, degrees: Degrees = celsius) -> str:
    """Return what was found as a sentence without its full stop.

    Examples
    --------
    >>> sentence(Finding("hotter_than_its_air", {"meat_K": 344.26}))
    'the meat, 71.1 degC, is hotter than its air was at any time in the last half hour'
    """
    return printed(finding, degrees, SENTENCES)


def printed(finding: Finding, degrees: Degrees, words_by_key: Mapping[str, Words]) -> str:
    """Return what was found in words of a table; what that has not, in full."""
    words = words_by_key.get(finding.key) or SENTENCES[finding.key]
    if callable(words):
        return words(finding.values, degrees)
    return _Printer(degrees).vformat(words, (), finding.values)


def objection(finding: Finding, degrees: Degrees = celsius) -> str:
    """Return what speaks against a log, with the line of the file it is about."""
    place = f" (line {finding.values['line']})" if "line" in finding.values else ""
    return sentence(finding, degrees) + place


class _Printer(string.Formatter):
    """Prints the fields of a template."""

    def __init__(self, degrees: Degrees) -> None:
        self._ways: dict[str, Callable[[Any], str]] = {
            "degrees": degrees,
            "at_least": lambda kelvin: degrees(to_a_degree(kelvin, degrees, math.ceil)),
            "at_most": lambda kelvin: degrees(to_a_degree(kelvin, degrees, math.floor)),
            "difference": lambda kelvin: difference(kelvin, degrees),
            "weight": KitchenUnits(system_of(degrees)).weight,
            "length": KitchenUnits(system_of(degrees)).length.text,
            "log": logs,
            "percent": percent,
            "plural": lambda count: "" if count == 1 else "s",
            "learned": learned_words,
            "typed": show,
            "lasting": lasting,
            "sentence": lambda finding: "" if finding is None else sentence(finding, degrees),
        }

    def format_field(self, value: Any, format_spec: str) -> str:
        if format_spec in self._ways:
            return self._ways[format_spec](value)
        if format_spec.startswith("?"):
            holds, _, fails = format_spec[1:].partition("|")
            return holds if value else fails
        number, _, unit = format_spec.partition("/")
        return format(value / _SI[unit] if unit else value, number)
