"""Limits and options that a record is held against: those shipped, or another country's in a file of the same keys."""

from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any, Literal, get_args

from dryingsim.batch.checks import show
from dryingsim.batch.reading.text_file import read_text
from dryingsim.batch.reading.toml import parse_toml
from dryingsim.batch.reading.toml_table import Limits, Table
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
    """A limit in words, and where it is printed.

    Attributes
    ----------
    text : str
        The limit.
    source : str
        Where it is printed.
    """

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
    data = parse_toml(text, name)
    top = Table(name, data, _KEYS)
    low, high, longest, source = _come_up(_table(name, data, "come_up", ("low", "high", "longest", "source")))
    steps: dict[str, tuple[Stated, ...]] = {kind: () for kind in get_args(Deviation)}
    for row in _rows(name, data, "deviation", ("when", "text", "source")):
        kind = row.choice("when", get_args(Deviation), "")
        steps[kind] = (*steps[kind], _stated(row))
    return CriticalLimits(
        name=top.text("name"),
        status=top.text("status"),
        come_up_K=(low, high),
        come_up_s=longest,
        come_up_source=source,
        log_reduction=_stated(_table(name, data, "log_reduction")),
        instrument=_stated(_table(name, data, "instrument")),
        reading=_stated(_table(name, data, "reading")),
        humidity=tuple(map(_stated, _rows(name, data, "humidity"))),
        advice=tuple(map(_stated, _rows(name, data, "advice"))),
        deviation=steps,
    )


def _come_up(table: Table) -> tuple[float, float, float, str]:
    """Return both temperatures [K], the longest time [s] and the source."""
    low, high = (table.quantity(key, Limits("temperature", "0 degC", "100 degC")) for key in ("low", "high"))
    if low >= high:
        raise InputError(f"{table.where('low')} = {show(table.data['low'])} is not below high")
    return low, high, table.quantity("longest", Limits("duration", "1 min", "48 h")), table.text("source")


def _table(name: str, data: dict[str, Any], key: str, keys: tuple[str, ...] = ("text", "source")) -> Table:
    """Return a table that has to be there."""
    if key not in data:
        raise InputError(f"{name} needs [{key}], a table of {', '.join(keys)}")
    return Table.of(name, data, key, keys)


def _rows(
    name: str, data: dict[str, Any], key: str, keys: tuple[str, ...] = ("text", "source")
) -> list[Table]:
    rows = data.get(key, [])
    if not isinstance(rows, list):
        raise InputError(f"{name}: [[{key}]] is expected, with double brackets: there may be several")
    return [Table(f"{name}: [[{key}]] {number}", row, keys) for number, row in enumerate(rows, start=1)]


def _stated(table: Table) -> Stated:
    return Stated(table.text("text"), table.text("source"))
