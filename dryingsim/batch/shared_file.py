"""Reads the reference files of `shared/`: CSV with '# key: value' lines on top."""

import csv
from functools import cache
from pathlib import Path

_PACKAGE = Path(__file__).resolve().parents[1]


def _folder() -> Path:
    """Return where the files are: a built package holds copies, in a checkout they are where they are kept."""
    shipped = _PACKAGE / "shipped" / "shared"
    return shipped if shipped.is_dir() else _PACKAGE.parent / "shared"


@cache
def shared_rows(name: str) -> tuple[dict[str, str], tuple[dict[str, str], ...]]:
    """Return the head (source, status, licence, note) and the rows, as text, of `shared/NAME.csv`."""
    lines = (_folder() / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    remarks = [line[2:].partition(": ") for line in lines if line.startswith("# ")]
    body = [line for line in lines if not line.startswith("#")]
    return {key: value for key, _, value in remarks}, tuple(csv.DictReader(body))
