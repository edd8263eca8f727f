"""Where numbers come from: the programs that computed them, the batch they are of, the seed they were drawn with."""

import platform
from typing import Any

import numpy as np

from dryingsim._version import __version__
from dryingsim.batch.schema import Batch
from dryingsim.errors import InputError


def versions() -> dict[str, str]:
    """Return the versions of the programs that computed something."""
    import scipy  # loaded already: the solver needs it

    return {
        "dryingsim": __version__,
        "python": platform.python_version(),
        "numpy": np.__version__,
        "scipy": scipy.__version__,
    }


def inputs_of(batch: Batch) -> str | None:
    """Return a batch as the text of a file; None where no file says the same, as with what was learned from logs.

    Parameters
    ----------
    batch : Batch
    """
    try:
        return batch.to_toml()
    except InputError:
        return None


def attributes(batch: Batch, title: str, **more: Any) -> dict[str, Any]:
    """Return what a table or a data set carries along: plain text and numbers, which any format holds.

    Parameters
    ----------
    batch : Batch
        The inputs.
    title : str
        What the numbers are of.

    Notes
    -----
    Whatever else is named goes along, such as the seed; what is None is left out.
    """
    programs = ", ".join(f"{name} {version}" for name, version in versions().items())
    replaced = "; ".join(f"{name} = {law}" for name, law in batch.components.replaced.items())
    carried = {
        "title": title,
        "computed_by": programs,
        "inputs": inputs_of(batch),
        "components": replaced or None,
        **more,
    }
    return {name: value for name, value in carried.items() if value is not None}
