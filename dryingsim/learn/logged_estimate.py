"""What a log and its batch file say together: the probed slice and the others of the batch, estimated with their uncertainty.

The fitted draws say what air, film and diffusivity the log supports. The other slices dry in the same air, but each differs
from the probed one as slices do (thickness, place, fat), and on other trays the air is as much warmer and moister as the
simulated batch has it there.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Annotated

import numpy as np

from dryingsim.batch.schema import Batch
from dryingsim.batch.uncertainties import Uncertainty
from dryingsim.engine.ensemble import Numbers
from dryingsim.errors import InputError
from dryingsim.evidence import Evidence
from dryingsim.history import History
from dryingsim.judge.drawn import DrawnHistories, DrawnLethality, judge_drawn
from dryingsim.judge.federal_table import column_of
from dryingsim.judge.findings import Finding
from dryingsim.judge.fitted_probe import probe_objections
from dryingsim.judge.probe import LogJudgement, judge_log
from dryingsim.judge.thermometer_log import ThermometerLog
from dryingsim.learn.fitted_slice import DRAWS, ROUNDS, FittedSlice, Weights, fit_slice
from dryingsim.learn.logged_air import logged_air
from dryingsim.learn.probed_draws import Slice, Unknowns, dried
from dryingsim.model.build import with_ideal_thermostat
from dryingsim.simulate import run
from dryingsim.typing import Array

EVEN = 64  # draws that stand for all
_EARLY_S, _EARLY_STEP_S, _LATE = 1800.0, 60.0, 160  # when states are noted
_OTHERS_AIR_K: Annotated[
    float, Evidence("K", "estimate", "air from place to place on a tray, one standard deviation")
] = 1.0


@dataclass(frozen=True, kw_only=True)
class LoggedEstimate:
    """What is estimated.

    Attributes
    ----------
    batch : Batch
    fitted : FittedSlice
    meant : History
        The batch as it is meant.
    time_s : ndarray, shape (t,)
    end_s : float
        Of the log; later times are a forecast in the last air.
    probed : DrawnHistories
        Of the probed slice.
    others : DrawnHistories
        Of the batch: every thickness class on every tray.
    kind, tray : ndarray of int, shape (slice,)
        Of the others.
    probed_activity, others_activity : ndarray, shape (t, draw) and (t, draw, slice)
        Equilibrated water activity.
    probed_share, others_share : ndarray
        Weight over that when laid in.
    judged_log : LogJudgement
        Of the log by itself with the estimated water activity: what speaks against it, the federal table.
    objections : tuple of Finding
        All that speaks against it; where there is any, nothing counts as met.
    probed_lethality, batch_lethality : DrawnLethality
        Up to the end of the log.
    """

    batch: Batch
    fitted: FittedSlice
    meant: History
    time_s: Array
    end_s: float
    probed: DrawnHistories
    others: DrawnHistories
    kind: Array
    tray: Array
    probed_activity: Array
    others_activity: Array
    probed_share: Array
    others_share: Array
    judged_log: LogJudgement
    objections: tuple[Finding, ...]
    probed_lethality: DrawnLethality
    batch_lethality: DrawnLethality

    def surface(self) -> Array:
        """Return the water activity at the drier surface of the probed slice, shape (t, draw)."""
        return self.probed.water_activity[:, ::2, :, 0].min(axis=1)


def estimate_log(
    log: ThermometerLog,
    batch: Batch,
    uncertainties: Mapping[str, Uncertainty],
    *,
    thickness_m: float | None = None,
    tray: int | None = None,
    weights: Weights | None = None,
    longer_s: float = 0.0,
    draws: int = DRAWS,
    rounds: int = ROUNDS,
    seed: int = 1,
) -> LoggedEstimate:
    """Fit a batch to a log of it, and estimate what was not measured.

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
    longer_s : float
        How far beyond the log slices are followed, in the last air [s].
    draws, rounds, seed : int
        See `learn.weighted_draws`.
    """
    meant = run(with_ideal_thermostat(batch))
    kind, slab = _probed(log, meant, thickness_m, tray)
    air = logged_air(log, meant, slab)
    piece = Slice(batch=batch, kind=kind, air=air, start_K=float(log.temperature_K[0]))
    fitted = fit_slice(piece, log, Unknowns.of(uncertainties), weights, draws=draws, rounds=rounds, seed=seed)
    end = float(log.time_s[-1])
    times = _times(end, longer_s)
    values = fitted.even(EVEN)
    own = dried(piece, values, times)
    rest = _others(piece, values, uncertainties, meant, slab, times, seed)
    probed, others = _histories(times, own, 1), _histories(times, rest, meant.kind.size)
    judged_log, objections = _against(log, fitted, probed, batch)
    form, species = batch.meat.form, batch.meat.species
    return LoggedEstimate(
        batch=batch,
        fitted=fitted,
        meant=meant,
        time_s=times,
        end_s=end,
        probed=probed,
        others=others,
        kind=meant.kind,
        tray=meant.tray,
        probed_activity=own["series_water_activity"],
        others_activity=_by_slice(rest["series_water_activity"], meant.kind.size),
        probed_share=_share(own["series_moisture_db"]),
        others_share=_share(_by_slice(rest["series_moisture_db"], meant.kind.size)),
        judged_log=judged_log,
        objections=objections,
        probed_lethality=_held(judge_drawn(probed.up_to(end), form, species), objections, log),
        batch_lethality=_held(judge_drawn(others.up_to(end), form, species), objections, log),
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


def _times(end_s: float, longer_s: float) -> Array:
    early = np.arange(0.0, min(_EARLY_S, end_s), _EARLY_STEP_S)
    late = np.linspace(min(_EARLY_S, end_s), end_s, _LATE // 2)
    later = np.linspace(end_s, end_s + longer_s, _LATE) if longer_s > 0.0 else np.array([end_s])
    return np.unique(np.concatenate([early, late, later]))


def _others(
    piece: Slice,
    values: Mapping[str, Array],
    uncertainties: Mapping[str, Uncertainty],
    meant: History,
    slab: int,
    times_s: Array,
    seed: int,
) -> Numbers:
    """Dry one slice of every class on every tray, with every draw; slices draw by draw."""
    count, slices = values["film"].size, meant.kind.size
    size = {key: uncertainty.deviation for key, uncertainty in uncertainties.items()}
    rng = np.random.default_rng(seed + 1)

    def differing(own: float) -> Array:
        return np.exp(own * rng.standard_normal(count * slices))

    repeated = {key: np.repeat(each, slices) for key, each in values.items()}
    apart = 2.0**0.5  # between two slices
    other = {
        "diffusivity": repeated["diffusivity"] * differing(apart * size["diffusivity_slices"]),
        "film": repeated["film"] * differing(apart * size["film_places"]),
        "thickness": differing(float(np.hypot(size["thickness_between"], size["thickness_within"]))),
        "marinade": differing(size["marinade"]),
        "air": repeated["air"] + _OTHERS_AIR_K * rng.standard_normal(count * slices),
        "humidity": repeated["humidity"],
    }
    logged = piece.air.time_s
    warmer, moister = (
        np.stack(
            [np.interp(logged, meant.time_s, series[:, k] - series[:, slab]) for k in range(slices)], axis=1
        )
        for series in (meant.air_temperature_K, meant.air_vapour_pressure_Pa)
    )
    tiled = np.tile(warmer, (1, count)), np.tile(moister, (1, count))
    return dried(piece, other, times_s, np.tile(meant.kind, count), tiled)


def _by_slice(series: Array, slices: int) -> Array:
    return series.reshape(*series.shape[:-1], -1, slices)


def _histories(times_s: Array, numbers: Numbers, slices: int) -> DrawnHistories:
    t, a = (np.swapaxes(_by_slice(numbers[key], slices), 0, 1) for key in ("places_K", "places_activity"))
    return DrawnHistories(time_s=times_s, temperature_K=t, water_activity=a)


def _share(moisture: Array) -> Array:
    return np.asarray((1.0 + moisture) / (1.0 + moisture[:1]))


def _against(
    log: ThermometerLog, fitted: FittedSlice, probed: DrawnHistories, batch: Batch
) -> tuple[LogJudgement, tuple[Finding, ...]]:
    """Return the log's own judgement with the estimated water activity, and all that speaks against it."""
    surface = probed.water_activity[:, ::2, :, 0].min(axis=1)
    likely = np.interp(log.time_s, probed.time_s, np.median(surface, axis=1))
    known = replace(log, water_activity=likely) if log.water_activity is None else log
    column = None if log.relative_humidity is None else column_of(batch.meat.species)
    thickness = batch.meat.classes[fitted.piece.kind].thickness_m
    judged = judge_log(known, column=column, thickness_m=min(max(thickness * 0.8, 1e-3), 0.03))
    used = fitted.used
    assert log.air_temperature_K is not None
    weight = fitted.drawn.weight
    found = probe_objections(
        log.time_s[used],
        log.temperature_K[used],
        log.air_temperature_K[used],
        fitted.before_K,
        fitted.after_K,
        float(weight @ fitted.values["exposed"]),
        batch.meat.temperature_K,
    )
    return judged, (*judged.objections, *found)


def _held(judged: DrawnLethality, objections: tuple[Finding, ...], log: ThermometerLog) -> DrawnLethality:
    """Return the judgement with grades held back where the log is in doubt, or the humidity was not logged."""
    organisms = judged.lethality.organisms
    if objections:
        organisms = tuple(entry.not_shown() for entry in organisms)
    elif log.relative_humidity is None:
        organisms = tuple(entry.only_if_measured() for entry in organisms)
    return replace(judged, lethality=replace(judged.lethality, organisms=organisms))
