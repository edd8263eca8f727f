"""What a log and its batch file say together: the probed slice and the others of the batch, estimated with their uncertainty.

The fitted draws say what air, film and diffusivity the log supports. The other slices dry in the same air, but each differs
from the probed one as slices do (thickness, place, fat), and on other trays the air is as much warmer and moister as the
simulated batch has it there.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Annotated

import numpy as np

from dryingsim.batch.uncertainties import activity_error_of
from dryingsim.engine.ensemble import Numbers
from dryingsim.evidence import Evidence
from dryingsim.judge.drawn import DrawnHistories, DrawnLethality, held_by_heat_before, judge_drawn
from dryingsim.judge.hot_liquid import where_they_sit
from dryingsim.judge.reductions import with_clash
from dryingsim.learn.fitted_log import EVEN, FittedLog
from dryingsim.learn.probed_draws import Slice, dried, heated_times
from dryingsim.typing import Array

_EARLY_S, _EARLY_STEP_S, _LATE = 1800.0, 60.0, 160  # when states are noted
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
    others : DrawnHistories
        Of the batch: every thickness class on every tray, as `of.meant` has them.
    probed_activity, others_activity : ndarray, shape (t, draw) and (t, draw, slice)
        Equilibrated water activity.
    probed_lethality, batch_lethality : DrawnLethality
        Up to the end of the log.
    """

    of: FittedLog
    time_s: Array
    end_s: float
    probed: DrawnHistories
    others: DrawnHistories
    probed_activity: Array
    others_activity: Array
    probed_lethality: DrawnLethality
    batch_lethality: DrawnLethality

    def surface(self) -> Array:
        """Return the water activity at the drier surface of the probed slice, shape (t, draw)."""
        return self.probed.water_activity[:, ::2, :, 0].min(axis=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class DriedBatch:
    """All slices of a batch in all draws.

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
    rest, slices = _others(of, piece, of.fitted.even(EVEN), times_s), of.meant.kind.size
    thick = np.array([each.thickness_m for each in of.batch.meat.classes])[of.meant.kind]
    return DriedBatch(
        histories=_histories(piece, times_s, rest, of.meant.slabs.covered, thick),
        activity=_by_slice(rest["series_water_activity"], slices),
    )


def estimate(of: FittedLog) -> LoggedEstimate:
    """Estimate what was not measured.

    Parameters
    ----------
    of : FittedLog
    """
    end = float(of.log.time_s[-1])
    times = _times(end)
    values = of.fitted.even(EVEN)
    piece = of.fitted.piece
    own = dried(piece, values, times)
    rest = dry_batch(of, piece, times)
    thick = np.array([of.batch.meat.classes[piece.kind].thickness_m])
    probed = _histories(piece, times, own, of.meant.slabs.covered[[of.slab]], thick)
    return LoggedEstimate(
        of=of,
        time_s=times,
        end_s=end,
        probed=probed,
        others=rest.histories,
        probed_activity=own["series_water_activity"],
        others_activity=rest.activity,
        probed_lethality=judged(of, probed),
        batch_lethality=judged(of, rest.histories),
    )


def _times(end_s: float) -> Array:
    early = np.arange(0.0, min(_EARLY_S, end_s), _EARLY_STEP_S)
    late = np.linspace(min(_EARLY_S, end_s), end_s, _LATE // 2)
    return np.unique(np.append(early, late))


def _others(of: FittedLog, piece: Slice, values: Mapping[str, Array], times_s: Array) -> Numbers:
    """Dry one slice of every class on every tray, with every draw; slices draw by draw."""
    uncertainties, meant, slab = of.uncertainties, of.meant, of.slab
    count, slices = values["film"].size, meant.kind.size
    size = {key: uncertainty.deviation for key, uncertainty in uncertainties.items()}
    rng = np.random.default_rng(_SEED)

    def differing(own: float) -> Array:
        return np.exp(own * rng.standard_normal(count * slices))

    repeated = {key: np.repeat(each, slices) for key, each in values.items()}
    apart = 2.0**0.5  # between two slices
    other = {
        "diffusivity": repeated["diffusivity"] * differing(apart * size["diffusivity_slices"]),
        "half_moisture": repeated["half_moisture"],
        "film": repeated["film"] * differing(apart * size["film_places"]),
        "thickness": differing(float(np.hypot(size["thickness_between"], size["thickness_within"]))),
        "marinade": differing(size["marinade"]),
        "air": repeated["air"] + _OTHERS_AIR_K * rng.standard_normal(count * slices),
        "humidity": repeated["humidity"],
    }
    meant_s = piece.air.time_s + piece.laid_s
    warmer, moister = (
        np.stack(
            [np.interp(meant_s, meant.time_s, series[:, k] - series[:, slab]) for k in range(slices)], axis=1
        )
        for series in (meant.air_temperature_K, meant.air_vapour_pressure_Pa)
    )
    tiled = np.tile(warmer, (1, count)), np.tile(moister, (1, count))
    return dried(piece, other, times_s, np.tile(meant.kind, count), tiled)


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
    meat, error = of.batch.meat, activity_error_of(of.batch).half_width
    found = judge_drawn(histories, meat.form, meat.judged_as, error)
    if histories.heated:
        alone = judge_drawn(histories.dried_alone(), meat.form, meat.judged_as, error)
        if of.judged_log.objections:  # such a log shows nothing by drying alone
            entries = tuple(entry.not_shown() for entry in alone.lethality.organisms)
            alone = replace(alone, lethality=replace(alone.lethality, organisms=entries))
        found = held_by_heat_before(found, alone, of.heated.asked_K)
    organisms = found.lethality.organisms
    if of.objections:
        organisms = tuple(entry.not_shown() for entry in organisms)
    elif of.log.relative_humidity is None:
        organisms = tuple(entry.only_if_measured() for entry in organisms)
    return replace(found, lethality=with_clash(replace(found.lethality, organisms=organisms), meat))
