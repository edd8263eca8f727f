"""The federal time-temperature tables: the times the package asks for at the printed temperatures."""

import numpy as np

from dryingsim.batch.catalog.federal_tables import MEAT_TARGETS, POULTRY_TARGET, federal_column
from dryingsim.judge.federal_table import required_time
from validation.case import Case
from validation.data import Table, table

_MEAT, _POULTRY = table("federal_meat_times"), table("federal_poultry_times")
_FAT = range(1, 13)
_REASON = (
    "the printed value itself; what is printed as instant is left out, since the package does not believe it"
)


def _kelvin(rows: Table) -> np.ndarray:
    return (rows.column("temp_F") + 459.67) / 1.8


def _timed(printed: np.ndarray, asked: np.ndarray) -> np.ndarray:
    return np.where(printed > 0.0, asked / np.where(printed > 0.0, printed, 1.0), 1.0)


def meat(full: bool) -> np.ndarray:
    """Required over printed time, for each target and row."""
    return np.array(
        [
            _timed(_MEAT.column(name), required_time(_kelvin(_MEAT), federal_column("meat", target)))
            for target, name in MEAT_TARGETS.items()
        ]
    )


def birds(full: bool) -> np.ndarray:
    """Required over printed time, for each bird, fat content and row, one after the other."""
    found = []
    for bird in ("chicken", "turkey"):
        rows = _POULTRY.where(bird=bird)
        for fat in _FAT:
            column = federal_column(bird, POULTRY_TARGET, fat)
            found.append(_timed(rows.column(f"fat{fat}_s"), required_time(_kelvin(rows), column)))
    return np.concatenate(found)


CASES = [
    Case(
        name="federal times for meat, 5, 6.5 and 7 log",
        kind=3,
        source=_MEAT.source,
        status=_MEAT.status,
        inputs="130-160 degF, internal",
        expected=lambda full: np.ones((3, len(_MEAT.rows))),
        tolerance=1e-9,
        reason=_REASON,
        compute=meat,
    ),
    Case(
        name="federal times for chicken and turkey, 1 to 12 % fat",
        kind=3,
        source=_POULTRY.source,
        status=_POULTRY.status,
        inputs="136-165 degF, internal, 7 log",
        expected=lambda full: np.ones(len(_FAT) * len(_POULTRY.rows)),
        tolerance=1e-9,
        reason=_REASON,
        compute=birds,
    ),
]
