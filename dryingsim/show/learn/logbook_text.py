"""A folder's history as a table, sentences and JSON."""

from dataclasses import asdict
from typing import Any

import numpy as np

from dryingsim.batch.learned import KEYS
from dryingsim.learn.logbook import Logbook, LogbookEntry, advice
from dryingsim.show.core.document import Document, labelled, screen
from dryingsim.show.core.quantities import count_of
from dryingsim.show.core.tables import Column, Table, clock_or_dash
from dryingsim.show.learn.text import LEARNING_CAUTIONS

_SHORT = {
    "diffusivity": "diffusion",
    "film": "film",
    "setpoint": "air",
    "air_exchange": "exchange",
    "moisture": "water",
}
_NONE = "-"


def logbook_tables(book: Logbook, units: str = "metric") -> list[Table]:
    """Return the tables, each with a line per log: predicted against measured, and what was learned."""
    rows = book.entries
    name = Column(("", "", "log"), [one.log for one in rows])
    measured = [
        name,
        Column(("", "times", "weighed"), [str(one.weighings) for one in rows]),
        Column(("done", "predicted", "h:min"), [clock_or_dash(one.predicted_s) for one in rows]),
        Column(("done", "by weights", "h:min"), [_measured(one) for one in rows]),
        Column(("", "±", "min"), [_error(one) for one in rows]),
        Column(("last", "predicted", "%"), [_percent(one.last_predicted_share) for one in rows]),
        Column(("weight", "weighed", "%"), [_percent(one.last_share) for one in rows]),
    ]
    keys = [key for key in KEYS if any(row.key == key for one in rows for row in one.estimates)]
    learned = [name] + [
        Column(("learned", _SHORT[key], _unit(key, units)), [_learned(one, key, units) for one in rows])
        for key in keys
    ]
    told = "By weights: with a * where the log ends before and this is a forecast. Last weight: in % of the first."
    factors = "Learned: factors (x) on the package's numbers, or what is added; in brackets where the log does not determine it."
    return [Table(measured, [told]), Table(learned, [factors])]


def _measured(one: LogbookEntry) -> str:
    return clock_or_dash(one.found.done_s) + ("" if one.reached or one.found.done_s is None else "*")


def _error(one: LogbookEntry) -> str:
    low, high = one.found.low_s, one.found.high_s
    return _NONE if low is None or high is None else f"{(high - low) / 120.0:.0f}"


def _percent(share: float) -> str:
    return f"{100.0 * share:.0f}" if np.isfinite(share) else _NONE


def _unit(key: str, units: str) -> str:
    if KEYS[key].dimension == "temperature difference":
        return "°F" if units == "us" else "K"
    return "%" if KEYS[key].dimension else "x"


def _learned(one: LogbookEntry, key: str, units: str) -> str:
    row = next((row for row in one.estimates if row.key == key), None)
    if row is None:
        return _NONE
    unit, value = _unit(key, units), row.after[0]
    scale = {"x": 1.0, "K": 1.0, "°F": 1.8, "%": 100.0}[unit]
    text = f"{value:.2f}" if unit == "x" else f"{scale * value:+z.1f}"
    return text if row.determined else f"({text})"


def logbook_document(book: Logbook, units: str = "metric") -> Document:
    """Return what is told of a folder's history; `units` is "metric" or "us"."""
    done, learned = logbook_tables(book, units)
    aside = [f"Left aside: {text}" for text in book.left_aside]
    return screen(
        f"{book.folder}: {count_of(len(book.entries), 'log')}{_left(book)}",
        [done, *labelled({"NEXT": advice(book, units)})],
        {"what was learned": [learned, *aside]},
        lambda: _data(book, units),
        LEARNING_CAUTIONS,
    )


def _left(book: Logbook) -> str:
    """Return how many are left aside, for the title."""
    return f", {len(book.left_aside)} left aside (why: --details)" if book.left_aside else ""


def _data(book: Logbook, units: str) -> dict[str, Any]:
    return {
        "folder": str(book.folder),
        "caution": LEARNING_CAUTIONS[1],
        "batches": [_plain(one) for one in book.entries],
        "next_time": advice(book, units),
        "left_aside": list(book.left_aside),
    }


def _plain(one: LogbookEntry) -> dict[str, Any]:
    data = asdict(one)
    for key in ("last_share", "last_predicted_share"):
        data[key] = data[key] if np.isfinite(data[key]) else None
    data["estimates"] = [
        {**asdict(row), "before": list(row.before), "after": list(row.after), "determined": row.determined}
        for row in one.estimates
    ]
    return data
