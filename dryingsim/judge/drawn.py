"""Log reductions of meat that is known as draws: each draw a history that may be the true one, all as likely.

What is not known of the history and what is not known of a new study go together: for every draw the least-reduced place of
its slices is found in every study drawn, and the bound is the 5 % quantile of all. Heat alone is counted, at the drier side
of the water activity's error.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Annotated

import numpy as np

from dryingsim.batch.catalog import organisms as catalog
from dryingsim.batch.schema import Form, Species
from dryingsim.evidence import Evidence
from dryingsim.judge.circumstances import circumstances, heated_circumstances
from dryingsim.judge.exposed import MATRIX, Exposed, as_if_open, drier_side, exposed_nodes
from dryingsim.judge.findings import Finding
from dryingsim.judge.grades import Lethality, OrganismLethality
from dryingsim.judge.growth_places import judge_growth
from dryingsim.judge.growth_time import growth_hours, growth_warning
from dryingsim.judge.heat_draws import samples_of
from dryingsim.judge.heat_model import heat_resistance
from dryingsim.judge.heat_resistance import (
    HeatBefore,
    Reduction,
    accumulated,
    mean_rate,
    straight_rate,
    survived,
)
from dryingsim.judge.reductions import SPECIES_WARNING, grade_of
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
    heated_s : ndarray, shape (h,)
        Since they went into liquid or steam before [s]; empty where they did not.
    heated_K : ndarray, shape (h, draw, slice)
        Where bacteria sit meanwhile, see `hot_liquid.where_they_sit` [K].
    """

    time_s: Array
    temperature_K: Array
    water_activity: Array
    covered: Array
    heated_s: Array = field(default_factory=lambda: np.empty(0))
    heated_K: Array = field(default_factory=lambda: np.empty((0, 0, 0)))

    @property
    def heated(self) -> bool:
        """Whether they were in liquid or steam before."""
        return self.heated_s.size > 0

    def dried_alone(self) -> "DrawnHistories":
        """Return the same without what came before drying."""
        return replace(self, heated_s=self.heated_s[:0], heated_K=self.heated_K[:0])

    def last(self) -> "DrawnHistories":
        """Return those of the last slice alone."""
        return replace(
            self,
            temperature_K=self.temperature_K[..., -1:],
            water_activity=self.water_activity[..., -1:],
            covered=self.covered[-1:],
            heated_K=self.heated_K[..., -1:],
        )

    def up_to(self, end_s: float) -> "DrawnHistories":
        """Return the same up to a time [s]."""
        count = max(int(np.searchsorted(self.time_s, end_s, side="right")), 2)
        return replace(
            self,
            time_s=self.time_s[:count],
            temperature_K=self.temperature_K[:count],
            water_activity=self.water_activity[:count],
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
    exposed = Exposed.of(arrays, form, drying=False, from_cold=not histories.heated)
    both = [
        Sums(
            by_heat.reshape(by_heat.shape[0], -1, *shape[2:]),
            _before(histories, drier_side(for_heat[0, 1], activity_error), rule),
        )
        for rule, by_heat in (
            (mean_rate, exposed.sums),
            (straight_rate, accumulated(exposed.time, exposed.credited, exposed.drier, rule=straight_rate)),
        )
    ]
    judged = [_judge(histories, exposed, both, key, form, species) for key in catalog.organisms()]
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


def held_by_heat_before(whole: DrawnLethality, dried: DrawnLethality, asked_K: float) -> DrawnLethality:
    """Return a judgement in which what is met only with the heat before drying is met only if that is measured.

    Parameters
    ----------
    whole, dried : DrawnLethality
        With what came before drying, and without it.
    asked_K : float
        As hot the middle of the thickest slice is meant to get meanwhile [K].
    """
    alone = {entry.organism: entry for entry in dried.lethality.organisms}
    organisms = whole.lethality.organisms
    held = [each for each in organisms if each.grade == "met" and alone[each.organism].grade != "met"]
    if not held:
        return whole
    worst = min(held, key=lambda each: alone[each.organism].counted - each.target)
    values = {
        "organism": worst.name,
        "relied_log10": alone[worst.organism].counted,
        "asked_K": asked_K,
    }
    lethality = replace(
        whole.lethality,
        organisms=tuple(each.only_if_measured() if each in held else each for each in organisms),
        warnings=(*whole.lethality.warnings, Finding("heat_before_decides", values)),
    )
    return replace(whole, lethality=lethality)


@dataclass(frozen=True, slots=True)
class Sums:
    """What heat does at level zero: while slices dry (shape draw, place, draw, slice), and before, (draw, slice).

    Attributes
    ----------
    later : Array
        While slices dry.
    """

    later: Array
    before: HeatBefore | None


def _before(
    histories: DrawnHistories, water_activity: Array, rule: Callable[[Array], Array]
) -> HeatBefore | None:
    """Return what heat did before drying, (draw, slice), at the water activity of then, (draw, slice)."""
    if not histories.heated:
        return None
    wet = np.broadcast_to(water_activity, histories.heated_K.shape)
    return HeatBefore.of(histories.heated_s, histories.heated_K, wet, rule=rule)


def _judge(
    histories: DrawnHistories,
    exposed: Exposed,
    both: Sequence[Sums],
    organism: str,
    form: Form,
    species: Species,
) -> tuple[OrganismLethality, tuple[float, float]]:
    """Judge one organism by two rules of integration."""
    counted, other = (_counted(sums, organism, form) for sums in both)  # (draw, study)
    whole = Reduction(draws=np.sort(counted, axis=None))
    spread = abs(Reduction(draws=np.sort(other, axis=None)).lower - whole.lower)
    medians = np.median(counted, axis=1)
    middle = int(np.argsort(medians)[medians.size // 2])
    later = both[0].later
    place, piece = np.unravel_index(
        int(np.median(later[:, :, middle], axis=0).argmin()), later.shape[1:2] + later.shape[3:]
    )
    goal = catalog.target(organism, species)
    node = int(exposed_nodes(form, 3)[place])
    history = (
        histories.time_s,
        *(values[:, node, middle, piece] for values in (histories.temperature_K, histories.water_activity)),
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
        circumstances=circumstances(*history)
        if not histories.heated
        else heated_circumstances(histories.heated_s, histories.heated_K[:, middle, piece], *history),
        quadrature_spread=spread,
        flags=tuple(_flags(exposed)),
    )
    low, high = np.quantile(medians, _BAND)
    return entry, (float(low), float(high))


def _counted(sums: Sums, organism: str, form: Form) -> Array:
    """Return what every study drawn counts at the least-reduced place of every draw [log10], shape (draw, study)."""
    model = heat_resistance()
    samples = samples_of(model, organism, MATRIX[form])
    # the level only scales: the least place of a shape, and slice where nothing came before, is that of all its studies
    least = sums.later.min(axis=1 if sums.before is not None else (1, 3), keepdims=True)[:, 0]
    studies = np.inf
    for piece in range(least.shape[2]):
        counted = least[..., piece].T[:, :, None] * 10.0**-samples.slow
        if sums.before is not None:
            fast = sums.before.sums[..., piece].T[:, :, None] * 10.0**-samples.fast
            lasting = model.lasting.share(sums.before.hot_s[:, piece])
            counted = counted + survived(fast, samples.ceiling_before(lasting))
        studies = np.minimum(studies, counted)
    return survived(studies, samples.ceilings["long"]).reshape(least.shape[1], -1)


def _flags(exposed: Exposed) -> list[Finding]:
    limit = heat_resistance().hottest_K
    if not (exposed.t > limit).any():
        return []
    return [Finding("hotter_than_measured_D", {"hottest_K": float(exposed.t.max()), "measured_K": limit})]
