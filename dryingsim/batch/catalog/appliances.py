"""Appliances by the plain names of their kinds."""

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib import resources
from typing import Any

from dryingsim.batch.appliance_description import Description, parse_description
from dryingsim.batch.checks import check_named


@cache
def _tables() -> Mapping[str, dict[str, Any]]:
    return tomllib.loads((resources.files(__package__) / "appliances.toml").read_text(encoding="utf-8"))


@cache
def _described(name: str) -> Description:
    return parse_description(name, _tables()[name], name)


def all_appliances() -> dict[str, Description]:
    """Return every known appliance by its name, in the order of the file."""
    return {name: _described(name) for name in _tables()}


def known_appliance(name: str) -> Description | None:
    """Return the appliance of exactly this name, if there is one; only its own table is read.

    Parameters
    ----------
    name : str
    """
    return _described(name) if name in _tables() else None


def find_appliance(where: str, name: Any, own: str = "") -> Description:
    """Return the appliance called `name`, capitals and extra blanks aside.

    Parameters
    ----------
    where : str
        Its place, for messages.
    name : object
        What was typed.
    own : str
        What takes a description of one's own, if anything does there.
    """
    advice = f"'dryingsim list appliances' shows all{own and f'; {own} takes a description of your own'}"
    known = {name: name for name in _tables()}  # only the one that is wanted is read
    return _described(check_named(where, name, known, "appliance", advice))
