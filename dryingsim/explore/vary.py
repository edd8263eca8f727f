"""One batch with one of its parameters varied: the batch file is changed and read again, with all its checks."""

import copy
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from dryingsim.batch.checks import show
from dryingsim.batch.number_words import plain_fractions
from dryingsim.batch.reading.batch_file import load_batch, load_document, parse_document
from dryingsim.batch.schema import Batch
from dryingsim.errors import InputError
from dryingsim.explore.compare import judged, measure, stacked
from dryingsim.explore.document_change import change, no_longer_measured
from dryingsim.judge.energy import Price
from dryingsim.judge.findings import Finding
from dryingsim.judge.grades import Lethality

MOST_VALUES = 200
EXAMPLE = '"meat.thickness = 3 mm to 8 mm in 6" or "stage.1.air = 60, 65, 70 degC"'
_RANGE = re.compile(r"(\S.*?)\s+to\s+(\S.*?)\s+in\s+(\d{1,6})")
_FRACTION = re.compile(r"(?:(\d+)\s+)?(\d+)/([1-9]\d*)(?!\d)")
_NUMBER = re.compile(r"([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([^\d\s.,].*)?")


@dataclass(frozen=True, kw_only=True)
class Variation:
    """Answers of one batch for several values of one parameter.

    Attributes
    ----------
    key : str
        Place of the parameter in the batch file.
    values : tuple of str
        As they would be typed there.
    numbers : ndarray or None, shape (values,)
        The values as numbers in the unit they were typed in; None where they are words, or of several units.
    unit : str
        That unit; empty for plain numbers and words.
    batch : Batch
        With the first value.
    measures : dict of ndarray, shape (values,)
        As `dryingsim.explore.compare.measure` names them; nan where a run has no such answer.
    currency : str or None
        Of the costs.
    remarks : tuple of str
        Why values could not be run.
    lethality : tuple of (Lethality or None)
        The judgement on each; None where a value could not be run.
    unmeasured : tuple of str
        The values that make other air than that in which the file says a humidity was measured: there it counts as not measured.
    """

    key: str
    values: tuple[str, ...]
    numbers: np.ndarray | None
    unit: str
    batch: Batch
    measures: dict[str, np.ndarray]
    currency: str | None
    remarks: tuple[str, ...]
    lethality: tuple[Lethality | None, ...]
    unmeasured: tuple[str, ...] = ()

    @property
    def warnings(self) -> tuple[tuple[str, Finding], ...]:
        """Values and what is to be read before the verdict on each."""
        pairs = zip(self.values, self.lethality, strict=True)
        return tuple(
            (value, remark)
            for value, lethality in pairs
            if lethality is not None
            for remark in lethality.warnings
        )


def vary(
    file: str | Path,
    key: str,
    values: str | Sequence[str],
    *,
    price: Price | None = None,
    progress: Callable[[int, float], None] | None = None,
) -> Variation:
    """Simulate the batch of a file for several values of one of its parameters.

    Parameters
    ----------
    file : str or Path
        The batch file; it is not changed.
    key : str
        Place of the parameter in it, with dots: "meat.thickness", "stage.1.air" (stages count from 1).
    values : str or sequence of str
        Each as it would be typed in the file, or one text for `read_values`.
    price : Price, optional
        Of the energy.
    progress : callable, optional
        Called with the index of the value and the simulated time [s] after every step.

    Returns
    -------
    Variation

    Raises
    ------
    InputError
        If a value cannot be used. A run that turns out impossible (more trays needed than there are, or a
        stage that never ends) only leaves nan and a remark, unless all of them do.
    """
    texts = read_values(values) if isinstance(values, str) else tuple(values)
    batches = load_varied(file, key, texts)
    return vary_batches(key, texts, batches, meant=load_batch(file), price=price, progress=progress)


def load_varied(file: str | Path, key: str, values: Sequence[str]) -> list[Batch]:
    """Read the batch of a file once with each value.

    Parameters
    ----------
    file, key : str or Path, str
        See `vary`.
    values : sequence of str
        Each as it would be typed in the file.
    """
    if not isinstance(file, str | Path):
        raise InputError(f"the path of a batch file is expected, not {type(file).__name__}")
    load_batch(file)  # whatever is wrong with the file itself is told as ever
    document = load_document(file)
    return varied(document, str(file), key, values, Path(file).parent)


def load_grid(file: str | Path, requests: Sequence[tuple[str, Sequence[str]]]) -> list[Batch]:
    """Read the batch of a file once for every combination of values of several parameters, the last changing fastest.

    Parameters
    ----------
    file : str or Path
    requests : sequence of (str, sequence of str)
        Places in the file, each with its values as they would be typed there.
    """
    load_batch(file)
    documents = [load_document(file)]
    for key, values in requests:
        documents = [
            _with(document, f"{file}: {key}", key, value) for document in documents for value in values
        ]
    return [parse_document(document, str(file), Path(file).parent) for document in documents]


def vary_batches(
    key: str,
    values: Sequence[str],
    batches: Sequence[Batch],
    *,
    meant: Batch | None = None,
    price: Price | None = None,
    progress: Callable[[int, float], None] | None = None,
) -> Variation:
    """Simulate batches that were made from one by varying a parameter; see `vary`.

    Parameters
    ----------
    key, values : str, sequence of str
        What was varied, and its value in each batch.
    batches : sequence of Batch
    meant : Batch, optional
        That of the file, to tell where what it says was measured is so no longer.
    price, progress
        As for `vary`.
    """
    by_value: list[dict[str, float] | None] = []
    remarks: list[str] = []
    judgements: list[Lethality | None] = []
    for index, (value, batch) in enumerate(zip(values, batches, strict=True)):
        tick = (lambda s, i=index: progress(i, s)) if progress else None
        try:
            own = judged(batch, price, tick)
            by_value.append(measure(own))
            judgements.append(own.lethality)
        except InputError as error:
            by_value.append(None)
            judgements.append(None)
            remarks.append(f"{key} = {value} could not be run: {error}")
    names = next((own.keys() for own in by_value if own is not None), None)
    if names is None:
        raise InputError(remarks[0])
    nothing = dict.fromkeys(names, float("nan"))
    numbers, unit = axis_of(values)
    return Variation(
        key=key,
        values=tuple(values),
        numbers=numbers,
        unit=unit,
        batch=batches[0],
        measures=stacked([own or nothing for own in by_value]),
        currency=price.currency if price else None,
        remarks=tuple(remarks),
        lethality=tuple(judgements),
        unmeasured=tuple(
            value
            for value, batch in zip(values, batches, strict=True)
            if meant is not None and no_longer_measured(meant, batch)
        ),
    )


def read_request(where: str, text: str) -> tuple[str, tuple[str, ...]]:
    """Read a parameter and its values.

    Parameters
    ----------
    where : str
        What it is, for messages.
    text : str
        The place of the parameter, "=", and what `read_values` reads.

    Examples
    --------
    >>> read_request("--vary", "stage.1.air = 60, 65, 70 degC")
    ('stage.1.air', ('60 degC', '65 degC', '70 degC'))
    """
    key, sign, values = text.partition("=")
    key = key.strip()
    if not sign or not key or any(not part.strip() for part in key.split(".")):
        raise InputError(
            f"{where} {show(text)}: a parameter and its values are expected, for example {EXAMPLE}"
        )
    return key, read_values(values, f"{where} {key}")


def read_values(text: str, where: str = "values") -> tuple[str, ...]:
    """Read values to vary a parameter over: from, to and their number, or a list.

    Parameters
    ----------
    text : str
        "FROM to TO in NUMBER", evenly spaced with both ends; or values with commas. A unit that is left out is
        that of the last value.
    where : str
        What it is the value of, for messages.

    Examples
    --------
    >>> read_values("0 to 80 mm in 5")
    ('0 mm', '20 mm', '40 mm', '60 mm', '80 mm')
    >>> read_values("⅛ to 3/8 in in 3")
    ('0.125 in', '0.25 in', '0.375 in')
    >>> read_values("series, parallel")
    ('series', 'parallel')
    """
    text = plain_fractions(text).strip()
    if re.search(r"\d,\d", text):
        raise InputError(
            f"{where} = {show(text)}: write decimals with a point; in a list a space follows each comma"
        )
    match = _RANGE.fullmatch(text)
    values = _even(where, text, *match.groups()) if match else _list(where, text)
    for number, value in enumerate(values):
        if value in values[:number]:
            raise InputError(f"{where} = {show(text)}: {show(value)} stands there twice")
    return values


def _even(where: str, text: str, first: str, last: str, number: str) -> tuple[str, ...]:
    ends = [_NUMBER.fullmatch(_decimal(end)) for end in (first, last)]
    if not 2 <= int(number) <= MOST_VALUES:
        raise InputError(f"{where} = {show(text)}: 2 to {MOST_VALUES} values are expected")
    if None in ends:
        raise InputError(
            f"{where} = {show(text)}: two numbers are expected; other values are written as a list"
        )
    (low, low_unit), (high, high_unit) = (end.groups() for end in ends if end is not None)
    unit = (high_unit or "").strip()
    if low_unit is not None and low_unit.strip() != unit:
        raise InputError(f"{where} = {show(text)}: both ends are expected in the same unit")
    return tuple(f"{x:.6g} {unit}".strip() for x in np.linspace(float(low), float(high), int(number)))


def _decimal(value: str) -> str:
    """Return a value that begins with a fraction ("3/16 in", "1 1/4 in") with a decimal number instead."""
    match = _FRACTION.match(value)
    if match is None:
        return value
    return f"{int(match[1] or 0) + int(match[2]) / int(match[3]):.9g}{value[match.end() :]}"


def _list(where: str, text: str) -> tuple[str, ...]:
    values = [_decimal(value.strip()) for value in text.split(",")]
    if not all(values):
        raise InputError(f"{where} = {show(text)}: values are expected, for example {EXAMPLE}")
    if len(values) < 2:
        raise InputError(
            f"{where} = {show(text)}: one value alone varies nothing; write for example {EXAMPLE}"
        )
    if len(values) > MOST_VALUES:
        raise InputError(f"{where} = {show(text)}: 2 to {MOST_VALUES} values are expected")
    last = _NUMBER.fullmatch(values[-1])
    unit = (last[2] or "").strip() if last else ""
    return tuple(f"{value} {unit}" if unit and _bare(value) else value for value in values)


def _bare(value: str) -> bool:
    match = _NUMBER.fullmatch(value)
    return match is not None and match[2] is None


def axis_of(values: Sequence[str]) -> tuple[np.ndarray | None, str]:
    """Return the values as numbers with their common unit, if they have one."""
    matches = [_NUMBER.fullmatch(value) for value in values]
    units = {None if match is None else (match[2] or "").strip() for match in matches}
    if len(units) != 1 or None in units:
        return None, ""
    return np.array([float(match[1]) for match in matches if match is not None]), units.pop() or ""


def varied(
    document: dict[str, Any], name: str, key: str, values: Sequence[str], folder: Path | None = None
) -> list[Batch]:
    """Return the batch of a document with each of several values at one place.

    Parameters
    ----------
    document : dict
        A batch file as `tomllib` reads it.
    name : str
        What messages call it.
    key : str
        The place, with dots; items of a list count from 1.
    values : sequence of str
        As typed: numbers, true and false lose their quotes.
    folder : Path, optional
        Where files lie that the document names.
    """
    changed = [_with(document, f"{name}: {key}", key, value) for value in values]
    return [parse_document(own, name, folder) for own in changed]


def _with(document: dict[str, Any], where: str, key: str, value: str) -> dict[str, Any]:
    changed = copy.deepcopy(document)
    change(changed, where, key, _typed(value))
    return changed


def _typed(text: str) -> Any:
    """Return a value as TOML would hold it: a number, true or false, or text."""
    if text in ("true", "false"):
        return text == "true"
    if not _bare(text):
        return text
    return int(text) if re.fullmatch(r"[+-]?\d+", text) else float(text)
