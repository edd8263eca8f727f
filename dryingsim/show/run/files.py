"""Results as files: `history.csv` and `summary.json` in SI, and pictures of drying and of log reductions.

For a batch in an appliance also of its trays. The same run writes the same bytes: no dates, no random marks.
"""

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from dryingsim.answer import Answer
from dryingsim.errors import InputError
from dryingsim.history import History
from dryingsim.history.columns import history_columns
from dryingsim.history.provenance import attributes
from dryingsim.judge.remedies import Remedy
from dryingsim.show.core.writing import json_text, write_result
from dryingsim.show.run.data import summary


def write_results(
    answer: Answer,
    directory: Path,
    units: str | None = None,
    remedies: Sequence[Remedy] | None = None,
    *,
    pictures: str = "png",
) -> list[Path]:
    """Write the data and the pictures, all or none; files of the same names are replaced.

    Pictures that an earlier run left in the directory and this one does not draw are removed.

    Parameters
    ----------
    answer : Answer
    directory : Path
        Made if it is missing.
    units : str, optional
        "metric" or "us", for the pictures; as the batch file says if left out.
    remedies : sequence of Remedy, optional
        As `dryingsim.judge.remedies.remedies` gives them, for the summary.
    pictures : str, optional
        Kind of the pictures: "png" or "svg".

    Returns
    -------
    list of Path
        The files written.
    """
    if not isinstance(answer, Answer):
        raise InputError("write_results: the answer of a run is expected, ds.Answer(history)")
    from dryingsim.show.run import pictures as drawings  # slow to import, so only where a picture is drawn

    history = answer.history
    data = {
        "history.csv": history_csv(history).encode(),
        "summary.json": json_text(summary(answer, remedies)).encode(),
    }
    sheets = {
        "drying": lambda: drawings.figure(answer, units),
        "lethality": lambda: drawings.lethality_figure(answer, units),
        "trays": None if history.chamber is None else lambda: drawings.tray_figure(history, units),
    }
    made = attributes(history.batch, history.batch.name)
    return write_result(Path(directory), data, sheets, made, pictures)


def history_csv(history: History) -> str:
    """Return one line per recorded time, the columns as `dryingsim.history.columns` names them."""
    columns = history_columns(history)
    row = ",".join(
        "%d" if np.issubdtype(values.dtype, np.integer) else "%.10g" for values in columns.values()
    )
    rows = zip(*(values.tolist() for values in columns.values()), strict=True)
    return "\n".join([",".join(columns), *(row % values for values in rows), ""])
