"""Reads the reference files of `shared/`: CSV with '# key: value' lines (or plain remarks) on top."""

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

SHARED = Path(__file__).resolve().parents[1] / "shared"


@dataclass(frozen=True)
class Table:
    """A reference file: its head (source, status, licence) and its rows as text."""

    head: dict[str, str]
    rows: tuple[dict[str, str], ...]

    @property
    def source(self) -> str:
        """Where the numbers come from."""
        return self.head["source"]

    @property
    def status(self) -> str:
        """Read, from memory or derived."""
        return self.head["status"]

    def column(self, name: str) -> np.ndarray:
        """One column as numbers; an empty cell is not a number."""
        return np.array([float(row[name]) if row[name] else np.nan for row in self.rows])

    def where(self, **values: str | float) -> "Table":
        """Rows whose columns have the given values (numbers compared as numbers)."""
        return Table(self.head, tuple(row for row in self.rows if all(map(_same, *_pairs(row, values)))))


def _pairs(row: dict[str, str], values: dict[str, str | float]) -> tuple[list[str], list[str | float]]:
    return [row[name] for name in values], list(values.values())


def _same(cell: str, value: str | float) -> bool:
    return cell == value if isinstance(value, str) else bool(cell) and float(cell) == value


def _lines(path: Path) -> Iterator[str]:
    yield from path.read_text(encoding="utf-8").splitlines()


@cache
def table(name: str) -> Table:
    """Read `shared/<name>.csv`."""
    lines = list(_lines(SHARED / f"{name}.csv"))
    head: dict[str, str] = {}
    for line in lines:
        if not line.startswith("# "):
            break
        key, colon, value = line[2:].partition(": ")
        key, value = (key, value) if colon else ("note", key)
        head[key] = f"{head[key]}; {value}" if key in head else value
    body = [line for line in lines if not line.startswith("#")]
    return Table(head, tuple(csv.DictReader(body)))


def example(identifier: str) -> dict[str, str]:
    """Row of a textbook example: its `source` and `status` belong into the case that uses it.

    Raises
    ------
    KeyError
        If there is no such example, or it is excluded.
    """
    rows = table("textbook_examples").where(id=identifier).rows
    if not rows or rows[0]["excluded"]:
        raise KeyError(f"no usable textbook example {identifier!r}")
    return rows[0]
