"""Tables as CSV text, for spreadsheets that would take some words for formulas."""

import csv
import io
from collections.abc import Iterable

_BEGIN_FORMULAS = ("=", "+", "-", "@", "\t", "\r")


def csv_text(heading: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    r"""Return a table as CSV text; what was typed stays words, whatever it begins with.

    Parameters
    ----------
    heading : iterable of str
    rows : iterable of iterables of str
        Numbers are given as text already.

    Examples
    --------
    >>> csv_text(["label", "loss"], [["=1+1", "-0.5"]])
    "label,loss\n'=1+1,-0.5\n"
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(map(_words, heading))
    writer.writerows(map(_words, row) for row in rows)
    return text.getvalue()


def _words(cell: str) -> str:
    """Return a cell that no spreadsheet calculates: an apostrophe before what would begin a formula, but for numbers."""
    if not cell.startswith(_BEGIN_FORMULAS):
        return cell
    try:
        float(cell)
    except ValueError:
        return f"'{cell}"
    return cell
