"""The federal time-temperature tables of 2021 (USDA FSIS Appendix A), as printed: `shared/federal_*_times.csv`."""

from dataclasses import dataclass
from functools import cache

from dryingsim.batch.checks import check_choice
from dryingsim.batch.shared_file import shared_rows
from dryingsim.errors import InputError

GUIDELINE = "FSIS-GD-2021-14"
MEAT_TARGETS = {5.0: "log5_s", 6.5: "log6_5_s", 7.0: "log7_s"}  # log10 of Salmonella: column of the file
POULTRY_TARGET = 7.0  # log10
LEAST_FAT, MOST_FAT = (
    1,
    12,
)  # percent; the last column holds for fatter meat and for an unknown fat content too
TABLES = ("meat", "chicken", "turkey", "poultry")
_PAGES = {
    ("meat", 5.0): "table 6, page 59",
    ("meat", 6.5): "table 2, page 35",
    ("meat", 7.0): "table 2, page 35",
    ("chicken", 7.0): "table 3, page 37",
    ("turkey", 7.0): "table 4, page 38",
    ("poultry", 7.0): "tables 3 and 4, pages 37 and 38, the longer time",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class FederalColumn:
    """One column of a table: the time at which the coldest place must be held at its temperature.

    Attributes
    ----------
    table : str
        "meat", "chicken", "turkey", or "poultry": the longer of the two birds' times.
    target : float
        Log10 reduction of Salmonella.
    fat_percent : int or None
        Of the raw poultry.
    where : str
        Guideline, table and page.
    temperature_K, time_s : tuple of float
        As printed, the coolest first; 0 s is "instant".
    """

    table: str
    target: float
    fat_percent: int | None
    where: str
    temperature_K: tuple[float, ...]
    time_s: tuple[float, ...]


@cache
def federal_column(table: str, target: float, fat_percent: int | None = None) -> FederalColumn:
    """Return a column as printed.

    Parameters
    ----------
    table : str
        "meat", "chicken", "turkey" or "poultry".
    target : float
        Log10 reduction [-]: 5, 6.5 or 7 for meat, 7 for poultry.
    fat_percent : int, optional
        Of poultry, 1 to 12; that of 12 % if not given.

    Examples
    --------
    >>> federal_column("meat", 6.5).time_s[0] / 60
    112.0
    """
    check_choice("table", table, TABLES)
    known = MEAT_TARGETS if table == "meat" else {POULTRY_TARGET: ""}
    if target not in known:
        columns = ", ".join(f"{one:g}" for one in known)
        raise InputError(f"table '{table}' has no column for {target:g} log; it has {columns}")
    fat = None if table == "meat" else MOST_FAT if fat_percent is None else fat_percent
    if fat is not None and not LEAST_FAT <= fat <= MOST_FAT:
        raise InputError(f"fat_percent = {fat}: {LEAST_FAT} to {MOST_FAT} is expected")
    times = _meat(target) if table == "meat" else _birds(table, f"fat{fat}_s")
    return FederalColumn(
        table=table,
        target=target,
        fat_percent=fat,
        where=f"{GUIDELINE}, {_PAGES[table, target]}",
        temperature_K=tuple((fahrenheit + 459.67) / 1.8 for fahrenheit in times),
        time_s=tuple(times.values()),
    )


def _meat(target: float) -> dict[float, float]:
    rows = shared_rows("federal_meat_times")[1]
    return {float(row["temp_F"]): float(row[MEAT_TARGETS[target]]) for row in rows}


def _birds(table: str, column: str) -> dict[float, float]:
    """Return temperature [degF] and time of a bird, or the longer time of both."""
    birds = ("chicken", "turkey") if table == "poultry" else (table,)
    found: dict[float, float] = {}
    for row in shared_rows("federal_poultry_times")[1]:
        if row["bird"] in birds:
            at = float(row["temp_F"])
            found[at] = max(found.get(at, 0.0), float(row[column]))
    return found
