"""Weights of slices like the probed one, from a log of weighings beside that of the thermometer."""

from pathlib import Path

import numpy as np

from dryingsim.batch.reading.weigh_in_file import read_weigh_ins
from dryingsim.batch.reading.weigh_in_log import Reading
from dryingsim.batch.schema import Batch
from dryingsim.errors import InputError
from dryingsim.learn.fitted_slice import Weights


def read_weights(path: Path, batch: Batch, thickness_m: float | None) -> Weights:
    """Return weights over the first of them: of slices of that thickness, or of everything where all are as thick.

    Parameters
    ----------
    path : Path
        A log of weighings, from when the slices were laid in.
    batch : Batch
    thickness_m : float, optional
        Of the probed slice [m]; the thickest of the batch if left out.
    """
    log = read_weigh_ins(path)
    thick = [each.thickness_m for each in batch.meat.classes]
    wanted = thickness_m or max(thick)
    series: dict[tuple[str, str], list[Reading]] = {}
    for reading in log.of("weight"):
        alike = reading.thickness_m is None or abs(reading.thickness_m - wanted) < 5e-4
        if alike and (len(thick) == 1 or reading.scope == "slice"):
            series.setdefault((reading.scope, reading.name), []).append(reading)
    usable = [readings for readings in series.values() if len(readings) > 1 and readings[0].time_s < 600.0]
    if not usable:
        raise InputError(
            f"{log.name}: no weights of slices like the probed one, from the start on; with slices of several thicknesses, "
            "weigh one like it by itself (column 'slice')"
        )
    longest = max(usable, key=len)
    time = np.array([reading.time_s for reading in longest])
    weight = np.array([reading.value for reading in longest])
    return Weights(time_s=time, share=weight / weight[0])
