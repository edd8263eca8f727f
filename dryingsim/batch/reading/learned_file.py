"""The file of what was learned, which later batches name; `batch.writing.learned_file` writes it."""

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal, localcontext
from pathlib import Path
from typing import Any

from dryingsim.batch.checks import check_choice, check_keys, check_range, show
from dryingsim.batch.learned import KEYS, OWN_AIR, appliance_name
from dryingsim.batch.reading.text_file import read_text
from dryingsim.batch.reading.toml import parse_toml
from dryingsim.batch.schema import Batch, Correction, Learned
from dryingsim.batch.units import to_ratio, to_si
from dryingsim.errors import InputError

_PARTS = ("all", "meat", "appliance")


def learned_of(place: str, table: Any, batch: Batch, folder: Path) -> Learned:
    """Read what the table [learned] of a batch names.

    Parameters
    ----------
    place : str
        The table, for messages.
    table : object
        What was typed there: `file`, and `use` for a part of it.
    batch : Batch
        Without it.
    folder : Path
        That of the batch file: a relative `file` starts there.
    """
    if not isinstance(table, dict) or not isinstance(table.get("file"), str):
        raise InputError(f"{place} needs 'file': the name of a file that 'dryingsim learn --out' wrote")
    check_keys(place, table, ("file", "use"))
    part = check_choice(f"{place}, use", table.get("use", "all"), _PARTS)
    path = folder / table["file"]
    learned, of = read_learned(read_text(path, f"dryingsim learn --out {path}", f"{place}, file"), str(path))
    own = appliance_name(batch)
    if part != "meat" and of != own:
        raise InputError(
            f"{place}: {path.name} was learned in: {of}; this batch dries in: {own}. Take the meat's part of it with "
            'use = "meat", or leave [learned] out'
        )
    kept = {key: one for key, one in learned.corrections.items() if part in ("all", KEYS[key].of)}
    if batch.appliance is None:
        kept.pop("air_exchange", None)
    return replace(learned, corrections=kept)


def read_learned(text: str, name: str) -> tuple[Learned, str]:
    """Read the text of a learned file.

    Parameters
    ----------
    text : str
    name : str
        Of the file, for messages.

    Returns
    -------
    tuple
        What it says, and the name of the appliance that it was learned in.
    """
    document = parse_toml(text, name)
    check_keys(name, document, ("about", "logs", "appliance", "corrections"))
    logs, corrections = document.get("logs", []), document.get("corrections", {})
    if not isinstance(logs, list) or not all(isinstance(one, str) for one in logs):
        raise InputError(f"{name}: logs = {show(logs)}: a list of file names is expected")
    if not isinstance(corrections, dict):
        raise InputError(
            f"{name}: corrections = {show(corrections)}: a table of {', '.join(KEYS)} is expected"
        )
    check_keys(f"{name}: [corrections]", corrections, KEYS)
    read = {key: _correction(f"{name}: {key}", key, typed) for key, typed in corrections.items()}
    appliance = document.get("appliance", OWN_AIR)
    if not isinstance(appliance, str) or not appliance.isprintable():
        raise InputError(
            f"{name}: appliance = {show(appliance)}: the name of an appliance is expected, in quotes"
        )
    return Learned(logs=tuple(logs), corrections=read), appliance


def _correction(where: str, key: str, typed: Any) -> Correction:
    kind = KEYS[key]
    word = "offset" if kind.dimension else "factor"
    if not isinstance(typed, dict) or not {word, "uncertainty"} <= set(typed):
        raise InputError(f"{where} = {show(typed)}: a table of '{word}' and 'uncertainty' is expected")
    check_keys(where, typed, (word, "uncertainty"))
    if kind.dimension:
        value, uncertainty = (
            to_si(f"{where}, {one}", typed[one], kind.dimension) for one in (word, "uncertainty")
        )
    else:
        check_range(f"{where}, factor", typed[word], to_ratio(where, typed[word]), 0.125, 8.0, "1/8 to 8")
        value, uncertainty = (
            logarithm(typed[word]),
            to_si(f"{where}, uncertainty", typed["uncertainty"], "fraction"),
        )
    check_range(f"{where}, {word}", typed[word], value, -kind.most, kind.most, "what is likely")
    check_range(f"{where}, uncertainty", typed["uncertainty"], uncertainty, 0.0, kind.most, "what is likely")
    return Correction(value=value, uncertainty=uncertainty)


def logarithm(factor: float | str) -> float:
    """Return the natural logarithm of a factor as it was typed, to its last digit.

    Parameters
    ----------
    factor : float or str
        A number above 0, or its text, which may have more digits than a number keeps [-].

    Examples
    --------
    >>> logarithm("1.02020134002675581016"), logarithm(1)
    (0.02, 0.0)
    """
    typed = Decimal(str(factor).strip())
    with localcontext() as exact:
        exact.prec = len(typed.as_tuple().digits) + 30
        return float(typed.ln())


def without_learned(document: Mapping[str, Any]) -> dict[str, Any]:
    """Return a batch file, as a TOML reader takes it apart, without what it has learned."""
    return {key: value for key, value in document.items() if key != "learned"}
