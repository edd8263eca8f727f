"""Weights of slices like the probed one, from a log of weighings beside that of the thermometer."""

from pathlib import Path
from typing import Annotated

import numpy as np

from dryingsim.batch.reading.weigh_in_file import read_weigh_ins
from dryingsim.batch.reading.weigh_in_log import Reading
from dryingsim.batch.schema import Batch
from dryingsim.batch.units import display_units, from_si
from dryingsim.errors import InputError
from dryingsim.evidence import Evidence
from dryingsim.learn.fitted_slice import Weights

_FROM_THE_START_S: Annotated[
    float, Evidence("s", "estimate", "weighed first later than that, it is not known what was laid in")
] = 600.0


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
    if len(thick) > 1 and all(reading.scope != "slice" for reading in log.of("weight")):
        unit = display_units(batch.display)["length"]
        kinds = [f"{from_si(each, unit, 'length'):.2g} {unit}" for each in (*sorted({*thick}), wanted)]
        raise InputError(
            f"{log.name}: the slices are {', '.join(kinds[:-1])} thick and were weighed together, which does not tell of "
            f"one like the probed; weigh one of {kinds[-1]} by itself, in a column 'slice' ('dryingsim learn' takes this log)"
        )
    usable = [
        readings
        for readings in series.values()
        if len(readings) > 1 and readings[0].time_s < _FROM_THE_START_S
    ]
    if not usable:
        raise InputError(
            f"{log.name}: slices like the probed one were not weighed twice, the first time within "
            f"{_FROM_THE_START_S / 60.0:.0f} min of the start"
        )
    longest = max(usable, key=len)
    time = np.array([reading.time_s for reading in longest])
    weight = np.array([reading.value for reading in longest])
    return Weights(time_s=time, share=weight / weight[0])
