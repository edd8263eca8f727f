"""The log of a batch whose slices are heated in liquid or steam before they dry: when they were laid on the trays.

A thin slice is as hot as the liquid around it within a minute, so a log of the liquid itself looks the same: no reading before
the trays is evidence of what the slices were heated to. The log is fitted from the trays on; the heat before is that of the
batch as it is meant, and counts only if it is measured in a slice (`logged_estimate.judged`).
"""

from dataclasses import dataclass, replace
from typing import Annotated

import numpy as np

from dryingsim.constants import ZERO_CELSIUS
from dryingsim.errors import InputError
from dryingsim.evidence import Evidence
from dryingsim.history import History
from dryingsim.judge.findings import Finding
from dryingsim.judge.logged_history import COLD_K, HOT_K
from dryingsim.judge.thermometer_log import ThermometerLog
from dryingsim.typing import Array

_WARMED_K: Annotated[float, Evidence("K", "estimate", "above its first reading once it is in the liquid")] = (
    5.0
)
_FALL_K: Annotated[
    float, Evidence("K", "estimate", "below its hottest, a slice is out of the liquid and gives off water")
] = 3.0
_LATEST_S: Annotated[
    float, Evidence("s", "estimate", "a log runs before the liquid, or slices stay in it, for so much longer")
] = 3600.0
_SEEN: Annotated[
    int, Evidence("-", "estimate", "readings within the heating as meant, for the log to show how hot it got")
] = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatedLog:
    """A log, and its part from the trays on.

    Attributes
    ----------
    whole, dried : ThermometerLog
        As read, and since the slices were laid on the trays.
    laid_s : float
        When they were, since the first reading [s]; 0 where the batch is not heated first.
    ends_s : tuple of float
        When the stages before drying end, in the batch as it is meant [s].
    asked_K : float
        As hot the coldest place of the slices is meant to get there [K].
    objections : tuple of Finding
        Where the log shows that they were not heated as meant.
    """

    whole: ThermometerLog
    dried: ThermometerLog
    laid_s: float = 0.0
    ends_s: tuple[float, ...] = ()
    asked_K: float = 0.0
    objections: tuple[Finding, ...] = ()

    @property
    def begins_hot(self) -> bool:
        """Whether the log begins when the slices are laid on the trays, or later."""
        return bool(self.ends_s) and self.laid_s == 0.0

    def cooled(self, log: ThermometerLog) -> ThermometerLog:
        """Return such a log from its second reading on where slices come hot from the liquid: they cool at once."""
        return _part(log, np.arange(1, log.time_s.size), 0.0) if self.ends_s else log


def from_the_trays_on(log: ThermometerLog, meant: History) -> HeatedLog:
    """Return a log with its part from the trays on; all of it where the batch is laid on them first of all.

    Parameters
    ----------
    log : ThermometerLog
    meant : History
        The batch as it is meant.
    """
    batch = meant.batch
    if not batch.heated_first:
        return HeatedLog(whole=log, dried=log)
    ends = tuple(float(end) for end in meant.stage_end_s[: batch.first_drying])
    heating = [i for i in range(batch.first_drying) if batch.stages[i].kind != "rest"]
    rest_s = ends[-1] - ends[heating[-1]]
    out_s, hottest_K = _left_liquid(log, ends[heating[-1]], batch.stages[heating[0]].name)
    laid_s = min(out_s + rest_s, float(log.time_s[-1]))
    kept = np.flatnonzero(log.time_s >= laid_s)
    if kept.size < 2:
        raise InputError(
            f"{log.name}: fewer than two readings are left once the slices are out of the liquid"
        )
    heated_s = ends[heating[-1]]
    record = min(int(np.searchsorted(meant.time_s, heated_s)), meant.time_s.size - 1)
    asked_K = float(meant.temperature_K[record].min())
    seen = np.count_nonzero((log.time_s > out_s - heated_s) & (log.time_s < out_s)) >= _SEEN
    less_hot = seen and hottest_K < asked_K - _FALL_K
    return HeatedLog(
        whole=log,
        dried=_part(log, kept, laid_s),
        laid_s=laid_s,
        ends_s=ends,
        asked_K=asked_K,
        objections=(Finding("heated_less", {"hottest_K": hottest_K, "asked_K": asked_K}),)
        if less_hot
        else (),
    )


def _left_liquid(log: ThermometerLog, heated_s: float, stage: str) -> tuple[float, float]:
    """Return when the slices left the liquid [s], to half an interval of the log, and the hottest reading until then [K]."""
    time, meat = log.time_s, log.temperature_K
    if not (meat > min(meat[0] + _WARMED_K, COLD_K)).any():
        raise InputError(f"{log.name}: the meat never gets warm; is it the log of this batch?")
    begun = 0 if meat[0] > COLD_K else int(np.argmax(meat > meat[0] + _WARMED_K))
    latest = time[begun] + heated_s + _LATEST_S
    top = int(np.where((time >= time[begun]) & (time <= latest), meat, -np.inf).argmax())
    hot = bool(meat[top] >= HOT_K)
    if begun == top == 0 or (begun == 0 and not hot):  # the log begins on the trays, or as they are laid
        return 0.0, float(meat[0])
    fallen = np.flatnonzero((time > time[top]) & (meat < meat[top] - _FALL_K))
    if hot and (not fallen.size or time[fallen[0]] > latest):
        if begun == 0 and meat[0] < HOT_K:
            raise InputError(
                f"{log.name}: the log begins with meat at {meat[0] - ZERO_CELSIUS:.0f} degC, neither cold nor as hot as it comes "
                f"from the heat that the batch file puts first ('{stage}'): log from before that, or from when the slices are "
                "laid on the trays; a log that begins later cannot be told from one of other meat"
            )
        raise InputError(
            f"{log.name}: the batch file heats the slices first ('{stage}'), and the probe does not leave the heat within "
            f"{(heated_s + _LATEST_S) / 60.0:.0f} min: was it in the liquid itself? Else leave out what lies before the trays "
            "(--from)"
        )
    seen = hot and (begun == 0 or heated_s >= _SEEN * float(np.median(np.diff(time))))
    if seen:
        return float(0.5 * (time[fallen[0] - 1] + time[fallen[0]])), float(meat[top])
    # heated between a few readings: for as long as meant
    return float(0.5 * (time[begun - 1] + time[begun])) + heated_s, float(meat[top])


def _part(log: ThermometerLog, kept: Array, start_s: float) -> ThermometerLog:
    def cut(values: Array | None) -> Array | None:
        return None if values is None else values[kept]

    return replace(
        log,
        lines=tuple(log.lines[i] for i in kept.tolist()),
        time_s=log.time_s[kept] - start_s,
        temperature_K=log.temperature_K[kept],
        water_activity=cut(log.water_activity),
        relative_humidity=cut(log.relative_humidity),
        air_temperature_K=cut(log.air_temperature_K),
    )
