"""Judgements on log reductions as plain values, for other programs."""

from dataclasses import asdict
from typing import Any

from dryingsim.judge.decline import ORGANISM as DECLINES
from dryingsim.judge.federal_table import TableCompliance
from dryingsim.judge.grades import Lethality, OrganismLethality
from dryingsim.judge.growth import OrganismGrowth
from dryingsim.judge.heat_resistance import COUNTABLE
from dryingsim.show.lethality.federal_words import table_cautions, table_reason
from dryingsim.show.lethality.finding_words import sentence
from dryingsim.show.lethality.words import CAUTIONS, MEANINGS, home_advice, places, reason


def lethality_values(judged: Lethality) -> dict[str, Any]:
    """Return a judgement on log reductions as plain values, its sentences in degrees Celsius."""
    advice = judged.advice
    return {
        "grade": judged.grade,
        "meaning": MEANINGS[judged.grade],
        "warnings": [sentence(one) for one in judged.warnings],
        "limits": judged.worst.organism,
        "form": judged.form,
        "species": judged.species,
        "places": places(judged.form),
        "organisms": [
            organism_values(one) | {"least_reduced_place": _worst_place(judged, one)}
            for one in judged.organisms
        ],
        "growth": [growth_values(judged, one) for one in judged.growth],
        "without_heat": {"organism": DECLINES, "best": min(judged.without_heat, COUNTABLE)},
        "beside": [sentence(one) for one in judged.beside],
        "parasites": [sentence(one) for one in judged.parasites],
        "federal_table": table_values(judged.table) if judged.table else None,
        "home_advice": asdict(advice) | {"text": home_advice(advice)} if advice else None,
        "cautions": list(CAUTIONS),
    }


def organism_values(one: OrganismLethality) -> dict[str, Any]:
    """Return the judgement on one organism as plain values, its sentences in degrees Celsius."""
    return {
        "organism": one.organism,
        "name": one.name,
        "grade": one.grade,
        "counted": min(one.counted, COUNTABLE),
        "lower": min(one.lower, COUNTABLE),
        "best": min(one.best, COUNTABLE),
        "heat_lower": min(one.heat_lower, COUNTABLE),
        "drying_share": one.drying_share,
        "probability": one.probability,
        "target": one.target,
        "guideline": one.guideline,
        "quadrature_spread": one.quadrature_spread,
        "reason": reason(one),
        "circumstances": sentence(one.circumstances),
        "flags": [sentence(flag) for flag in one.flags],
    }


def table_values(found: TableCompliance) -> dict[str, Any]:
    """Return how far a federal table is fulfilled as plain values, with the cautions it adds to the general ones."""
    values = asdict(found)
    del values["hottest_K"]  # is in the reason
    return values | {"reason": table_reason(found), "cautions": list(table_cautions(found.rule))}


def growth_values(judged: Lethality, one: OrganismGrowth) -> dict[str, Any]:
    """Return what may have grown as plain values [log10]: the upper figure, without a lag, decides."""
    return {
        "organism": one.organism,
        "name": one.name,
        "upper": min(one.upper, COUNTABLE),
        "with_lag": min(one.lagged, COUNTABLE),
        "limit": one.limit,
        "surface": min(one.surface, COUNTABLE),
        "below_1_mm": None if one.below is None else min(one.below, COUNTABLE),
        "middle": min(one.middle, COUNTABLE),
        "growth_less_reduction": None if one.net is None else max(min(one.net, COUNTABLE), -COUNTABLE),
        "place": _worst_place(judged, one) if judged.slab_tray else {"node": one.node},
    }


def _worst_place(judged: Lethality, one: OrganismLethality | OrganismGrowth) -> dict[str, Any]:
    return {
        "tray": judged.slab_tray[one.slab] + 1,
        "thickness_m": judged.slab_thickness_m[one.slab],
        "node": one.node,
        "nodes": judged.node_count,
    }
