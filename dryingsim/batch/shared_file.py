"""Finds what comes with the package, and reads the reference files of `shared/`: CSV with '# key: value' lines on top."""

import csv
from functools import cache
from pathlib import Path

from dryingsim.errors import InputError

_PACKAGE = Path(__file__).resolve().parents[1]


def shipped_file(name: str) -> Path:
    """Return where a file that comes with the package is, whatever the working directory.

    A built package holds copies of them; in a checkout they are where they are kept.

    Parameters
    ----------
    name : str
        With its folder, as `dryingsim examples` writes it.

    Examples
    --------
    >>> shipped_file("examples/oven_door_ajar.toml").name
    'oven_door_ajar.toml'
    """
    shipped = _PACKAGE / "shipped"
    path = (shipped if shipped.is_dir() else _PACKAGE.parent) / name
    if not path.is_file():
        raise InputError(
            f"{name} does not come with the package; 'dryingsim examples FOLDER' writes what does"
        )
    return path


@cache
def shared_rows(name: str) -> tuple[dict[str, str], tuple[dict[str, str], ...]]:
    """Return the head (source, status, licence, note) and the rows, as text, of `shared/NAME.csv`."""
    lines = shipped_file(f"shared/{name}.csv").read_text(encoding="utf-8").splitlines()
    remarks = [line[2:].partition(": ") for line in lines if line.startswith("# ")]
    body = [line for line in lines if not line.startswith("#")]
    return {key: value for key, _, value in remarks}, tuple(csv.DictReader(body))
