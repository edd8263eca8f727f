"""What logs taught as plain values in SI, for other programs."""

from dataclasses import asdict
from typing import Any

from dryingsim.history.provenance import inputs_of, versions
from dryingsim.learn.estimates import (
    Estimate,
    Misfit,
    estimates,
    expected_readings,
    learned_from,
    misfits,
    together,
)
from dryingsim.learn.fit import Fit
from dryingsim.learn.forecast import Forecast
from dryingsim.show.core.document import picked


def learn_values(found: Fit, carried: list[Forecast], notes: tuple[str, ...], caution: str) -> dict[str, Any]:
    """Return what logs taught as plain values in SI; `carried`, `notes` as for `learn_document`."""
    return {
        "caution": caution,
        "batches": [_batch(found, i, one) for i, one in enumerate(carried)],
        "next_batch": {
            key: picked(one, "value", "uncertainty") for key, one in learned_from(found).corrections.items()
        },
        "known_only_together": [list(pair) for pair in together(found)],
        "left_out": [_left_out(one) for one in misfits(found)],
        "errors_widened_by": found.widened,
        "notes": list(notes),
        "inputs": [inputs_of(part.logged.batch) for part in found.problem.parts],
        "versions": versions(),
    }


def _batch(found: Fit, part: int, one: Forecast) -> dict[str, Any]:
    logged = found.problem.parts[part].logged
    readings = zip(
        logged.readings.readings,
        expected_readings(found, part),
        found.misses(part),
        found.problem.parts[part].used,
        strict=True,
    )
    return {
        "batch": logged.batch.name,
        "log": logged.log.name,
        "start_clock_s": logged.log.start_clock_s,
        "forecast": asdict(one),
        "estimates": [_estimate(row) for row in estimates(found, part)],
        "readings": [
            {
                "file": reading.file or logged.log.name,
                **picked(reading, "line", "time_s", "quantity"),
                "measured": reading.value,
                "expected": float(should),
                "standard_deviations": float(miss),
                "used": bool(used),
            }
            for reading, should, miss, used in readings
        ],
    }


def _estimate(one: Estimate) -> dict[str, Any]:
    return {
        **picked(one, "key", "before", "after"),
        "uncertainty_left": one.left,
        "determined": one.determined,
    }


def _left_out(one: Misfit) -> dict[str, Any]:
    return {
        "log": one.log,
        "file": one.reading.file or one.log,
        "line": one.reading.line,
        "measured": one.reading.value,
        "expected": one.expected,
        "standard_deviations": one.deviations,
    }
