"""What raw meat is made of, as batch and marinade files say it: a cut by its name, or its own figures."""

from dryingsim.batch.catalog.cuts import Cut, find_cut, normalised
from dryingsim.batch.reading.toml_table import Limits, Table
from dryingsim.batch.schema import Composition
from dryingsim.errors import InputError

PERCENT = Limits("fraction", "0 %", "100 %")
# of raw meat: estimates that only catch slips of the pen
_WATER = Limits("fraction", "30 %", "90 %")
_PROTEIN = Limits("fraction", "5 %", "60 %")  # food tables have 9 % (fat belly) to 24 %
_ASH = Limits("fraction", "0 %", "10 %")


def read_raw_meat(table: Table) -> tuple[Cut | None, Composition]:
    """Return the cut that a table [meat] names, if it does, and the composition."""
    table.only_one("cut", "composition")
    if "composition" in table:
        return None, _composition(table)
    if "cut" not in table:
        raise InputError(
            f"{table.place} needs 'cut' (for example \"beef eye of round\") or [meat.composition]"
        )
    cut = find_cut(table.where("cut"), table.data["cut"], "[meat.composition]")
    return cut, cut.composition


def _composition(table: Table) -> Composition:
    place = table.place.replace("[meat]", "[meat.composition]")
    parts = Table(place, table.data["composition"], ("water", "protein", "fat", "carbohydrate", "ash"))
    fractions = {
        "water": parts.quantity("water", _WATER),
        "protein": parts.quantity("protein", _PROTEIN),
        "fat": parts.quantity("fat", PERCENT),
        "carbohydrate": parts.quantity("carbohydrate", PERCENT, "0 %"),
        "ash": parts.quantity("ash", _ASH),
    }
    total = sum(fractions.values())
    # Food tables analyse the parts one by one, so sums of 97 to 103 % occur; beyond that a part is wrong.
    if not 0.97 <= total <= 1.03:
        raise InputError(
            f"{place}: the parts sum to {100 * total:.4g} %; 97 to 103 % is expected, then scaled to 100 %"
        )
    return normalised(**fractions)
