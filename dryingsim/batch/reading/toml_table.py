"""A table of a TOML file that reads its own keys: quantities within limits, words, titles; every message tells the place."""

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from dryingsim.batch.checks import check_choice, check_keys, check_range, show
from dryingsim.batch.units import expected, to_ratio, to_si_within
from dryingsim.errors import InputError


@dataclass(frozen=True, slots=True)
class Limits:
    """What a quantity is, and the range outside of which it is surely a slip of the pen.

    Attributes
    ----------
    dimension : str
        Of `batch.dimensions`.
    low : str
        Least, as typed.
    high : str
        Most, as typed.
    example : str
        For messages, in quotes; that of its dimension if left out.
    """

    dimension: str
    low: str
    high: str
    example: str = ""


class Table:
    """One table of the file, which knows its place in it, and reads its keys."""

    def __init__(self, place: str, data: Any, known: Iterable[str]) -> None:
        if not isinstance(data, dict):
            raise InputError(f"{place} = {show(data)}: a table of keys is expected ({', '.join(known)})")
        check_keys(place, data, known)
        self.place = place
        self.data = data

    @classmethod
    def of(cls, name: str, data: dict[str, Any], key: str, known: Iterable[str]) -> "Table":
        """Return the table [key] of a file; an absent one is empty.

        Parameters
        ----------
        name : str
            Of the file, for messages.
        data : dict
            The tables of the file.
        key : str
        known : iterable of str
            Its keys.
        """
        return cls(f"{name}: [{key}]", data.get(key, {}), known)

    def __contains__(self, key: str) -> bool:
        return key in self.data

    def where(self, key: str) -> str:
        """Return the place of a key, for messages."""
        return f"{self.place}, {key}"

    def quantity(self, key: str, limits: Limits, default: str | None = None) -> float:
        """Return the value of a key [SI].

        Parameters
        ----------
        key : str
        limits : Limits
        default : str, optional
            As it might be typed; without one the key is needed.
        """
        typed = self.data.get(key, default)
        if typed is None:
            raise InputError(f"{self.place} needs '{key}': {expected(limits.dimension, limits.example)}")
        return to_si_within(self.where(key), typed, limits.dimension, limits.low, limits.high, limits.example)

    def text(self, key: str) -> str:
        """Return a text that has to be there."""
        typed = self.data.get(key)
        if typed is None:
            raise InputError(f"{self.place} needs '{key}': text in quotes")
        if not isinstance(typed, str) or not typed.strip() or not typed.isprintable():
            raise InputError(f"{self.where(key)} = {show(typed)}: one line of text in quotes is expected")
        return typed.strip()

    def choice(self, key: str, allowed: Iterable[str], default: str) -> str:
        """Return one of a few words.

        Parameters
        ----------
        key, default : str
        allowed : iterable of str
            The words.
        """
        return check_choice(self.where(key), self.data.get(key, default), allowed)

    def yes_or_no(self, key: str, *, default: bool) -> bool:
        """Return true or false.

        Parameters
        ----------
        key : str
        default : bool
        """
        typed = self.data.get(key, default)
        if not isinstance(typed, bool):
            raise InputError(f"{self.where(key)} = {show(typed)}: true or false is expected, without quotes")
        return typed

    def water_activity(self, key: str) -> float:
        """Return a water activity."""
        value = to_ratio(self.where(key), self.data[key])
        return check_range(self.where(key), self.data[key], value, 0.1, 0.99, "0.1 to 0.99")

    def refuse(self, keys: Iterable[str], why: str) -> None:
        """Raise if one of the keys is there.

        Parameters
        ----------
        keys : iterable of str
        why : str
            What is wrong with that, for the message.
        """
        for key in keys:
            if key in self:
                raise InputError(f"{self.where(key)} = {show(self.data[key])}: {why}")

    def only_one(self, first: str, second: str) -> None:
        """Raise if two keys that say the same thing are both there.

        Parameters
        ----------
        first, second : str
        """
        if first in self and second in self:
            raise InputError(f"{self.place} has both '{first}' and '{second}': give one of them")


def title_of(name: str, data: dict[str, Any]) -> str:
    """Return the title of a file; that of a file without one is the file's name.

    Parameters
    ----------
    name : str
        Of the file, for messages.
    data : dict
        The tables of the file.
    """
    title = data.get("title", Path(name).stem)
    if not isinstance(title, str) or not title.strip() or not title.isprintable():
        raise InputError(f"{name}: title = {show(title)}: one line of text in quotes is expected")
    return title.strip()
