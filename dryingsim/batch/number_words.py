"""Numbers as people type them in a kitchen, put in digits: signs for fractions ("1½"), and words ("half a", "two")."""

import re
import unicodedata
from functools import lru_cache

_KEPT = 4096  # most of what stands in a file is in many like it
_FRACTION_SIGNS = re.compile("[¼-¾⅐-⅞]|[⁰¹²³⁴-⁹]+[⁄∕/][₀-₉]+")
_WORDS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
_COUNTS = {word: count for count, word in enumerate(_WORDS, start=1)}
_SHARES = {"half": 2, "halves": 2, "third": 3, "thirds": 3, "quarter": 4, "quarters": 4}
_COUNT = rf"(?:\d+|an?|{'|'.join(_COUNTS)})"
_SHARE = re.compile(  # "half a", "three quarters of a", "one and a half"
    rf"\s*(?:(?P<whole>{_COUNT})\s+and\s+)?(?:(?P<above>{_COUNT})\s+)?(?P<below>{'|'.join(_SHARES)})(?:\s+of)?(?:\s+an?)?\s+",
    re.IGNORECASE,
)
_COUNTED = re.compile(rf"\s*({_COUNT})\s+(?:and\s+(?=\d+/\d)|(?=[^\W\d]))", re.IGNORECASE)
_MIXED = re.compile(r"^(\s*\d+)[-–](\d+/\d+)")  # 1-1/2 is one and a half


@lru_cache(maxsize=_KEPT)
def plain_fractions(text: str) -> str:
    """Return a text with its fractions in digits: "1½ cups" and "1-1/2 cups" as "1 1/2 cups".

    Examples
    --------
    >>> plain_fractions("1½ cups"), plain_fractions("1-1/2 cups"), plain_fractions("³⁄₁₆ inch")
    ('1 1/2 cups', '1 1/2 cups', '3/16 inch')
    """
    text = _FRACTION_SIGNS.sub(lambda sign: f" {unicodedata.normalize('NFKC', sign[0])}", text)
    return _MIXED.sub(r"\1 \2", text.replace("⁄", "/").replace("∕", "/").lstrip())


@lru_cache(maxsize=_KEPT)
def in_digits(text: str) -> str:
    """Return a text that begins with a number with that in digits: "a quarter cup" as "1/4 cup".

    Parameters
    ----------
    text : str

    Examples
    --------
    >>> in_digits("half a cup"), in_digits("one and a half cups"), in_digits("two tbsp honey"), in_digits("an inch")
    ('1/2 cup', '1 1/2 cups', '2 tbsp honey', '1 inch')
    """
    text = plain_fractions(text)
    share = _SHARE.match(text)
    if share is not None:
        whole = f"{_count(share['whole'])} " if share["whole"] else ""
        ratio = f"{_count(share['above'] or 'a')}/{_SHARES[share['below'].lower()]}"
        return f"{whole}{ratio} {text[share.end() :]}"
    return _COUNTED.sub(lambda word: f"{_count(word[1])} ", text, count=1) if _COUNTED.match(text) else text


def _count(word: str) -> int:
    return int(word) if word.isdecimal() else _COUNTS.get(word.lower(), 1)  # "a" and "an" are one
