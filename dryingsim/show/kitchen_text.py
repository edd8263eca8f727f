"""What the steps before drying tell a person: firming in the freezer, the marinade, laying out; as text and as data."""

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

import numpy as np

from dryingsim.batch.units import display_units
from dryingsim.kitchen.firming import FIRM_K, OUTER_HARD_K, Firming, SlicingWindow
from dryingsim.kitchen.freezing_slab import FreezingHistory
from dryingsim.kitchen.loading import Layout, Loading
from dryingsim.kitchen.marinade import (
    ACID,
    COLD_K,
    HOME_LIMIT,
    LITTLE_LIQUID,
    SALT,
    SALT_DISSOLVES,
    SUGAR,
    WATER_GAIN_RANGE,
    Marinated,
    NitriteCheck,
)
from dryingsim.properties.freezing import HANDBOOK_FREEZING_K, enthalpy, fresh_freezing_point
from dryingsim.show.csv_text import csv_text
from dryingsim.show.quantities import LARGE_BATCH_KG, Unit, clock, spoken
from dryingsim.show.tables import Column, Table, plain, wrapped

_ROWS = 10
_STEPS_MIN = (5, 10, 15, 20, 30, 60, 90, 120, 180, 240, 360, 480)
_HALF_HOUR_S = 1800.0


class KitchenUnits:
    """The units to print in, for the system "metric" or "us"."""

    def __init__(self, system: str) -> None:
        names = display_units(system)
        self.temperature = Unit("temperature", names["temperature"])
        self.length = Unit("length", names["length"])
        self.bulk = Unit("mass", names["mass"])
        self.mass = Unit("mass", {"kg": "g", "lb": "oz"}[names["mass"]])

    def degrees(self, kelvin: float) -> str:
        """Return a temperature to a tenth of a degree."""
        return f"{self.temperature.value(kelvin):.1f} {self.temperature.symbol}"

    def weight(self, kg: float) -> str:
        """Return a weight: small ones in g or in pounds and ounces, large ones in kg or lb."""
        large = 1.0 if self.mass.name == "g" else LARGE_BATCH_KG
        return (self.mass if kg < large else self.bulk).text(kg)


def paragraphs(sentences: Sequence[str]) -> str:
    """Return paragraphs of plain text, at most 80 columns wide."""
    return "\n".join(map(wrapped, sentences))


# --- firming -------------------------------------------------------------------------------------------------------


def firming_text(firming: Firming, system: str) -> str:
    """Return the table over time and the answer for a piece in the freezer; `system` is "metric" or "us"."""
    units = KitchenUnits(system)
    said = [
        _when_to_slice(firming),
        _why_so(firming, units),
        _rule_of_thumb(firming, units),
        _firming_caution(units),
    ]
    return (
        f"{plain([_course_table(firming.freezing_history, firming.expected, units)])}\n\n{paragraphs(said)}"
    )


def _firming_caution(units: KitchenUnits) -> str:
    fresh, handbook = (units.degrees(kelvin) for kelvin in (fresh_freezing_point(0.72), HANDBOOK_FREEZING_K))
    return (
        f"Times are estimates: what is known of films in household freezers (from memory) and of the freezing point of "
        f"beef ({fresh} to {handbook} in the sources) makes the range. Go by feel: the outside should resist the "
        "thumb, a knife should still go through. Freezing kills no bacteria reliably; keep the meat cold while you "
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


def _when_to_slice(firming: Firming) -> str:
    window, soonest, latest = firming.expected, firming.soonest, firming.latest
    if window.firm_s is None:
        return "The piece does not get firm in the time looked at (4 days at most): the freezer is not cold enough."
    until = "" if window.hard_s is None else f" and {spoken(window.hard_s)}"
    text = (
        f"Slice between {spoken(window.firm_s)}{until}" if until else f"Slice from {spoken(window.firm_s)} on"
    )
    if window.best_s is not None and (window.hard_s is None or window.best_s <= window.hard_s):
        text += f", best after about {spoken(window.best_s)}"
    else:
        text += ", and let it rest in the refrigerator first: it is too thick to firm evenly"
    parts = [f"{text}."]
    if soonest.firm_s is not None:
        parts.append(f"Feel it first after {spoken(soonest.firm_s)}")
        parts.append(
            f"(strong air, freezing point as in the handbook); with weak air it may be firm only after "
            f"{spoken(latest.firm_s)}."
            if latest.firm_s is not None
            else "(strong air, freezing point as in the handbook); with weak air it may not get firm."
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
        f"Firm means an outer layer at {told(limits.firm)} or colder; best an evened-out {told(limits.best)}, the "
        f"middle of the range for slicing by hand ({told(limits.middle_hard)} to {told(limits.firm)}, about half of "
        f"the water frozen; derived, estimate); too hard a middle at {told(limits.middle_hard)} or an outer layer at "
        f"{told(limits.outer_hard)}. Fresh meat is tempered for cutting by machine at {told(OUTER_HARD_K)} to "
        f"{told(FIRM_K)} (read in a text on meat technology).{salted} It begins to freeze at {begins}; film "
        f"{firming.piece.film[0]:g} W/m2K ({low:g} to {high:g}, from memory)."
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
    elif firming.expected.firm_s is not None and firming.expected.firm_s > 1.5 * _HALF_HOUR_S:
        text += (
            f" That is a cold skin, not a firm piece: the freezer's air takes "
            f"{row['heat_J_kg'] / 1e3:.0f} kJ/kg away in that time, and about half of the water frozen needs "
            f"{_heat_to_best(firming) / 1e3:.0f}. Thinner pieces, a fan, or metal to lie on shorten it."
        )
    return text


def _heat_to_best(firming: Firming) -> float:
    """Heat to take from a kilogram until it would even out at the best temperature [J/kg]."""
    return float(enthalpy(firming.food, firming.piece.start_K) - enthalpy(firming.food, firming.limits.best))


def firming_data(firming: Firming) -> dict[str, Any]:
    """Return the answer in SI, for other programs; null where a state is not reached."""
    return {
        "piece": {
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


# --- marinade ------------------------------------------------------------------------------------------------------

_SALTY = (0.024, 0.0529, 0.0709)  # measured products, see `_taste`
_MARINADE_CAUTION = (
    "No marinade makes meat safe: a day in one changed the counts of bacteria by -0.3 to +0.6 log (Albright 2002), and "
    "salt and acid are not counted here as killing any. Keep it at {cold} or colder, and never use a marinade twice."
)


def marinade_text(marinated: Marinated, system: str) -> str:
    """Return the tables and the answer for a marinade; `system` is "metric" or "us"."""
    units = KitchenUnits(system)
    shown = plain([_bath_table(marinated, units), _uptake_table(marinated)])
    said = [
        _how_far(marinated),
        _taste(marinated),
        *_remarks(marinated, units),
        *([_nitrite(marinated.nitrite)] if marinated.nitrite else []),
        _for_the_batch(marinated),
        "",
        _MARINADE_CAUTION.format(cold=f"{units.temperature.text(COLD_K)}"),
    ]
    return f"{shown}\n\n{paragraphs(said)}"


def _bath_table(marinated: Marinated, units: KitchenUnits) -> Table:
    portions = marinated.recipe.portions
    parts = ("water", "salt", "sugar", "acid")
    small = units.mass
    digits = 1 if small.name == "g" else 2

    def grams(values: list[float]) -> list[str]:
        return [f"{small.value(value):.{digits}f}" for value in values]

    weights = [one.weight_kg for one in portions]
    columns = [
        Column(("", "", "ingredient"), [*(one.ingredient.name for one in portions), "together"]),
        Column(("", "weight", small.symbol), grams([*weights, sum(weights)])),
    ]
    for part in parts:
        of = [getattr(one.ingredient, part) * one.weight_kg for one in portions]
        columns.append(Column(("", part, small.symbol), grams([*of, sum(of)])))
    notes = [f"{one.ingredient.name}: {one.ingredient.note}." for one in portions if one.ingredient.note]
    return Table(columns, notes, {len(portions) - 1})


def _uptake_table(marinated: Marinated) -> Table:
    rows = marinated.compared

    def grams(above: str, values: list[float]) -> Column:
        return Column((above, "taken up", "g/kg"), [f"{1e3 * value:.1f}" for value in values])

    def band(pairs: list[tuple[float, float]], scale: float) -> list[str]:
        return [f"{scale * low:.1f}-{scale * high:.1f}" for low, high in pairs]

    columns = [
        Column(("", "time", "h:min"), [clock(one.time_s) for one, _ in rows]),
        grams("salt", [one.salt for one, _ in rows]),
        Column(("", "range", "g/kg"), band([one.salt_range for one, _ in rows], 1e3)),
        grams("sugar", [one.sugar for one, _ in rows]),
        grams("acid", [one.acid for one, _ in rows]),
        Column(("", "even", "%"), [f"{100.0 * one.evenness:.0f}" for one, _ in rows]),
        Column(("salt", "when dry", "%"), [f"{100.0 * dried.salt:.1f}" for _, dried in rows]),
        Column(("sugar", "when dry", "%"), [f"{100.0 * dried.sugar:.1f}" for _, dried in rows]),
    ]
    note = (
        "Taken up per kg of raw meat; range by how fast salt moves in meat and how it is shared between the waters. "
        "Even: salt in the middle over salt at the face. When dry: percent of the finished slices, at a water activity "
        f"of {marinated.recipe.water_activity:g}."
    )
    return Table(columns, [note], set())


def _how_far(marinated: Marinated) -> str:
    one, final = marinated.chosen, marinated.final
    share = one.salt / final.salt if final.salt else 1.0
    sugar = one.sugar / final.sugar if final.sugar else 1.0
    text = (
        f"After {spoken(one.time_s)} the meat holds {1e3 * one.salt:.1f} g of salt and {1e3 * one.sugar:.1f} g of sugar "
        f"per kg of raw meat, {100.0 * share:.0f} % and {100.0 * sugar:.0f} % of what it takes up in the end. From face "
        f"to middle the salt runs {', '.join(f'{1e3 * salt:.1f}' for _, salt, _ in marinated.profile)} g/kg."
    )
    if share > 0.97 and one.evenness > 0.9:
        text += " Longer makes it no saltier."
    elif one.evenness < 0.5:
        text += " The middle is still hardly salted: the drying model takes the salt as spread evenly."
    return text


def _taste(marinated: Marinated) -> str:
    dried = marinated.dried
    low, jerky, beef = (100.0 * value for value in _SALTY)
    salt = 100.0 * dried.salt
    band = (
        f"milder than the mildest of them ({low:.1f} %)"
        if salt < low
        else f"within the two dried strips ({low:.1f} and {jerky:.1f} %)"
        if salt <= jerky
        else f"between the strip ({jerky:.1f} %) and salted dried beef ({beef:.1f} %), very salty to eat as it is"
        if salt <= beef
        else f"saltier than salted dried beef ({beef:.1f} %), hardly eatable as it is"
    )
    return (
        f"Dried to a water activity of {dried.water_activity:g} it weighs {100.0 * dried.weight:.0f} % of the raw meat and "
        f"is {dried.stronger:.1f} times as salty as when it goes on the trays: {salt:.1f} % salt "
        f"({100.0 * dried.salt_range[0]:.1f} to {100.0 * dried.salt_range[1]:.1f} %) and {100.0 * dried.sugar:.1f} % sugar. "
        f"Of products whose salt is known, that is {band}. (Restructured duck strip, 2.4 %, derived from its "
        "formulation, J. Anim. Sci. Technol. 62:553; beef strip 5.3 % and dried beef 7.1 %, USDA SR28 19002 and "
        "13350. Sauces differ in salt by a tenth and more from make to make: estimate.) Do not taste the raw meat: "
        "taste the marinade before the meat goes in, and dry one slice first."
    )


def _remarks(marinated: Marinated, units: KitchenUnits) -> list[str]:
    recipe, bath, found = marinated.recipe, marinated.bath, []
    brine = bath.salt_kg / bath.water_kg if bath.water_kg > 0.0 else np.inf
    if bath.water_kg < LITTLE_LIQUID * recipe.weight_kg:
        found.append(
            "There is hardly any water in it: this is a dry rub. All of it goes in with the water it draws; how fast it "
            "dissolves is not counted."
        )
    elif brine > SALT_DISSOLVES:
        found.append(
            f"It holds more salt than its water dissolves ({SALT_DISSOLVES:g} kg/kg): the rest dissolves as the meat "
            "takes salt up, which is not counted."
        )
    if recipe.temperature_K > COLD_K + 0.01:
        found.append(
            f"At {units.degrees(recipe.temperature_K)} it is too warm: bacteria grow. Marinate at "
            f"{units.degrees(COLD_K)} or colder."
        )
    if recipe.gained_kg_kg is None:
        low, high = (100.0 * share for share in WATER_GAIN_RANGE)
        found.append(
            f"Water gained, {1e3 * marinated.chosen.water:.0f} g/kg, is an estimate ({low:.0f} to {high:.0f} % overnight in "
            "weak brine; pork gained none in brine of 200 g/L and lost water above, read): weigh the drained "
            "meat and say 'gained'."
        )
    if bath.acid_kg > 0.0:
        found.append(
            f"Acid, {1e3 * marinated.chosen.acid:.1f} g/kg in the meat, is for information: how sour it tastes and how "
            "far the pH falls depends on the meat's buffering. It is given no credit for safety."
        )
    return found


def _nitrite(check: NitriteCheck) -> str:
    def ppm(share: float) -> str:
        return f"{1e6 * share:.0f} ppm"

    judged = {
        "within": "so it is within it.",
        "above": "so it is ABOVE it: do not use this recipe.",
        "unclear": "so it keeps to it only if part of the nitrite stays in the liquid, which nothing here shows: treat it "
        "as ABOVE the limit and use less.",
    }[check.verdict]
    home = "within that" if check.within_home_limit else "not shown to be within that"
    return (
        f"Nitrite: {ppm(check.all_in)} of the raw (green) weight if all of it goes in, {ppm(check.equalised)} if it is "
        f"shared evenly; the limit is {ppm(check.limit)} for {check.method} ({check.rule}), {judged} For home curing 21 "
        f"CFR 172.170 allows {ppm(HOME_LIMIT)} in the finished meat: dried, it would be {ppm(check.finished)} if none were "
        f"used up, {home}. The first limit was read second hand, in a summary of the inspectors' handbook. Check both, "
        "weigh curing salt to a tenth of a gram, and never guess."
    )


def _for_the_batch(marinated: Marinated) -> str:
    one = marinated.chosen
    return (
        f'In the batch file: [marinade] with salt = "{1e3 * one.salt:.1f} g/kg", sugar = "{1e3 * one.sugar:.1f} g/kg", '
        f'water = "{1e3 * one.water:.0f} g/kg".'
    )


def marinade_data(marinated: Marinated) -> dict[str, Any]:
    """Return the answer in SI, for other programs."""
    recipe = marinated.recipe
    nitrite = marinated.nitrite
    return {
        "title": recipe.title,
        "meat": {"weight_kg": recipe.weight_kg, "thickness_m": recipe.thickness_m, "form": recipe.form},
        "temperature_K": recipe.temperature_K,
        "ingredients": [
            {"name": one.ingredient.name, "weight_kg": one.weight_kg, "source": one.ingredient.source}
            for one in recipe.portions
        ],
        "bath": asdict(marinated.bath),
        "water_of_bath_over_meat": marinated.alpha,
        "solutes": [asdict(one) for one in (SALT, SUGAR, ACID)],
        "chosen": asdict(marinated.chosen),
        "final": asdict(marinated.final),
        "dried": asdict(marinated.dried),
        "compared": [asdict(one) | {"dried": asdict(dried)} for one, dried in marinated.compared],
        "profile": [
            {"depth_over_thickness": depth, "salt_kg_kg": salt, "sugar_kg_kg": sugar}
            for depth, salt, sugar in marinated.profile
        ],
        "nitrite": asdict(nitrite)
        | {"verdict": nitrite.verdict, "within_home_limit": nitrite.within_home_limit}
        if nitrite
        else None,
        "remarks": _remarks(marinated, KitchenUnits("metric")),
        "caution": _MARINADE_CAUTION.format(cold="4 °C"),
    }


# --- laying out ----------------------------------------------------------------------------------------------------


def loading_text(loading: Loading, system: str, appliance: str | None = None) -> str:
    """Return the answer for laying out slices, in sentences."""
    units = KitchenUnits(system)
    size, told = loading.slices, units.length.text
    area = f"{loading.area_m2 / 0.3048**2:.1f} ft2" if system == "us" else f"{1e4 * loading.area_m2:.0f} cm2"
    said = [
        f"{units.weight(size.weight_kg)} of raw meat makes {loading.count} slices of {told(size.length_m)} by "
        f"{told(size.width_m)}, {told(size.thickness_m)} thick, {units.weight(loading.slice_kg)} each; one face of "
        f"them all is {area}."
    ]
    if loading.layout is not None:
        said.append(_trays(loading.layout, loading.count, appliance))
    low, high = loading.drip_range_kg
    said.append(
        f"Some {units.weight(loading.drip_kg)} ({units.weight(low)} to {units.weight(high)}; estimate) drips off in the "
        "first hour: put a pan or a sheet below, let a marinade drain before, and wash whatever the drip touched."
    )
    return paragraphs(said)


def _trays(layout: Layout, count: int, appliance: str | None) -> str:
    turned = ", their length across it" if layout.turned else ""
    text = (
        f"A tray takes {layout.per_tray} of them, {layout.rows} by {layout.across}{turned}, and is then "
        f"{100.0 * layout.cover:.0f} % covered. {count} slices take {_counted(layout.trays, 'tray')}"
    )
    if layout.trays > 1 and layout.last_tray < layout.per_tray:
        text += f", the last with {layout.last_tray}"
    if layout.by_area != layout.trays:
        text += f"; fitted in by eye it may be {_counted(layout.by_area, 'tray')} (estimate: 80 % covered)"
    text += "."
    if layout.loads is not None and appliance is not None:
        text += (
            f" That is one load of the {appliance}."
            if layout.loads == 1
            else f" That is {layout.loads} loads of the {appliance}, one after the other: keep the rest cold."
        )
    return text


def _counted(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def loading_data(loading: Loading, appliance: str | None = None) -> dict[str, Any]:
    """Return the answer in SI, for other programs."""
    data = asdict(loading)
    del data["slices"]["composition"]
    return {"appliance": appliance, **data}
