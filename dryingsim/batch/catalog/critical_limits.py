"""Limits and options that a record is held against: those shipped, or another country's in a file of the same keys."""

import tomllib
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any, Literal, get_args

from dryingsim.batch.checks import check_choice, check_keys, show
from dryingsim.batch.reading.text_file import read_text
from dryingsim.batch.units import to_si_within
from dryingsim.errors import InputError

Deviation = Literal["temperature", "humidity", "come_up", "any"]
_KEYS = (
    "name",
    "status",
    "come_up",
    "log_reduction",
    "instrument",
    "reading",
    "humidity",
    "deviation",
    "advice",
)


@dataclass(frozen=True, slots=True)
class Stated:
    """A limit in words, and where it is printed."""

    text: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CriticalLimits:
    """What a record is held against.

    Attributes
    ----------
    name, status : str
        Whose they are, and how they were read.
    come_up_K : tuple of float
        Between these temperatures meat may stand for `come_up_s` in all [K].
    come_up_s : float
        [s]
    come_up_source : str
    log_reduction, instrument, reading : Stated
    humidity, advice : tuple of Stated
    deviation : dict of str to tuple of Stated
        What applies where a limit was missed, by `Deviation`.
    """

    name: str
    status: str
    come_up_K: tuple[float, float]
    come_up_s: float
    come_up_source: str
    log_reduction: Stated
    instrument: Stated
    reading: Stated
    humidity: tuple[Stated, ...]
    advice: tuple[Stated, ...]
    deviation: dict[str, tuple[Stated, ...]]


def critical_limits(path: Path | None = None) -> CriticalLimits:
    """Return the limits of a file, or those shipped.

    Parameters
    ----------
    path : Path, optional

    Examples
    --------
    >>> critical_limits().come_up_s
    21600.0
    """
    if path is None:
        name = "critical_limits.toml"
        text = files("dryingsim.batch.catalog").joinpath(name).read_text(encoding="utf-8")
    else:
        name, text = str(path), read_text(path)
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(f"{name}: no TOML can be read of it ({error})") from None
    check_keys(name, data, _KEYS)
    missing = [key for key in _KEYS[:6] if key not in data]
    if missing:
        raise InputError(f"{name}: {missing[0]} is missing; a limits file has {', '.join(_KEYS)}")
    come_up = _table(name, "come_up", data["come_up"], ("low", "high", "longest", "source"))
    low, high = (
        to_si_within(f"{name}: [come_up], {key}", come_up[key], "temperature", "0 degC", "100 degC")
        for key in ("low", "high")
    )
    if low >= high:
        raise InputError(f"{name}: [come_up], low = {show(come_up['low'])} is not below high")
    steps: dict[str, tuple[Stated, ...]] = {kind: () for kind in get_args(Deviation)}
    for row in _rows(name, "deviation", data):
        entry = _table(name, "deviation", row, ("when", "text", "source"))
        kind = check_choice(f"{name}: [[deviation]], when", entry["when"], get_args(Deviation))
        steps[kind] = (*steps[kind], Stated(entry["text"], entry["source"]))
    return CriticalLimits(
        name=_text(name, "name", data["name"]),
        status=_text(name, "status", data["status"]),
        come_up_K=(low, high),
        come_up_s=to_si_within(
            f"{name}: [come_up], longest", come_up["longest"], "duration", "1 min", "48 h"
        ),
        come_up_source=come_up["source"],
        log_reduction=_stated(name, "log_reduction", data["log_reduction"]),
        instrument=_stated(name, "instrument", data["instrument"]),
        reading=_stated(name, "reading", data["reading"]),
        humidity=tuple(_stated(name, "humidity", row) for row in _rows(name, "humidity", data)),
        advice=tuple(_stated(name, "advice", row) for row in _rows(name, "advice", data)),
        deviation=steps,
    )


def _rows(name: str, key: str, data: dict[str, Any]) -> list[Any]:
    rows = data.get(key, [])
    if not isinstance(rows, list):
        raise InputError(f"{name}: [[{key}]] is expected, with double brackets: there may be several")
    return rows


def _stated(name: str, key: str, data: Any) -> Stated:
    entry = _table(name, key, data, ("text", "source"))
    return Stated(entry["text"], entry["source"])


def _table(name: str, key: str, data: Any, keys: tuple[str, ...]) -> dict[str, str]:
    if not isinstance(data, dict):
        raise InputError(f"{name}: {key} = {show(data)}: a table of {', '.join(keys)} is expected")
    check_keys(f"{name}: [{key}]", data, keys)
    for wanted in keys:
        if wanted not in data:
            raise InputError(f"{name}: [{key}] has no {wanted}; every limit says where it is printed")
        _text(name, f"[{key}], {wanted}", data[wanted])
    return data


def _text(name: str, key: str, value: Any) -> str:
    if not isinstance(value, str) or not value.strip():
        raise InputError(f"{name}: {key} = {show(value)}: text is expected")
    return value
