"""The table [marinade] of a batch: what the meat took up, as it was weighed, or worked out from what it lay in."""

from dryingsim.batch.reading.ingredients import SOAK, read_soak
from dryingsim.batch.reading.toml_table import Limits, Table
from dryingsim.batch.schema import Marinade, Meat
from dryingsim.batch.soaking import taken_up
from dryingsim.errors import InputError

_TAKEN_UP = ("salt", "sugar", "water")
KEYS = (*_TAKEN_UP, "known", "ingredients", *SOAK)
_SALT = Limits("mass fraction", "0 g/kg", "150 g/kg")
_SUGAR = Limits("mass fraction", "0 g/kg", "500 g/kg")
_UPTAKE = Limits("mass fraction", "-250 g/kg", "500 g/kg")


def read_marinade(name: str, table: Table, meat: Meat) -> Marinade:
    """Return what the meat took up.

    Parameters
    ----------
    name : str
        Of the file, for messages.
    table : Table
        That holds `KEYS`.
    meat : Meat
    """
    known = table.yes_or_no("known", default=True)
    if "ingredients" not in table:
        table.refuse(SOAK, "this goes with [marinade.ingredients]; without them, say what the meat took up")
        return Marinade(
            salt_kg_kg=table.quantity("salt", _SALT, "0 g/kg"),
            sugar_kg_kg=table.quantity("sugar", _SUGAR, "0 g/kg"),
            water_kg_kg=table.quantity("water", _UPTAKE, "0 g/kg"),
            known=known,
        )
    table.refuse(_TAKEN_UP, "[marinade.ingredients] tells that already; give one of them")
    soak = read_soak(name, table, table.data["ingredients"], meat.weight_kg)
    try:
        found = taken_up(soak, meat.composition.water, meat.weight_kg, meat.mean_thickness_m)
    except InputError as error:
        raise InputError(f"{table.place}: {error}") from None
    return Marinade(
        salt_kg_kg=found.salt, sugar_kg_kg=found.sugar, water_kg_kg=found.water, known=known, soak=soak
    )
