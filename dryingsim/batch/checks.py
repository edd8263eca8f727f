"""Checks of what a person typed; each failure is one line that says what, where, and what would do."""

import difflib
from collections.abc import Iterable, Mapping
from dataclasses import fields
from numbers import Integral, Real
from typing import Any, TypeVar

from dryingsim.batch.toml_writing import toml_text
from dryingsim.errors import InputError

_ALIKE = 0.9  # so like a name that no other need be looked for
_Thing = TypeVar("_Thing")
_ALIKE_NAME = (
    0.65,
    0.6,
)  # of a short name, in which few letters are alike by chance ("butter" is no "beer"), and a long one
_SHORT = 6  # letters
_ALIKE_PART = 0.7  # of a word in a name; less, and "meat" would be taken for the breast of a turkey
_LARGEST_SEED = 2**31 - 1  # that every generator of random numbers takes
_LONGEST = 60  # characters of a typed value repeated in a message
_FEWEST = 3  # letters of a word that a name may be known by: "bag", or its first: "zippered" is a "zip bag"
# what else a thing is called, and the words it has here
_ALSO_CALLED = {
    "ground": ("minced",),
    "ground beef": ("minced beef 90/10",),
    "temp": ("air", "temperature"),
    "temperature": ("air",),
    "time": ("duration",),
    "dehydrator": ("stacked dehydrator",),
    "convection oven": ("oven with fan",),
    "convection": ("oven with fan",),
    "oven": ("oven with fan",),
    "imperial": ("us",),
    "customary": ("us",),
    "american": ("us",),
    "usa": ("us",),
    "si": ("metric",),
    "international": ("metric",),
}


def show(typed: Any) -> str:
    """Return what was typed as it appears in a message: short, on one line, text in quotes, the rest as TOML spells it.

    Examples
    --------
    >>> show("5 mm"), show({"value": "5 mm"}), show(True)
    ("'5 mm'", '{ value = "5 mm" }', 'true')
    """
    spelt = isinstance(typed, dict | list | tuple | bool)
    text = typed if isinstance(typed, str) else " ".join((toml_text(typed) if spelt else str(typed)).split())
    text = brief(text)
    return repr(text) if isinstance(typed, str) else text


def brief(text: str) -> str:
    """Return a text, cut off where it is too long for a message.

    Examples
    --------
    >>> len(brief("x" * 5000))
    63
    """
    return text if len(text) <= _LONGEST else text[:_LONGEST] + "..."


def nearest(word: str, known: Iterable[str]) -> str | None:
    """Return the known word most like `word` (capitals aside), or None if none is like it.

    Of names of several words one or some will do. What goes by another name comes first.

    Parameters
    ----------
    word : str
        What was typed.
    known : iterable of str

    Examples
    --------
    >>> nearest("staked", ["oven with fan", "stacked dehydrator"])
    'stacked dehydrator'
    >>> nearest("eye round", ["beef top round", "beef eye of round"])
    'beef eye of round'
    >>> nearest("zippered", ["jar", "zip bag"])
    'zip bag'
    >>> nearest("ground", ["pounded", "minced"])
    'minced'
    """
    by_lower: dict[str, str] = {}
    for name in known:
        by_lower.setdefault(name.lower(), name)
    typed = word.lower()
    for name in _ALSO_CALLED.get(typed, ()):
        if name in by_lower:
            return by_lower[name]
    parts = {part: name for name in reversed(by_lower) for part in name.split() if len(part) >= _FEWEST}
    alike = _ALIKE_NAME[len(typed) > _SHORT]
    close = difflib.get_close_matches(typed, by_lower, n=1, cutoff=alike)
    part = difflib.get_close_matches(typed, parts, n=1, cutoff=_ALIKE_PART)
    words = typed.split()
    if len(words) > 1 and not (close and difflib.SequenceMatcher(None, typed, close[0]).ratio() > _ALIKE):
        for name in by_lower:
            if all(difflib.get_close_matches(one, name.split(), n=1) for one in words):
                return by_lower[name]
        if (
            words[-1] in by_lower
        ):  # a kind of it: "smoked salt" is salt, however like "oyster sauce" it is spelt
            return by_lower[words[-1]]
    if close or part:
        return by_lower[close[0] if close else parts[part[0]]]
    begun = (
        name for name in by_lower if typed.startswith(name.split()[0]) and len(name.split()[0]) >= _FEWEST
    )
    return next((by_lower[name] for name in begun), None)


def hint(word: str, known: Iterable[str]) -> str:
    """Return "; did you mean 'x'?" for the nearest known word, or nothing.

    Parameters
    ----------
    word : str
        What was typed.
    known : iterable of str
    """
    near = nearest(word, known)
    return f"; did you mean '{near}'?" if near else ""


def check_range(where: str, typed: Any, value: float, low: float, high: float, limits: str) -> float:
    """Return `value` if it lies in [low, high].

    Parameters
    ----------
    where : str
        Its place, for messages.
    typed : object
        What was typed, for the message.
    value : float
        The same [SI, or that of the limits].
    low, high : float
        Limits [the same].
    limits : str
        The same in words: "0.5 mm to 30 mm".
    """
    if not isinstance(value, Real) or not low <= float(value) <= high:  # also catches nan
        raise InputError(f"{where} = {show(typed)} is outside {limits}")
    return value


def check_seed(where: str, seed: Any) -> None:
    """Raise for a seed of random numbers that is no whole number from 0 to 2147483647.

    Parameters
    ----------
    where : str
        What it is for, for messages.
    seed : object
    """
    if not isinstance(seed, Integral) or isinstance(seed, bool) or not 0 <= int(seed) <= _LARGEST_SEED:
        raise InputError(
            f"{where}, seed = {show(seed)}: a whole number from 0 to {_LARGEST_SEED} is expected"
        )


def check_choice(where: str, typed: Any, allowed: Iterable[str]) -> str:
    """Return `typed` if it is one of the allowed words.

    Parameters
    ----------
    where : str
        Its place, for messages.
    typed : object
    allowed : iterable of str
    """
    words = list(allowed)
    if isinstance(typed, str) and typed in words:
        return typed
    near = nearest(typed, words) if isinstance(typed, str) else None
    choices = ", ".join(f"'{word}'" for word in words)
    advice = f"did you mean '{near}'? known: {choices}" if near else f"one of {choices} is expected"
    raise InputError(f"{where} = {show(typed)}: {advice}")


def check_named(where: str, typed: Any, known: Mapping[str, _Thing], kind: str, advice: str) -> _Thing:
    """Return what is known under the name typed, capitals and extra blanks aside.

    Parameters
    ----------
    where : str
        Its place, for messages.
    typed : object
    known : mapping
        By names in lower case.
    kind : str
        What they are, in words: "cut".
    advice : str
        What shows all of them, or what else to do.
    """
    wanted = " ".join(typed.lower().split()) if isinstance(typed, str) else ""
    if wanted not in known:
        raise InputError(
            f"{where} = {show(typed)} is not a known {kind}{hint(wanted, known) or ';'} {advice}"
        )
    return known[wanted]


def check_keys(place: str, table: Iterable[str], known: Iterable[str]) -> None:
    """Raise for the first key of a table that is not known: a misspelt key must never be ignored silently.

    Parameters
    ----------
    place : str
        The table, for messages.
    table : iterable of str
        Its keys.
    known : iterable of str
    """
    names = list(known)
    for key in table:
        if key not in names:
            guess = hint(key, names)
            raise InputError(f"{place} has no key {show(key)}{guess or ';'} known: {', '.join(names)}")


def check_fields(thing: Any, **limits: tuple[float, float]) -> None:
    """Raise for a field that is no number, or outside its limits; what may be left out, and is (None), is not looked at.

    Limits are the least and the most, by the name of the field.

    Parameters
    ----------
    thing : object
        A noun of the batch.
    """
    may_be_left_out = {field.name for field in fields(thing) if field.default is None}
    for name, (low, high) in limits.items():
        value: Any = getattr(thing, name)
        where = f"{type(thing).__name__}, {name}"
        # arrays are the package's own, put together of values looked at before
        if (value is None and name in may_be_left_out) or (hasattr(value, "ndim") and value.ndim):
            continue
        if not isinstance(value, Real) or isinstance(value, bool):
            raise InputError(f"{where} = {value!r}: a number from {low:g} to {high:g} is expected")
        check_range(where, value, float(value), low, high, f"{low:g} to {high:g}")


def check_field_kind(where: str, thing: Any, kind: type) -> None:
    """Raise for a field that is not of the kind of noun it has to be.

    Parameters
    ----------
    where : str
        The noun and its field, for messages.
    thing : object
    kind : type
    """
    if not isinstance(thing, kind):
        article = "an" if kind.__name__[0] in "AEIOU" else "a"
        raise InputError(
            f"{where} = {thing!r}: {article} {kind.__name__} is expected, such as ds.{kind.__name__}(...)"
        )
