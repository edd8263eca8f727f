"""A batch file's document with a value changed at a place; a humidity measured in other air is measured no more."""

import math
import re
from typing import Any

from dryingsim.batch.checks import show
from dryingsim.batch.dimensions import DIMENSIONS
from dryingsim.batch.schema import Batch
from dryingsim.batch.units import kind_of, to_si
from dryingsim.errors import InputError

# places that make other air than that in which a humidity was measured
_AIR = re.compile(r"(appliance|stage\.(\d+)\.(air|humidity|speed|door_gap))(?!.*\.measured$)")


def change(document: dict[str, Any], where: str, key: str, value: Any) -> None:
    """Set the value at a place of a document; a humidity measured in other air than that of the file is measured no more.

    A value of the same size as the file's changes no air; what a stage's air is changes nothing measured in another stage.

    Parameters
    ----------
    document : dict
        A batch file as `tomllib` reads it; it is changed.
    where : str
        The place, for messages.
    key : str
        The place, with dots; items of a list count from 1.
    value : object
        As TOML would hold it.
    """
    path = [part.strip() for part in key.split(".")]
    before = value_at(document, path)
    put(document, where, path, value)
    place = _AIR.match(".".join(path))
    if place is None or _alike(before, value):
        return
    stages = document["stage"]
    for stage in stages if place[2] is None else stages[int(place[2]) - 1 : int(place[2])]:
        for name in ("humidity", "humidity_end"):
            if isinstance(stage, dict) and isinstance(stage.get(name), dict):
                stage[name].pop("measured", None)


def _alike(before: Any, value: Any) -> bool:
    """Whether two typed values are of the same size, such as "60.5 degC" and "60.50 °C"."""
    if before == value:
        return True
    kinds = {kind_of(typed, DIMENSIONS) for typed in (before, value)}
    if len(kinds) != 1 or None in kinds:
        return False
    try:
        sizes = [to_si("", typed, str(*kinds)) for typed in (before, value)]
    except InputError:  # the reader of the whole file says what is wrong
        return False
    return math.isclose(*sizes, rel_tol=1e-9)  # rounding of conversions


def no_longer_measured(meant: Batch, changed: Batch) -> tuple[int, ...]:
    """Return the indices of the stages whose humidity was measured by the file, and is not in a changed batch of it.

    Parameters
    ----------
    meant : Batch
        Of the file.
    changed : Batch
        With the same stages.
    """
    pairs = enumerate(zip(meant.stages, changed.stages, strict=True))
    return tuple(
        index
        for index, (stage, other) in pairs
        if stage.air.humidity.measured and not other.air.humidity.measured
    )


def value_at(document: Any, path: list[str]) -> Any:
    """Return what stands in a document at a place; None where nothing does.

    Parameters
    ----------
    document : dict
        A batch file as `tomllib` reads it.
    path : list of str
        The way to it; items of a list count from 1.
    """
    for part in path:
        if isinstance(document, list) and part.isdecimal() and 1 <= int(part) <= len(document):
            document = document[int(part) - 1]
        elif isinstance(document, dict) and part in document:
            document = document[part]
        else:
            return None
    return document


def put(document: Any, where: str, path: list[str], value: Any) -> None:
    """Set the value at a path; tables that are missing on the way are added, for the reader to check.

    Parameters
    ----------
    document : dict or list
        A part of a batch file; it is changed.
    where : str
        The place, for messages.
    path : list of str
        The way to it within the part.
    value : object
        As TOML would hold it.
    """
    at, below = path[0], path[1:]
    if isinstance(document, list):
        if not at.isdecimal() or not 1 <= int(at) <= len(document):
            raise InputError(f"{where}: instead of {show(at)} a number from 1 to {len(document)} is expected")
        place: Any = int(at) - 1
    elif isinstance(document, dict):
        place = at
    else:
        raise InputError(
            f"{where}: there is {show(document)} in the file, so {show(at)} cannot stand below it"
        )
    if below:
        if isinstance(document, dict):
            document.setdefault(place, {})
        put(document[place], where, below, value)
    else:
        document[place] = value
