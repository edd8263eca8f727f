"""What a log and its batch file say together: the probed slice and the others of the batch, estimated with their uncertainty.

The fitted draws say what air, film and diffusivity the log supports. The other slices dry in the same air, but each differs
from the probed one as slices do (thickness, place, fat), and on other trays the air is as much warmer and moister as the
simulated batch has it there. The probed slice is one of the batch, so that no batch is told better than it.
"""

from dataclasses import dataclass, replace
from typing import Annotated

import numpy as np

from dryingsim.engine.ensemble import Numbers
from dryingsim.evidence import Evidence
from dryingsim.judge.drawn import DrawnHistories, DrawnLethality, held_by_heat_before, judge_drawn
from dryingsim.judge.exposed import drier_by
from dryingsim.judge.hot_liquid import where_they_sit
from dryingsim.judge.reductions import with_clash
from dryingsim.learn.fitted_log import EVEN, FittedLog
from dryingsim.learn.probed_draws import Slice, dried, heated_times
from dryingsim.typing import Array

_EARLY_S, _EARLY_STEP_S, _LATE = 1800.0, 60.0, 80  # when states are noted
# Slices that come hot from the liquid cool within seconds: with notes a minute apart straight lines count 1.5 log too much.
_FIRST_S = np.geomspace(0.02, 240.0, 18)
_SEED = 2
_OTHERS_AIR_K: Annotated[
    float, Evidence("K", "estimate", "air from place to place on a tray, one standard deviation")
] = 1.0


@dataclass(frozen=True, kw_only=True)
class LoggedEstimate:
    """What is estimated.

    Attributes
    ----------
    of : FittedLog
    time_s : ndarray, shape (t,)
    end_s : float
        Of the log.
    probed : DrawnHistories
        Of the probed slice.
    batch : DrawnHistories
        Every thickness class on every tray, as `of.meant` has them, and the probed slice last.
    probed_activity, batch_activity : ndarray, shape (t, draw) and (t, draw, slice)
        Equilibrated water activity.
    probed_lethality, batch_lethality : DrawnLethality
        Up to the end of the log.
    """

    of: FittedLog
    time_s: Array
    end_s: float
    probed: DrawnHistories
    batch: DrawnHistories
    probed_activity: Array
    batch_activity: Array
    probed_lethality: DrawnLethality
    batch_lethality: DrawnLethality

    def surface(self) -> Array:
        """Return the water activity at the drier surface of the probed slice, shape (t, draw)."""
        return self.probed.water_activity[:, ::2, :, 0].min(axis=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class DriedBatch:
    """All slices of a batch in all draws, the probed one last.

    Attributes
    ----------
    histories : DrawnHistories
    activity : ndarray, shape (t, draw, slice)
        Equilibrated water activity.
    """

    histories: DrawnHistories
    activity: Array


def dry_batch(of: FittedLog, piece: Slice, times_s: Array) -> DriedBatch:
    """Dry the slices of the batch with all draws that stand for a log.

    Parameters
    ----------
    of : FittedLog
    piece : Slice
        The probed one, in the air that is wanted.
    times_s : ndarray, shape (t,)
        When states are noted [s].
    """
    slabs = np.append(np.arange(of.meant.kind.size), of.slab)
    numbers = _dried_beside(of, piece, slabs, times_s)
    thick = np.array([each.thickness_m for each in of.batch.meat.classes])[of.meant.kind[slabs]]
    return DriedBatch(
        histories=_histories(piece, times_s, numbers, of.meant.slabs.covered[slabs], thick),
        activity=_by_slice(numbers["series_water_activity"], slabs.size),
    )


def estimate(of: FittedLog) -> LoggedEstimate:
    """Estimate what was not measured.

    Parameters
    ----------
    of : FittedLog
    """
    end = float(of.log.time_s[-1])
    times = noted_times(end)
    batch = dry_batch(of, of.fitted.piece, times)
    probed = batch.histories.last()
    return LoggedEstimate(
        of=of,
        time_s=times,
        end_s=end,
        probed=probed,
        batch=batch.histories,
        probed_activity=batch.activity[..., -1],
        batch_activity=batch.activity,
        probed_lethality=judged(of, probed),
        batch_lethality=judged(of, batch.histories),
    )


def noted_times(end_s: float) -> Array:
    """Return when states are noted up to a time: closely at first.

    Parameters
    ----------
    end_s : float
        Since the slices were laid on the trays [s].
    """
    early = np.append(_FIRST_S, np.arange(0.0, _EARLY_S, _EARLY_STEP_S))
    late = np.linspace(min(_EARLY_S, end_s), end_s, _LATE)
    return np.unique(np.append(early[early < end_s], late))


def _dried_beside(of: FittedLog, piece: Slice, slabs: Array, times_s: Array) -> Numbers:
    """Dry a slice of every slab with every draw, the probed one last; slices draw by draw."""
    values, meant = of.fitted.even(EVEN), of.meant
    size = {key: uncertainty.deviation for key, uncertainty in of.uncertainties.items()}
    rng = np.random.default_rng(_SEED)
    shape = values["film"].size, slabs.size - 1

    def beside(key: str, other: Array) -> Array:
        return np.column_stack([other, values[key]]).reshape(-1)

    def differing(key: str, own: float, *, of_probed: bool) -> Array:
        likely = values[key][:, None] if of_probed else 1.0
        return beside(key, likely * np.exp(own * rng.standard_normal(shape)))

    apart = 2.0**0.5  # between two slices
    thickness = float(np.hypot(size["thickness_between"], size["thickness_within"]))
    each = {
        "diffusivity": differing("diffusivity", apart * size["diffusivity_slices"], of_probed=True),
        "half_moisture": np.repeat(values["half_moisture"], slabs.size),
        "film": differing("film", apart * size["film_places"], of_probed=True),
        "thickness": differing("thickness", thickness, of_probed=False),
        "marinade": differing("marinade", size["marinade"], of_probed=False),
        "air": beside("air", values["air"][:, None] + _OTHERS_AIR_K * rng.standard_normal(shape)),
        "humidity": np.repeat(values["humidity"], slabs.size),
    }
    meant_s = piece.air.time_s + piece.laid_s
    warmer, moister = (
        np.stack([np.interp(meant_s, meant.time_s, series[:, k] - series[:, of.slab]) for k in slabs], axis=1)
        for series in (meant.air_temperature_K, meant.air_vapour_pressure_Pa)
    )
    tiled = np.tile(warmer, (1, shape[0])), np.tile(moister, (1, shape[0]))
    return dried(piece, each, times_s, np.tile(meant.kind[slabs], shape[0]), tiled)


def _by_slice(series: Array, slices: int) -> Array:
    return series.reshape(*series.shape[:-1], series.shape[-1] // slices, slices)


def _histories(
    piece: Slice, times_s: Array, numbers: Numbers, covered: Array, thickness_m: Array
) -> DrawnHistories:
    keys = "places_K", "places_activity"
    t, a = (np.swapaxes(_by_slice(numbers[key], covered.size), 0, 1) for key in keys)
    heated = where_they_sit(
        _by_slice(numbers["heated_places_K"], covered.size), thickness_m, piece.batch.meat.form
    )
    return DrawnHistories(
        time_s=times_s,
        temperature_K=t,
        water_activity=a,
        covered=covered,
        heated_s=heated_times(piece),
        heated_K=heated,
    )


def judged(of: FittedLog, histories: DrawnHistories) -> DrawnLethality:
    """Judge histories of a log's batch: grades are held back where the log is in doubt, or the humidity was not logged.

    Parameters
    ----------
    of : FittedLog
    histories : DrawnHistories
    """
    meat, error = of.batch.meat, drier_by(of.batch)
    found = judge_drawn(histories, meat.form, meat.judged_as, error)
    if histories.heated:
        alone = judge_drawn(histories.dried_alone(), meat.form, meat.judged_as, error)
        if of.judged_log.objections:  # such a log shows nothing by drying alone
            entries = tuple(entry.not_shown() for entry in alone.lethality.organisms)
            alone = replace(alone, lethality=replace(alone.lethality, organisms=entries))
        found = held_by_heat_before(found, alone, of.heated.asked_K)
    probed = of.meant.kind.size  # its place among the slices of the batch
    organisms = tuple(
        replace(entry, slab=of.slab) if entry.slab == probed else entry for entry in found.lethality.organisms
    )
    if of.objections:
        organisms = tuple(entry.not_shown() for entry in organisms)
    elif of.log.relative_humidity is None:
        organisms = tuple(entry.only_if_measured() for entry in organisms)
    return replace(found, lethality=with_clash(replace(found.lethality, organisms=organisms), meat))
