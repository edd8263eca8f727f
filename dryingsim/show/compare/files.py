"""Runs side by side as files: `comparison.csv` and `comparison.json` in SI, and a picture of them."""

import math
from pathlib import Path
from typing import Any

from dryingsim.explore.compare import Comparison
from dryingsim.explore.vary import Variation
from dryingsim.history.provenance import attributes, inputs_of, versions
from dryingsim.judge.grades import Lethality
from dryingsim.show.compare.text import Runs, comparison_blocks, grade_at, labels, title_of
from dryingsim.show.core.document import Document, screen
from dryingsim.show.core.tables import CAUTION
from dryingsim.show.core.writing import csv_text, json_text, write_result
from dryingsim.show.lethality.federal_text import check_values
from dryingsim.show.lethality.finding_words import sentence


def comparison_csv(runs: Runs) -> str:
    """Return one line per run, in SI, as `dryingsim.explore.compare.measure` names it; empty where not reached.

    The first column is the label, or the value as typed under the place of what is varied; a cost has its
    currency in its name, and a grade stands in words.
    """
    first = "label" if isinstance(runs, Comparison) else runs.key
    names = [f"cost_{runs.currency}" if name == "cost" and runs.currency else name for name in runs.measures]
    rows = []
    for number, label in enumerate(labels(runs)):
        row = _row(runs, number).values()
        rows.append([label, *(f"{value:.10g}" if isinstance(value, float) else value or "" for value in row)])
    return csv_text([first, *names], rows)


def _row(runs: Runs, number: int) -> dict[str, float | str | None]:
    """Return the measures of one run as plain values: None where not reached, a grade in words."""
    row: dict[str, float | str | None] = {}
    for name, values in runs.measures.items():
        value = float(values[number])
        row[name] = grade_at(value) if name.endswith("grade") else None if math.isnan(value) else value
    return row


def comparison_document(runs: Runs, units: str | None = None) -> Document:
    """Return what is told of runs side by side.

    Parameters
    ----------
    runs : Comparison or Variation
    units : str, optional
        "metric" or "us"; as the first batch file says if left out.
    """
    first, details = comparison_blocks(runs, units)
    return screen(title_of(runs), first, details, lambda: summary(runs))


def summary(runs: Runs) -> dict[str, Any]:
    """Return the same as plain values, with the caution, remarks and currency; None where not reached."""
    rows: list[dict[str, Any]] = [
        {"label": label, **_row(runs, number)} for number, label in enumerate(labels(runs))
    ]
    for row, lethality in zip(rows, _judged(runs), strict=True):
        row["warnings"] = [] if lethality is None else [sentence(warning) for warning in lethality.warnings]
        row |= {} if lethality is None else check_values(lethality)
    if isinstance(runs, Comparison):
        for row, judged in zip(rows, runs.runs, strict=True):
            row["inputs"] = inputs_of(judged.history.batch)
    values: dict[str, Any] = {
        "caution": CAUTION,
        "remarks": list(runs.remarks),
        "currency": runs.currency,
        "versions": versions(),
    }
    if isinstance(runs, Variation):
        values |= {"batch": runs.batch.name, "varied": runs.key, "inputs": inputs_of(runs.batch)}
    return values | {"runs": rows}


def _judged(runs: Runs) -> list[Lethality | None]:
    """Return the judgement on each run; None for one that could not be made."""
    if isinstance(runs, Comparison):
        return [judged.lethality for judged in runs.runs]
    return list(runs.lethality)


def _made(runs: Runs) -> dict[str, Any]:
    """Return where the numbers come from: of batches side by side the inputs of each."""
    if isinstance(runs, Variation):
        return attributes(runs.batch, title_of(runs), varied=f"{runs.key}: {', '.join(runs.values)}")
    batches = [judged.history.batch for judged in runs.runs]
    return attributes(batches[0], title_of(runs)) | {"inputs": [inputs_of(batch) for batch in batches]}


def write_comparison(
    runs: Runs, directory: Path, units: str | None = None, *, pictures: str = "png"
) -> list[Path]:
    """Write the table as CSV and JSON and the picture, all or none; files of the same names are replaced.

    Parameters
    ----------
    runs : Comparison or Variation
    directory : Path
        Made if it is missing.
    units : str, optional
        "metric" or "us", for the picture; as the first batch file says if left out.
    pictures : str, optional
        Kind of the picture: "png" or "svg".

    Returns
    -------
    list of Path
        The files written.
    """
    from dryingsim.show.compare.pictures import comparison_figure  # slow to import

    data = {
        "comparison.csv": comparison_csv(runs).encode(),
        "comparison.json": json_text(summary(runs)).encode(),
    }
    sheets = {"comparison": lambda: comparison_figure(runs, units)}
    return write_result(Path(directory), data, sheets, _made(runs), pictures)
