"""A log put together with its batch file: fitted, and looked at for what speaks against it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from dryingsim.batch.schema import Batch
from dryingsim.batch.uncertainty import Uncertainty
from dryingsim.errors import InputError
from dryingsim.history import History
from dryingsim.judge.federal_table import column_of
from dryingsim.judge.findings import Finding
from dryingsim.judge.fitted_probe import probe_objections
from dryingsim.judge.heated_log import HeatedLog, from_the_trays_on
from dryingsim.judge.probe import LogJudgement, judge_log
from dryingsim.judge.thermometer_log import ThermometerLog
from dryingsim.learn.fitted_slice import DRAWS, ROUNDS, FittedSlice, Weights, fit_slice
from dryingsim.learn.logged_air import logged_air
from dryingsim.learn.probed_draws import Slice, Unknowns
from dryingsim.model.build import with_ideal_thermostat
from dryingsim.simulate import run

EVEN = 64  # draws that stand for all


@dataclass(frozen=True, kw_only=True)
class FittedLog:
    """A log fitted to the batch it is of.

    Attributes
    ----------
    batch : Batch
    uncertainties : mapping of Uncertainty
    fitted : FittedSlice
    meant : History
        The batch as it is meant.
    slab : int
        Of that history, where the probe is.
    judged_log : LogJudgement
        Of the log by itself with the estimated water activity: what speaks against it, the federal table.
    heated : HeatedLog
        The log as read, and from the trays on; times of all else count from there.
    objections : tuple of Finding
        All that speaks against it; where there is any, nothing counts as met.
    weights : Weights or None
        What was weighed meanwhile.
    """

    batch: Batch
    uncertainties: Mapping[str, Uncertainty]
    fitted: FittedSlice
    meant: History
    slab: int
    judged_log: LogJudgement
    heated: HeatedLog
    objections: tuple[Finding, ...]
    weights: Weights | None = None

    @property
    def log(self) -> ThermometerLog:
        """The log, from when the slices were laid on the trays."""
        return self.fitted.log


def fit_log(
    log: ThermometerLog,
    batch: Batch,
    uncertainties: Mapping[str, Uncertainty],
    *,
    thickness_m: float | None = None,
    tray: int | None = None,
    weights: Weights | None = None,
    meant: History | None = None,
    draws: int = DRAWS,
    rounds: int = ROUNDS,
    seed: int = 1,
    progress: Callable[[str], Any] | None = None,
) -> FittedLog:
    """Fit a batch to a log of it.

    Parameters
    ----------
    log : ThermometerLog
        With the air beside the probed slice.
    batch : Batch
    uncertainties : mapping of Uncertainty
        As `batch.uncertainties.read_uncertainties` gives them.
    thickness_m : float, optional
        Of the slice that holds the probe, raw [m]: one of the batch; the thickest if left out.
    tray : int, optional
        On which it lies, from 0; the one with the warmest air if left out, so that the others are no warmer than it.
    weights : Weights, optional
    meant : History, optional
        The batch as it is meant, where it was simulated already.
    draws, rounds, seed : int
        See `learn.weighted_draws`.
    progress : callable, optional
        As for `fit_slice`.
    """
    meant = meant or run(with_ideal_thermostat(batch))
    kind, slab = _probed(log, meant, thickness_m, tray)
    heated = from_the_trays_on(log, meant)
    dried, ends = heated.dried, heated.ends_s
    piece = Slice(
        batch=batch,
        kind=kind,
        air=logged_air(dried, meant, slab, ends[-1] if ends else 0.0),
        start_K=batch.meat.temperature_K if ends else float(log.temperature_K[0]),
        heated_s=ends,
    )
    weighed = None if weights is None else weights.since(piece.laid_s)
    fitted = fit_slice(
        piece,
        dried,
        Unknowns.of(uncertainties),
        weighed,
        draws=draws,
        rounds=rounds,
        seed=seed,
        progress=progress,
    )
    judged_log, objections = _against(heated, fitted, batch)
    return FittedLog(
        batch=batch,
        uncertainties=uncertainties,
        fitted=fitted,
        meant=meant,
        slab=slab,
        judged_log=judged_log,
        heated=heated,
        objections=objections,
        weights=weights,
    )


def _probed(
    log: ThermometerLog, meant: History, thickness_m: float | None, tray: int | None
) -> tuple[int, int]:
    """Return the thickness class of the probed slice, and its slab in the batch as it is meant."""
    thick = np.array([each.thickness_m for each in meant.batch.meat.classes])
    kind = int(thick.argmax()) if thickness_m is None else int(np.abs(thick - thickness_m).argmin())
    if tray is not None and not 0 <= tray <= int(meant.tray.max()):
        raise InputError(f"{log.name}: tray {tray + 1}, but the slices lie on {int(meant.tray.max()) + 1}")
    able = np.flatnonzero((meant.kind == kind) & ((meant.tray == tray) if tray is not None else True))
    return kind, int(able[meant.air_temperature_K[:, able].mean(axis=0).argmax()])


def _against(
    heated: HeatedLog, fitted: FittedSlice, batch: Batch
) -> tuple[LogJudgement, tuple[Finding, ...]]:
    """Return the log's own judgement with the estimated water activity, and all that speaks against it."""
    log, used = heated.dried, fitted.used
    surface = np.median(fitted.surface[:, fitted.drawn.even(EVEN)], axis=1)
    likely = np.interp(log.time_s, log.time_s[used], surface)
    known = replace(log, water_activity=likely) if log.water_activity is None else log
    column = None if log.relative_humidity is None else column_of(batch.meat.judged_as)
    thickness = batch.meat.classes[fitted.piece.kind].thickness_m
    judged = judge_log(
        heated.cooled(known),
        column=column,
        thickness_m=min(max(thickness * 0.8, 1e-3), 0.03),
        started_warm=batch.stages[0].name if heated.ends_s else None,
    )
    assert log.air_temperature_K is not None
    weight = fitted.drawn.weight
    found = probe_objections(
        log.time_s[used],
        log.temperature_K[used],
        log.air_temperature_K[used],
        fitted.before_K,
        fitted.after_K,
        float(weight @ fitted.values["exposed"]),
        float(heated.whole.temperature_K[0]),
        # a log that begins on the trays begins warm
        float(heated.whole.temperature_K[0]) if heated.begins_hot else batch.meat.temperature_K,
        float(np.sum((weight @ fitted.drawn.z) ** 2)),
        log.relative_humidity,
    )
    if found and judged.compliance is not None:
        judged = replace(judged, compliance=replace(judged.compliance, fulfilled=False))
    by_itself = judged.objections
    if heated.ends_s:  # few hot readings are no fault of a log whose meat was hot before
        by_itself = tuple(each for each in by_itself if each.key != "few_readings")
    return judged, (*by_itself, *heated.objections, *found)
