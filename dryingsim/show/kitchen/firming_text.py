"""A piece firming in the freezer, as text, as values and over time."""

from dataclasses import asdict
from typing import Any

import numpy as np

from dryingsim.kitchen.firming import FIRM_K, OUTER_HARD_K, Firming, SlicingWindow
from dryingsim.kitchen.freezing_slab import SKIN_M, FreezingHistory
from dryingsim.properties.freezing import HANDBOOK_FREEZING_K, enthalpy, fresh_freezing_point
from dryingsim.show.core.document import Block, Document, labelled, screen, sentences
from dryingsim.show.core.quantities import KitchenUnits, about, clock, spoken
from dryingsim.show.core.tables import Column, Table
from dryingsim.show.core.writing import csv_text

_BRIEF = (
    "Estimates: go by feel. The outside should resist the thumb, a knife should still go through. Freezing kills no bacteria "
    "reliably."
)
_ROWS = 10
_STEPS_MIN = (5, 10, 15, 20, 30, 60, 90, 120, 180, 240, 360, 480)
_HALF_HOUR_S = 1800.0


def firming_document(firming: Firming, system: str, pieces: int = 1) -> Document:
    """Return what is told of a piece in the freezer.

    Parameters
    ----------
    firming : Firming
    system : str
        "metric" or "us".
    pieces : int
        How many such pieces there are.
    """
    units = KitchenUnits(system)
    said = [*_when_to_slice(firming, units), *_next_piece(firming, pieces)]
    details: dict[str, list[Block]] = {
        "over time": [_course_table(firming.freezing_history, firming.expected, units)],
        "all answers": sentences(*said, _why_so(firming, units), _rule_of_thumb(firming, units)),
    }
    whole = _firming_caution(units)
    title = next(iter(_what(firming, units, pieces)), "A piece in the freezer")
    return screen(
        title.removesuffix("."),
        _in_brief(firming),
        details,
        lambda: firming_data(firming, pieces),
        (_BRIEF, whole),
    )


def _in_brief(firming: Firming) -> list[Block]:
    window, soonest, latest = firming.expected, firming.soonest, firming.latest
    if window.stiff_s is None:
        return labelled({"KNIFE": ["It does not get firm in 4 days: the freezer is not cold enough."]})
    early = "" if soonest.stiff_s is None else f"from {about(soonest.stiff_s)} in strong air "
    late = (
        "perhaps never in weak air" if latest.stiff_s is None else f"to {about(latest.stiff_s)} in weak air"
    )
    knife = [
        f"Stiff outside at {about(window.stiff_s)}: {early}{late}.",
        f"Turn it over at {about(0.5 * window.stiff_s)}. Judge by the broad sides: edges and corners stiffen first.",
    ]
    if window.firm_s is None:
        return labelled({"KNIFE": knife})
    until = "on" if window.hard_s is None else f"to {about(window.hard_s)}"
    return labelled({"KNIFE": knife, "MACHINE": [f"Tempered through from {about(window.firm_s)} {until}."]})


def _what(firming: Firming, units: KitchenUnits, pieces: int) -> list[str]:
    """Tell the piece, where all of its sides are known."""
    piece, kg = firming.piece, firming.piece.weight_kg
    if kg is None:
        return []
    sides = " by ".join(
        units.length.text(side) for side in (piece.thickness_m, piece.width_m, piece.length_m)
    )
    return [
        f"{'The piece' if pieces == 1 else f'Each of {pieces} pieces'}: {sides}, about {units.weight(kg)}."
    ]


def _next_piece(firming: Firming, pieces: int) -> list[str]:
    """Tell what a second piece does while the first is sliced."""
    stiff, hard, soonest = firming.expected.stiff_s, firming.expected.hard_s, firming.soonest.hard_s
    if stiff is None:
        return []
    wait = (
        "it does not get too hard in this freezer"
        if hard is None
        else f"it is too hard for a knife after {spoken(hard)}"
        + (f", in strong air after {spoken(soonest)}" if soonest is not None else "")
    )
    also = "The others wait" if pieces > 1 else "A second piece waits"
    each = "each" if pieces > 2 else "the next"
    return [
        f"{also} in the freezer while you slice the first: {wait}. Put {each} in later by the time that slicing one takes, or "
        "move it to the refrigerator once it is stiff. A stiff outside softens in a warm kitchen: slice at once."
    ]


def _firming_caution(units: KitchenUnits) -> str:
    fresh, handbook = (units.degrees(kelvin) for kelvin in (fresh_freezing_point(0.72), HANDBOOK_FREEZING_K))
    return (
        f"Times are estimates: what is known of films in household freezers (from memory) and of the freezing point of "
        f"beef ({fresh} to {handbook} in the sources) makes the range. Go by feel: the outside should resist the "
        "thumb, a knife should still go through. Freezing destroys no bacteria reliably; keep the meat cold while you "
        "slice."
    )


def _course_table(freezing_history: FreezingHistory, window: SlicingWindow, units: KitchenUnits) -> Table:
    end = max(
        (t for t in (window.hard_s, window.best_s) if t is not None),
        default=float(freezing_history.time_s[-1]),
    )
    step = 60.0 * next((s for s in _STEPS_MIN if end / 60.0 / s <= _ROWS), _STEPS_MIN[-1])
    times = np.arange(0.0, min(end + step, freezing_history.time_s[-1]) + 1.0, step)
    rows = [freezing_history.row(float(time)) for time in times]
    degrees = units.temperature

    def kelvin(above: str, below: str, name: str) -> Column:
        return Column((above, below, degrees.symbol), [f"{degrees.value(row[name]):.1f}" for row in rows])

    def share(below: str, name: str) -> Column:
        return Column(("ice", below, "%"), [f"{100.0 * row[name]:.0f}" for row in rows])

    columns = [
        Column(("", "time", "h:min"), [clock(row["time_s"]) for row in rows]),
        kelvin("", "face", "face_K"),
        kelvin("outer", "layer", "outer_K"),
        kelvin("", "middle", "middle_K"),
        kelvin("evened", "out", "mean_K"),
        share("outer", "ice_outer"),
        share("middle", "ice_middle"),
        share("all", "ice_mean"),
    ]
    note = (
        "Outer layer: the outer quarter at either face. Evened out: the temperature the piece would come to, taken "
        "out and wrapped. Ice: share of all water."
    )
    return Table(columns, [note], set())


def _when_to_slice(firming: Firming, units: KitchenUnits) -> list[str]:
    """Tell the two marks, the sooner one first: stiff outside, for a knife; tempered through, for a machine."""
    if firming.expected.stiff_s is None:
        return [
            "The piece does not get firm in the time looked at (4 days at most): the freezer is not cold enough."
        ]
    if firming.expected.firm_s is None:
        return [
            _stiff(firming, units),
            "It does not get firm deeper in (4 days at most): the freezer is not cold enough.",
        ]
    return [_stiff(firming, units), _tempered(firming)]


def _stiff(firming: Firming, units: KitchenUnits) -> str:
    """Tell when the outside is stiff enough to hold under a knife."""
    stiff, soonest, latest = (
        window.stiff_s for window in (firming.expected, firming.soonest, firming.latest)
    )
    middle = firming.freezing_history.row(stiff or 0.0)["middle_K"]
    first = "" if soonest is None else f" Feel it first after {spoken(soonest)} (strong air)"
    weak = (
        "with weak air it may not get there"
        if latest is None
        else f"with weak air it may take {spoken(latest)}"
    )
    skin = min(SKIN_M, 0.25 * firming.piece.thickness_m)
    return (
        f"For a knife, stiff outside: after about {spoken(stiff or 0.0)} the outer {units.length.text(skin)} "
        f"are firm, while the middle is still at {units.degrees(middle)}."
        f"{f'{first}; {weak}.' if first else f' {weak.capitalize()}.'} Turn the piece over half way, after about "
        f"{spoken(0.5 * (stiff or 0.0))}: the side it lies on gets less air. Edges and corners stiffen first: judge by the "
        "broad faces."
    )


def _tempered(firming: Firming) -> str:
    """Tell when the piece is tempered through, for a machine or for very thin slices."""
    window, soonest, latest = firming.expected, firming.soonest, firming.latest
    if window.firm_s is None:
        return ""
    until = "" if window.hard_s is None else f" and {spoken(window.hard_s)}"
    text = (
        f"For a machine, tempered through: between {spoken(window.firm_s)}{until}"
        if until
        else f"For a machine, tempered through: from {spoken(window.firm_s)} on"
    )
    if window.best_s is not None and (window.hard_s is None or window.best_s <= window.hard_s):
        text += f", best after about {spoken(window.best_s)}"
    else:
        text += ", and let it rest in the refrigerator first: it is too thick to firm evenly"
    parts = [f"{text}."]
    if soonest.firm_s is not None:
        parts.append(
            f"It may begin after {spoken(soonest.firm_s)} (strong air, freezing point as in the handbook)"
        )
        parts.append(
            f"or only after {spoken(latest.firm_s)} (weak air)."
            if latest.firm_s is not None
            else "or, with weak air, never."
        )
    return " ".join(parts)


def _why_so(firming: Firming, units: KitchenUnits) -> str:
    told = units.degrees
    low, high = firming.piece.film[1:]
    shape = f" Its sides count: it freezes {firming.dimensionality:.2f} times as fast as a slab."
    begins, limits = told(float(firming.food.freezing_K)), firming.limits
    salted = (
        ""
        if limits.firm == FIRM_K
        else " Salted, it must be that much colder to hold as much ice as fresh meat."
    )
    return (
        f"Firm means a layer at {told(limits.firm)} or colder; best an evened-out {told(limits.best)}, the "
        f"middle of the range for slicing by hand ({told(limits.middle_hard)} to {told(limits.firm)}, about half of "
        f"the water frozen; derived, estimate); too hard a middle at {told(limits.middle_hard)} or an outer layer at "
        f"{told(limits.outer_hard)}. Fresh meat is tempered for cutting by machine at {told(OUTER_HARD_K)} to "
        f"{told(FIRM_K)} (read in a text on meat technology).{salted} It begins to freeze at {begins}; film "
        f"{units.film(firming.piece.film[0])} ({units.film(low)} to {units.film(high)}, from memory)."
        + (shape if firming.dimensionality > 1.0 else "")
    )


def _rule_of_thumb(firming: Firming, units: KitchenUnits) -> str:
    row = firming.freezing_history.row(_HALF_HOUR_S)
    told = units.degrees
    text = (
        f"The usual advice of half an hour (common practice, no source): by then the face is at {told(row['face_K'])}, "
        f"the middle at {told(row['middle_K'])}, and {100.0 * row['ice_mean']:.0f} % of the water is ice."
    )
    if firming.expected.hard_s is not None and firming.expected.hard_s < _HALF_HOUR_S:
        text += " A piece as thin as this is too hard by then."
    elif firming.expected.stiff_s is not None and firming.expected.stiff_s > 1.5 * _HALF_HOUR_S:
        text += (
            f" That is a cold skin, not yet a stiff one: the freezer's air takes "
            f"{units.heat(row['heat_J_kg'])} away in that time, and about half of the water frozen needs "
            f"{units.heat(_heat_to_best(firming))}. Thinner pieces, a fan, or metal to lie on shorten it."
        )
    return text


def _heat_to_best(firming: Firming) -> float:
    """Heat to take from a kilogram until it would even out at the best temperature [J/kg]."""
    return float(enthalpy(firming.food, firming.piece.start_K) - enthalpy(firming.food, firming.limits.best))


def firming_data(firming: Firming, pieces: int = 1) -> dict[str, Any]:
    """Return the answer in SI, for other programs; null where a state is not reached.

    Parameters
    ----------
    firming : Firming
    pieces : int
        How many such pieces there are.
    """
    stiff = firming.expected.stiff_s
    return {
        "pieces": pieces,
        "turn_over_s": None if stiff is None else 0.5 * stiff,
        "piece": {
            "weight_kg": firming.piece.weight_kg,
            "thickness_m": firming.piece.thickness_m,
            "width_m": _finite(firming.piece.width_m),
            "length_m": _finite(firming.piece.length_m),
            "start_K": firming.piece.start_K,
            "freezer_K": firming.piece.freezer_K,
            "film_W_m2K": list(firming.piece.film),
        },
        "freezing_point_K": float(firming.food.freezing_K),
        "dimensionality": firming.dimensionality,
        "expected": asdict(firming.expected),
        "soonest": asdict(firming.soonest),
        "latest": asdict(firming.latest),
        "after_half_an_hour": firming.freezing_history.row(_HALF_HOUR_S),
        "limits_K": asdict(firming.limits),
        "energy_closure": firming.closure,
        "caution": _firming_caution(KitchenUnits("metric")),
    }


def _finite(value: float) -> float | None:
    return value if np.isfinite(value) else None


def firming_csv(firming: Firming) -> str:
    """Return the expected course, one line per time, in SI; the unit ends each column's name."""
    names = list(FreezingHistory.__slots__)
    rows = zip(*(getattr(firming.freezing_history, name) for name in names), strict=True)
    return csv_text(names, ([f"{value:.8g}" for value in values] for values in rows))
