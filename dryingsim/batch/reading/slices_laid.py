"""How slices lie, as a batch file says it: shares in [trays] that overlap or lie on foil, or what each class does."""

from dataclasses import replace

from dryingsim.batch.laying import laid
from dryingsim.batch.reading.raw_meat import PERCENT
from dryingsim.batch.reading.toml_table import Table
from dryingsim.batch.schema import Lies, Meat, Support
from dryingsim.errors import InputError

SHARES = ("overlapping", "on_sheet")  # keys of [trays]
_ROUNDING = 1e-9  # 33.3 % and 66.7 % are the whole


def laid_on(trays: Table, meat: Meat, support: Support) -> Meat:
    """Return the meat with its classes split by the shares that [trays] states.

    Parameters
    ----------
    trays : Table
        [trays].
    meat : Meat
    support : str
    """
    shares = {key: trays.quantity(key, PERCENT, "0 %") for key in SHARES}
    if support == "sheet":
        trays.refuse(
            ["on_sheet"], 'all slices lie on a closed tray by support = "sheet"; leave one of them out'
        )
    if any(one.lies != "flat" for one in meat.classes):
        trays.refuse(
            SHARES,
            "the classes of [meat], thickness say how they lie already ('lies'); leave one of them out",
        )
    total = sum(shares.values())
    if total > 1.0 + _ROUNDING:
        raise InputError(
            f"{trays.place}: overlapping and on_sheet sum to {100 * total:.4g} %; 100 % at most is expected"
        )
    if not total:
        return meat
    ways: dict[Lies, float] = {"sheet": shares["on_sheet"], "overlapping": shares["overlapping"]}
    return replace(meat, classes=laid(meat.classes, ways))
