"""A worked example of a textbook as a case."""

from typing import Any

import numpy as np

from validation.case import Case
from validation.data import example


def textbook(
    row: str,
    name: str,
    inputs: str,
    expected: Any,
    tolerance: Any,
    reason: str,
    compute: Any,
    **more: Any,
) -> Case:
    """Return the case of a row of `shared/textbook_examples.csv`, which gives its source and status."""
    return Case(
        name=name,
        kind=2,
        source=example(row)["source"],
        status=example(row)["status"],
        inputs=inputs,
        expected=np.array(expected),
        tolerance=np.array(tolerance),
        reason=reason,
        compute=compute,
        **more,
    )
