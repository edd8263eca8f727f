"""The appliance that a batch or a command names: one of the catalog, or a person's own file."""

from pathlib import Path
from typing import Any

from dryingsim.batch.appliance_description import Description, parse_description
from dryingsim.batch.appliance_schema import Appliance
from dryingsim.batch.catalog.appliances import find_appliance
from dryingsim.batch.checks import show
from dryingsim.batch.reading.text_file import read_text
from dryingsim.batch.reading.toml import parse_toml
from dryingsim.errors import InputError


def load_description(where: str, path: Path) -> Description:
    """Read an appliance file.

    Parameters
    ----------
    where : str
        The place that names it, for messages.
    path : Path
    """
    text = read_text(path, where=where)
    return parse_description(str(path), parse_toml(text, str(path)))


def named_appliance(where: str, typed: str) -> Description:
    """Return the appliance of the catalog, or of a file where a name that ends in .toml was typed.

    Parameters
    ----------
    where : str
        The place that names it, for messages.
    typed : str
        The name.
    """
    if typed.lower().endswith(".toml"):
        return load_description(where, Path(typed))
    return find_appliance(where, typed, "the name of a file (.toml)")


def described(place: str, table: Any, folder: Path) -> Description:
    """Return the description that a batch chooses by `use` or `file`, with the parameters it changes, or gives in place.

    Parameters
    ----------
    place : str
        The place in the batch file, for messages.
    table : object
        What was typed there.
    folder : Path
        That of the batch file: a relative `file` starts there.
    """
    if isinstance(table, dict) and "name" in table and not {"use", "file"} & set(table):
        return parse_description(place, table)
    if not isinstance(table, dict) or ("use" in table) == ("file" in table):
        raise InputError(
            f"{place} needs either 'use' with the name of an appliance ('dryingsim list appliances' shows all) "
            "or 'file' with a description of your own, or else 'name' and the whole description in place"
        )
    if "use" in table:
        chosen = find_appliance(f"{place}, use", table["use"], "'file'")
    else:
        if not isinstance(table["file"], str):
            raise InputError(
                f"{place}, file = {show(table['file'])}: the name of a file is expected, in quotes"
            )
        chosen = load_description(f"{place}, file", folder / table["file"])
    changes = {key: value for key, value in table.items() if key not in ("use", "file")}
    return chosen.changed(place, changes)


def appliance_of(place: str, table: Any, folder: Path) -> Appliance:
    """Return the appliance that a batch chooses by `use` or `file`, with the parameters it changes.

    Parameters
    ----------
    place : str
        The place in the batch file, for messages.
    table : object
        What was typed there.
    folder : Path
        That of the batch file: a relative `file` starts there.
    """
    return described(place, table, folder).appliance(place)
