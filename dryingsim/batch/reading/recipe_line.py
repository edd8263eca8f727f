"""A line of a recipe as people write it, "1/2 cup soy sauce", taken apart into an amount and a name."""

import re

from dryingsim.batch.catalog.ingredients import is_known
from dryingsim.batch.checks import show
from dryingsim.batch.number_words import in_digits
from dryingsim.batch.units import kind_of
from dryingsim.errors import InputError

_NUMBER = re.compile(r"(\d+\s+\d+/\d+|\d+/\d+|\d+\.?\d*|\.\d+)\s*")
_RANGE = re.compile(r"[\d./ ]*\d\s*(-|–|to\b|or\b)\s*\d")
_SHORT = re.compile(r"[\d./ ]*\d\s*([TtCc])\.?\s")  # a capital letter away from three times as much
_COMMA = re.compile(r"[\d./ ]*\d,\d")
_AND = {"plus", "and", "+", "&"}
_EXAMPLE = '"1/2 cup soy sauce"'
# what is done to an ingredient changes nothing of what it brings; any other word may (low sodium!), so it is not dropped
_DONE_TO = {
    "chopped", "coarsely", "cold", "crushed", "diced", "dissolved", "finely", "firmly", "fresh", "freshly", "grated", "ground",
    "large", "lightly", "medium", "melted", "minced", "packed", "peeled", "pressed", "sliced", "small", "warm",
}  # fmt: skip


def entry_of_line(place: str, line: str) -> dict[str, str]:
    """Return the name and the amount of a line.

    Parameters
    ----------
    place : str
        For messages.
    line : str

    Examples
    --------
    >>> entry_of_line("", "1 ½ cups soy sauce (low sodium)")
    {'name': 'low sodium soy sauce', 'amount': '1 1/2 cups'}
    >>> entry_of_line("", "3 cloves garlic, minced")
    {'name': 'garlic', 'amount': '3 cloves'}
    """
    text = " ".join(in_digits(line).split())
    if _COMMA.match(text):
        raise InputError(
            f"{place}: {show(line)}: the decimal sign is a point, {show(text.replace(',', '.', 1))}"
        )
    if _RANGE.match(text):
        raise InputError(f"{place}: {show(line)}: one amount is expected, not from one to another")
    short = _SHORT.match(text)
    if short:
        raise InputError(
            f"{place}: {show(line)}: {show(short[1])} is easily mistaken: write tbsp, tsp or cup"
        )
    amount, rest = _amount(text)
    if not amount or not rest:
        taste = "; what 'to taste' is decides how salty the meat gets" if "taste" in text.lower() else ""
        raise InputError(
            f"{place}: {show(line)}: an amount with its unit, then what it is, are expected, as {_EXAMPLE}{taste}"
        )
    return {"name": _name(rest), "amount": amount}


def _amount(text: str) -> tuple[str, str]:
    """Split "1/4 cup plus 2 tbsp of soy sauce" into the amount and the rest; nothing where it begins with no amount."""
    text = in_digits(text)
    found = _NUMBER.match(text)
    if found is None:
        return "", text
    number = found[1]
    words = text[found.end() :].removeprefix("level ").split(" ")
    for count in (2, 1):
        unit = "".join(words[:count]).rstrip(".").replace(".", "")
        known = next((one for one in (unit, unit.lower()) if kind_of(f"1 {one}", ("mass", "volume"))), None)
        if known:
            rest = words[count:]
            if len(rest) > 1 and rest[0] in _AND:
                more, after = _amount(" ".join(rest[1:]))
                return (f"{number} {known} {more}", after) if more else ("", text)
            return f"{number} {known}", " ".join(rest[1:] if rest and rest[0] == "of" else rest)
    if words[0] == "garlic" and len(words) > 1:  # its cloves, which without it are a spice
        words = [words[1].rstrip(","), "garlic,", *words[2:]]
    of = len(words) > 2 and words[1] == "of"  # "3 cloves of garlic", "a splash of vinegar"
    return f"{number} {words[0]}", " ".join(
        words[2:] if of else words[1:]
    )  # pieces of something, if of anything


def _name(rest: str) -> str:
    """Return what an ingredient is called, without what is done to it."""
    text = re.sub(r"\s*\(([^)]*)\)", r", \1", rest).strip(" ,")
    parts = [part.strip() for part in text.split(",") if part.strip()]
    told = [part for part in parts if not all(word.lower() in _DONE_TO for word in part.split())]
    tried = [", ".join(told), " ".join([*told[1:], *told[:1]])]
    for name in [text, *tried]:
        words = name.split()
        while words:
            if is_known(" ".join(words)):
                return " ".join(words)
            if words[0].lower() not in _DONE_TO:
                break
            words = words[1:]
    return tried[0] or text
