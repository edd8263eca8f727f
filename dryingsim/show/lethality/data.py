"""Judgements on log reductions as plain values, for other programs."""

from dataclasses import asdict
from typing import Any

from dryingsim.judge.decline import ORGANISM as DECLINES
from dryingsim.judge.federal_table import TableCompliance
from dryingsim.judge.grades import Lethality, OrganismLethality
from dryingsim.judge.growth import OrganismGrowth
from dryingsim.judge.heat_resistance import COUNTABLE
from dryingsim.show.core.document import picked
from dryingsim.show.lethality.federal_text import table_cautions, table_reason
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
            {**organism_values(one), "least_reduced_place": _worst_place(judged, one)}
            for one in judged.organisms
        ],
        "growth": [growth_values(judged, one) for one in judged.growth],
        "without_heat": {"organism": DECLINES, "best": min(judged.without_heat, COUNTABLE)},
        "beside": [sentence(one) for one in judged.beside],
        "parasites": [sentence(one) for one in judged.parasites],
        "federal_table": table_values(judged.table),
        "home_advice": asdict(advice) | {"text": home_advice(advice)} if advice else None,
        "cautions": list(CAUTIONS),
    }


def organism_values(one: OrganismLethality) -> dict[str, Any]:
    """Return the judgement on one organism as plain values, its sentences in degrees Celsius."""
    return {
        **picked(one, "organism", "name", "grade"),
        **_counted(one, "counted", "lower", "best", "heat_lower"),
        **picked(one, "drying_share", "probability", "target", "guideline", "quadrature_spread"),
        "reason": reason(one),
        "circumstances": sentence(one.circumstances),
        "flags": [sentence(flag) for flag in one.flags],
    }


def _counted(one: OrganismLethality | OrganismGrowth, *names: str) -> dict[str, float]:
    """Return numbers of a judgement, none beyond what is counted."""
    return {name: min(getattr(one, name), COUNTABLE) for name in names}


def table_values(found: TableCompliance | None) -> dict[str, Any] | None:
    """Return how far a federal table is fulfilled as plain values, with its own cautions; None where it was not looked at."""
    if found is None:
        return None
    values = asdict(found)
    del values["hottest_K"]  # is in the reason
    return values | {"reason": table_reason(found), "cautions": list(table_cautions(found.rule))}


def growth_values(judged: Lethality, one: OrganismGrowth) -> dict[str, Any]:
    """Return what may have grown as plain values [log10]: the upper figure, without a lag, decides."""
    return {
        **picked(one, "organism", "name"),
        **_counted(one, "upper"),
        "with_lag": min(one.lagged, COUNTABLE),
        "limit": one.limit,
        **_counted(one, "surface"),
        "below_1_mm": None if one.below is None else min(one.below, COUNTABLE),
        **_counted(one, "middle"),
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
