"""A piece firming in the freezer, as text, as values and over time."""

from dataclasses import asdict
from typing import Any

import numpy as np

from dryingsim.kitchen.firming import FIRM_K, OUTER_HARD_K, Firming
from dryingsim.kitchen.freezing_slab import SKIN_M, FreezingHistory
from dryingsim.properties.freezing import HANDBOOK_FREEZING_K, enthalpy, fresh_freezing_point
from dryingsim.show.core.document import Document, labelled, picked, screen
from dryingsim.show.core.quantities import KitchenUnits, about, capital, clock, spoken
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
    """Return what is told of a piece in the freezer; there may be several `pieces` of it."""
    units = KitchenUnits(system)
    piece, title = firming.piece, "A piece in the freezer"
    if piece.weight_kg is not None:  # all of its sides are known
        sides = map(units.length.text, (piece.thickness_m, piece.width_m, piece.length_m))
        of = "The piece" if pieces == 1 else f"Each of {pieces} pieces"
        title = f"{of}: {' by '.join(sides)}, about {units.weight(piece.weight_kg)}"
    said = [*_when_to_slice(firming, units), *_next_piece(firming, pieces)]
    return screen(
        title,
        labelled(_in_brief(firming)),
        {
            "over time": [_course_table(firming, units)],
            "all answers": [*said, _why_so(firming, units), _rule_of_thumb(firming, units)],
        },
        lambda: firming_data(firming, pieces),
        (_BRIEF, _firming_caution(units)),
    )


def _in_brief(firming: Firming) -> dict[str, list[str]]:
    window, soonest, latest = firming.expected, firming.soonest.stiff_s, firming.latest.stiff_s
    if window.stiff_s is None:
        return {"KNIFE": ["It does not get firm in 4 days: the freezer is not cold enough."]}
    early = "" if soonest is None else f"from {about(soonest)} in strong air "
    late = "perhaps never in weak air" if latest is None else f"to {about(latest)} in weak air"
    said = {
        "KNIFE": [
            f"Stiff outside at {about(window.stiff_s)}: {early}{late}.",
            f"Turn it over at {about(0.5 * window.stiff_s)}. Judge by the broad sides: edges and corners stiffen first.",
        ]
    }
    if window.firm_s is not None:
        until = "on" if window.hard_s is None else f"to {about(window.hard_s)}"
        said["MACHINE"] = [f"Tempered through from {about(window.firm_s)} {until}."]
    return said


def _next_piece(firming: Firming, pieces: int) -> list[str]:
    """Tell what a second piece does while the first is sliced."""
    stiff, hard, soonest = firming.expected.stiff_s, firming.expected.hard_s, firming.soonest.hard_s
    if stiff is None:
        return []
    sooner = "" if soonest is None else f", in strong air after {spoken(soonest)}"
    wait = "it does not get too hard in this freezer"
    if hard is not None:
        wait = f"it is too hard for a knife after {spoken(hard)}{sooner}"
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


def _course_table(firming: Firming, units: KitchenUnits) -> Table:
    course, window, degrees = firming.freezing_history, firming.expected, units.temperature
    last = float(course.time_s[-1])
    end = max((t for t in (window.hard_s, window.best_s) if t is not None), default=last)
    step = 60.0 * next((s for s in _STEPS_MIN if end / 60.0 / s <= _ROWS), _STEPS_MIN[-1])
    rows = [course.row(float(time)) for time in np.arange(0.0, min(end + step, last) + 1.0, step)]

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
    return Table(columns, [note])


def _when_to_slice(firming: Firming, units: KitchenUnits) -> list[str]:
    """Tell the two marks, the sooner one first: stiff outside, for a knife; tempered through, for a machine."""
    stiff, firm = firming.expected.stiff_s, firming.expected.firm_s
    if stiff is None:
        return [
            "The piece does not get firm in the time looked at (4 days at most): the freezer is not cold enough."
        ]
    deeper = "It does not get firm deeper in (4 days at most): the freezer is not cold enough."
    return [_stiff(firming, stiff, units), deeper if firm is None else _tempered(firming, firm)]


def _stiff(firming: Firming, stiff: float, units: KitchenUnits) -> str:
    """Tell when the outside is stiff enough to hold under a knife."""
    soonest, latest = firming.soonest.stiff_s, firming.latest.stiff_s
    middle = firming.freezing_history.row(stiff)["middle_K"]
    weak = f"with weak air it may {'not get there' if latest is None else f'take {spoken(latest)}'}"
    ends = capital(weak) if soonest is None else f"Feel it first after {spoken(soonest)} (strong air); {weak}"
    skin = min(SKIN_M, 0.25 * firming.piece.thickness_m)
    return (
        f"For a knife, stiff outside: after about {spoken(stiff)} the outer {units.length.text(skin)} "
        f"are firm, while the middle is still at {units.degrees(middle)}. {ends}. Turn the piece over half way, after about "
        f"{spoken(0.5 * stiff)}: the side it lies on gets less air. Edges and corners stiffen first: judge by the broad faces."
    )


def _tempered(firming: Firming, firm: float) -> str:
    """Tell when the piece is tempered through, for a machine or for very thin slices."""
    best, hard = firming.expected.best_s, firming.expected.hard_s
    soonest, latest = firming.soonest.firm_s, firming.latest.firm_s
    span = f"from {spoken(firm)} on" if hard is None else f"between {spoken(firm)} and {spoken(hard)}"
    rest = ", and let it rest in the refrigerator first: it is too thick to firm evenly"
    if best is not None and (hard is None or best <= hard):
        rest = f", best after about {spoken(best)}"
    text = f"For a machine, tempered through: {span}{rest}."
    if soonest is None:
        return text
    late = "or, with weak air, never." if latest is None else f"or only after {spoken(latest)} (weak air)."
    return (
        f"{text} It may begin after {spoken(soonest)} (strong air, freezing point as in the handbook) {late}"
    )


def _why_so(firming: Firming, units: KitchenUnits) -> str:
    told, limits = units.degrees, firming.limits
    film, low, high = map(units.film, firming.piece.film)
    salted = " Salted, it must be that much colder to hold as much ice as fresh meat."
    shape = f" Its sides count: it freezes {firming.dimensionality:.2f} times as fast as a slab."
    return (
        f"Firm means a layer at {told(limits.firm)} or colder; best an evened-out {told(limits.best)}, the "
        f"middle of the range for slicing by hand ({told(limits.middle_hard)} to {told(limits.firm)}, about half of "
        f"the water frozen; derived, estimate); too hard a middle at {told(limits.middle_hard)} or an outer layer at "
        f"{told(limits.outer_hard)}. Fresh meat is tempered for cutting by machine at {told(OUTER_HARD_K)} to "
        f"{told(FIRM_K)} (read in a text on meat technology).{salted if limits.firm != FIRM_K else ''} It begins to freeze at "
        f"{told(float(firming.food.freezing_K))}; film {film} ({low} to {high}, from memory)."
        f"{shape if firming.dimensionality > 1.0 else ''}"
    )


def _rule_of_thumb(firming: Firming, units: KitchenUnits) -> str:
    row, told, food = firming.freezing_history.row(_HALF_HOUR_S), units.degrees, firming.food
    hard, stiff = firming.expected.hard_s, firming.expected.stiff_s
    text = (
        f"The usual advice of half an hour (common practice, no source): by then the face is at {told(row['face_K'])}, "
        f"the middle at {told(row['middle_K'])}, and {100.0 * row['ice_mean']:.0f} % of the water is ice."
    )
    if hard is not None and hard < _HALF_HOUR_S:
        return f"{text} A piece as thin as this is too hard by then."
    if stiff is None or stiff <= 1.5 * _HALF_HOUR_S:
        return text
    to_best = float(enthalpy(food, firming.piece.start_K) - enthalpy(food, firming.limits.best))
    return (
        f"{text} That is a cold skin, not yet a stiff one: the freezer's air takes {units.heat(row['heat_J_kg'])} away in that "
        f"time, and about half of the water frozen needs {units.heat(to_best)}. Thinner pieces, a fan, or metal to lie on "
        "shorten it."
    )


def firming_data(firming: Firming, pieces: int = 1) -> dict[str, Any]:
    """Return the answer in SI, for other programs; null where a state is not reached."""
    stiff, piece = firming.expected.stiff_s, firming.piece
    return {
        "pieces": pieces,
        "turn_over_s": None if stiff is None else 0.5 * stiff,
        "piece": {
            **picked(piece, "weight_kg", "thickness_m"),
            "width_m": _finite(piece.width_m),
            "length_m": _finite(piece.length_m),
            **picked(piece, "start_K", "freezer_K"),
            "film_W_m2K": list(piece.film),
        },
        "freezing_point_K": float(firming.food.freezing_K),
        "dimensionality": firming.dimensionality,
        **{name: asdict(getattr(firming, name)) for name in ("expected", "soonest", "latest")},
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
