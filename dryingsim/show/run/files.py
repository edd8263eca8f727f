"""Results as files: `history.csv` and `summary.json` in SI, and pictures of drying and of log reductions.

For a batch in an appliance also of its trays. The same run writes the same bytes: no dates, no random marks.
"""

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from dryingsim.answer import Answer
from dryingsim.history import History
from dryingsim.history.columns import history_columns
from dryingsim.history.provenance import attributes
from dryingsim.judge.remedies import Remedy
from dryingsim.show.core.writing import csv_text, json_text, pictures, prepare_directory, write_set
from dryingsim.show.run.data import summary

DATA_FILES = ("history.csv", "summary.json")
PICTURE_FILES = ("drying.png", "drying.svg")
LETHALITY_FILES = ("lethality.png", "lethality.svg")
TRAY_FILES = ("trays.png", "trays.svg")


def write_results(
    answer: Answer, directory: Path, units: str | None = None, remedies: Sequence[Remedy] | None = None
) -> list[Path]:
    """Write the data and the pictures, all or none; files of the same names are replaced.

    Pictures of trays that an earlier run left in the directory are removed if this batch has no appliance: beside
    the new results they would be taken for theirs.

    Parameters
    ----------
    answer : Answer
    directory : Path
        Made if it is missing.
    units : str, optional
        "metric" or "us", for the pictures; as the batch file says if left out.
    remedies : sequence of Remedy, optional
        As `dryingsim.judge.remedies.remedies` gives them, for the summary.

    Returns
    -------
    list of Path
        The files written.
    """
    directory, history = Path(directory), answer.history
    prepare_directory(directory)
    texts = (history_csv(history), json_text(summary(answer, remedies)))
    contents = {name: text.encode("utf-8") for name, text in zip(DATA_FILES, texts, strict=True)}
    from dryingsim.show.run import pictures as drawings  # slow to import, so only where a picture is drawn

    sheets = [
        (PICTURE_FILES, lambda: drawings.figure(answer, units)),
        (LETHALITY_FILES, lambda: drawings.lethality_figure(answer, units)),
    ]
    if history.chamber is not None:
        sheets.append((TRAY_FILES, lambda: drawings.tray_figure(history, units)))
    made = attributes(history.batch, history.batch.name)
    for names, draw in sheets:
        contents |= zip(names, pictures(draw, made), strict=True)
    return write_set(directory, contents, gone=TRAY_FILES)


def history_csv(history: History) -> str:
    """Return one line per recorded time, the columns as `dryingsim.history.columns` names them."""
    columns = history_columns(history)
    formats = ["d" if np.issubdtype(values.dtype, np.integer) else ".10g" for values in columns.values()]
    rows = zip(*columns.values(), strict=True)
    return csv_text(
        columns, ([format(value, how) for value, how in zip(row, formats, strict=True)] for row in rows)
    )
