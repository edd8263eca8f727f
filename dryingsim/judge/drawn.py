"""Log reductions of meat that is known as draws: each draw a history that may be the true one, all as likely.

What is not known of the history and what is not known of a new study go together: for every draw the least-reduced place of
its slices is found in every study drawn, and the bound is the 5 % quantile of all. Heat alone is counted, at the drier side
of the water activity's error.
"""

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from dryingsim.batch.catalog import organisms as catalog
from dryingsim.batch.schema import Form, Species
from dryingsim.evidence import Evidence
from dryingsim.judge.exposed import MATRIX, Exposed, as_if_open, drier_side, exposed_nodes
from dryingsim.judge.findings import Finding
from dryingsim.judge.grades import Lethality, OrganismLethality
from dryingsim.judge.growth_places import judge_growth
from dryingsim.judge.growth_time import growth_hours, growth_warning
from dryingsim.judge.heat_draws import samples_of
from dryingsim.judge.heat_model import heat_resistance
from dryingsim.judge.heat_resistance import Reduction, accumulated, straight_rate, survived
from dryingsim.judge.reductions import SPECIES_WARNING, circumstances, grade_of
from dryingsim.properties.water_activity import UNCERTAINTY
from dryingsim.typing import Array

_WETTER: Annotated[
    float, Evidence("-", "numerical", "quantile of the water activity that growth is judged at")
] = 0.95
_BAND = (0.05, 0.95)


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnHistories:
    """Histories of slices, as draws.

    Attributes
    ----------
    time_s : ndarray, shape (t,)
    temperature_K, water_activity : ndarray, shape (t, 3, draw, slice)
        At the lower face, in the middle and at the upper face.
    covered : ndarray of bool, shape (slice,)
        Whether the lower face lies on a closed sheet or on another slice.
    """

    time_s: Array
    temperature_K: Array
    water_activity: Array
    covered: Array

    def up_to(self, end_s: float) -> "DrawnHistories":
        """Return the same up to a time [s]."""
        count = max(int(np.searchsorted(self.time_s, end_s, side="right")), 2)
        return DrawnHistories(
            time_s=self.time_s[:count],
            temperature_K=self.temperature_K[:count],
            water_activity=self.water_activity[:count],
            covered=self.covered,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnLethality:
    """A judgement, and how far the histories alone leave it open.

    Attributes
    ----------
    lethality : Lethality
    median_band : dict
        By organism, the best estimate of the lowest and the highest of nine in ten histories [log10].
    """

    lethality: Lethality
    median_band: dict[str, tuple[float, float]]


def judge_drawn(
    histories: DrawnHistories, form: Form, species: Species, activity_error: float = UNCERTAINTY
) -> DrawnLethality:
    """Judge draws of histories against what guidelines require.

    Parameters
    ----------
    histories : DrawnHistories
    form, species : str
        As for `reductions.judge_lethality`.
    activity_error : float
        As for `exposed.drier_side` [-].
    """
    t, a = histories.temperature_K, np.minimum(histories.water_activity, 1.0)
    shape = t.shape
    flat_t, flat_a = t.reshape(*shape[:2], -1), a.reshape(*shape[:2], -1)
    for_heat = a.copy()
    for_heat[:, 0] = as_if_open(a[:, 0], a[:, -1], histories.covered)
    arrays = histories.time_s, flat_t, flat_a, drier_side(for_heat, activity_error).reshape(flat_a.shape)
    exposed = Exposed.of(arrays, form, drying=False, from_cold=True)
    sums = exposed.sums.reshape(exposed.sums.shape[0], -1, *shape[2:])
    straight = accumulated(exposed.time, exposed.credited, exposed.drier, rule=straight_rate)
    other = straight.reshape(sums.shape)
    judged = [_judge(histories, exposed, sums, other, key, form, species) for key in catalog.organisms()]
    entries = tuple(entry for entry, _ in judged)
    typical = np.median(t, axis=2), np.quantile(a, _WETTER, axis=2)
    growth = judge_growth(histories.time_s, *typical, exposed_nodes(form, 3), None, entries)
    warned = growth_warning(growth_hours(histories.time_s, *typical), growth)
    if warned:
        entries = tuple(entry.not_shown() for entry in entries)
    unsaid = (SPECIES_WARNING[species],) if species in SPECIES_WARNING else ()
    lethality = Lethality(
        form=form,
        species=species,
        organisms=entries,
        node_count=3,
        growth=growth,
        warnings=(*warned, *unsaid),
    )
    bands = {entry.organism: band for entry, (_, band) in zip(entries, judged, strict=True)}
    return DrawnLethality(lethality=lethality, median_band=bands)


def _judge(
    histories: DrawnHistories,
    exposed: Exposed,
    sums: Array,
    other: Array,
    organism: str,
    form: Form,
    species: Species,
) -> tuple[OrganismLethality, tuple[float, float]]:
    """Judge one organism; sums (shape draw, place, draw, slice), by two rules of integration."""
    counted = _counted(sums, organism, form)  # (draw, study)
    whole = Reduction(draws=np.sort(counted, axis=None))
    spread = abs(Reduction(draws=np.sort(_counted(other, organism, form), axis=None)).lower - whole.lower)
    medians = np.median(counted, axis=1)
    middle = int(np.argsort(medians)[medians.size // 2])
    place, piece = np.unravel_index(
        int(np.median(sums[:, :, middle], axis=0).argmin()), sums.shape[1:2] + sums.shape[3:]
    )
    goal = catalog.target(organism, species)
    node = int(exposed_nodes(form, 3)[place])
    history = (
        values[:, node, middle, piece] for values in (histories.temperature_K, histories.water_activity)
    )
    entry = OrganismLethality(
        organism=organism,
        name=catalog.organisms()[organism],
        slab=int(piece),
        node=node,
        lower=whole.lower,
        best=whole.median,
        heat_lower=whole.lower,
        drying_share=0.0,
        probability=whole.probability(goal.log10),
        target=goal.log10,
        guideline=goal.guideline,
        grade=grade_of(whole.lower - spread, whole.median, goal.log10),
        circumstances=circumstances(histories.time_s, *history),
        quadrature_spread=spread,
        flags=tuple(_flags(exposed)),
    )
    low, high = np.quantile(medians, _BAND)
    return entry, (float(low), float(high))


def _counted(sums: Array, organism: str, form: Form) -> Array:
    """Return what every study drawn counts at the least-reduced place of every draw [log10], shape (draw, study)."""
    samples = samples_of(heat_resistance(), organism, MATRIX[form])
    least = sums.min(
        axis=(1, 3)
    )  # the level only scales: the least place of a shape is the least of all its studies
    studies = least.T[:, :, None] * 10.0**-samples.slow
    return survived(studies, samples.ceilings["long"]).reshape(least.shape[1], -1)


def _flags(exposed: Exposed) -> list[Finding]:
    limit = heat_resistance().hottest_K
    if not (exposed.t > limit).any():
        return []
    return [Finding("hotter_than_measured_D", {"hottest_K": float(exposed.t.max()), "measured_K": limit})]
