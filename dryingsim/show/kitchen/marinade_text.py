"""A marinade, as text and as values."""

from dataclasses import asdict
from typing import Any

import numpy as np

from dryingsim.batch.catalog.ingredients import Ingredient, from_elsewhere
from dryingsim.judge.serving import Serving, serving_of
from dryingsim.kitchen.marinade import COLD_K, Dried, Marinated
from dryingsim.kitchen.nitrite import HOME_LIMIT, LITTLE_LIQUID, NitriteCheck
from dryingsim.properties.soaking import ACID, SALT, SALT_DISSOLVES, SUGAR, WATER_GAIN_RANGE
from dryingsim.show.core.document import Document, Spare, labelled, picked, screen
from dryingsim.show.core.quantities import KitchenUnits, clock, spoken
from dryingsim.show.core.tables import Column, Table
from dryingsim.show.kitchen.serving_words import serving_brief, serving_sentences, serving_values

_NO_SALTIER = " Longer makes it no saltier."
_WASHED = (
    "Heated in plain water, as the file says, the slices lose the salt and sugar that they take up here: 'dryingsim run' tells "
    "what they weigh, and hold, without. Heated in the marinade they keep them."
)
_JUDGED = {  # nitrite against its limit
    "within": "so it is within it.",
    "above": "so it is ABOVE it: do not use this recipe.",
    "unclear": "so it keeps to it only if part of the nitrite stays in the liquid, which nothing here shows: treat it "
    "as ABOVE the limit and use less.",
}
_MARINADE_CAUTION = (
    "No marinade makes meat safe: a day in one changed the counts of bacteria by -0.3 to +0.6 log (Albright 2002), and "
    "salt and acid are not counted here as reducing any. Keep it at {cold} or colder, and never use a marinade twice."
)


def marinade_document(marinated: Marinated, system: str) -> Document:
    """Return what is told of a marinade; `system` is "metric" or "us"."""
    units, dried = KitchenUnits(system), marinated.dried
    answers = {
        "SAFETY": soak_brief(marinated, system),
        "SOAK": [_soaked(marinated, units)],
        "DRIED": [_WASHED]
        if marinated.recipe.washed
        else [
            f"{100.0 * dried.weight:.0f} % of the raw weight, {_seasoned(dried)} sugar, at a water activity of "
            f"{dried.water_activity:g}. The weight to stop at is another: 'dryingsim run' tells it."
        ],
        "SERVING": [] if marinated.recipe.washed else [serving_brief(_serving(marinated))],
        "FILE": [] if marinated.recipe.of_batch else [_for_the_batch(marinated, units)],
    }
    cold = units.temperature.text(COLD_K)
    brief = f"No marinade makes up for heating. Keep it at {cold} or colder, and use it once."
    return screen(
        marinated.recipe.title,
        labelled(answers),
        {
            "what is in it": [_bath_table(marinated, units)],
            "over time": [_uptake_table(marinated, units)],
            "all answers": [
                _how_far(marinated, units),
                *_taste(marinated),
                *_remarks(marinated, units),
                *_nitrite(marinated.nitrite),
            ],
        },
        lambda: marinade_data(marinated),
        (brief, _MARINADE_CAUTION.format(cold=cold)),
    )


def _seasoned(dried: Dried, joint: str = ",") -> str:
    low, high = (100.0 * salt for salt in dried.salt_range)
    return f"{100.0 * dried.salt:.1f} % salt ({low:.1f} to {high:.1f} %){joint} {100.0 * dried.sugar:.1f} %"


def _uptake(marinated: Marinated, units: KitchenUnits) -> tuple[str, float, bool]:
    """Return the salt and the sugar that are taken up, the share of all the salt that can be, and whether that is about all."""
    one, final = marinated.chosen, marinated.final
    share = one.salt / final.salt if final.salt else 1.0
    salt, sugar = (f"{units.in_meat(part)} {units.mass.symbol}" for part in (one.salt, one.sugar))
    text = f"{salt} of salt and {sugar} of sugar per {units.bulk.symbol} of raw meat"
    return text, share, share > 0.97 and one.evenness > 0.9


def _soaked(marinated: Marinated, units: KitchenUnits) -> str:
    taken_up, share, full = _uptake(marinated, units)
    return (
        f"After {spoken(marinated.chosen.time_s)} {taken_up}, {100.0 * share:.0f} % of the salt it can take."
        f"{_NO_SALTIER if full else ''}"
    )


def _bath_table(marinated: Marinated, units: KitchenUnits) -> Table:
    portions, small = marinated.recipe.portions, units.mass
    digits = 1 if small.name == "g" else 2

    def column(heading: str, weights: list[float]) -> Column:
        told = [f"{small.value(kg):.{digits}f}" for kg in (*weights, sum(weights))]
        return Column(("", heading, small.symbol), told)

    weights = [one.weight_kg for one in portions]
    columns = [
        Column(("", "", "ingredient"), [*(one.ingredient.name for one in portions), "together"]),
        column("weight", weights),
    ]
    if small.name != "g":  # a kitchen scale tells a teaspoon of curing salt in grams
        columns.append(Column(("", "weight", "g"), [f"{1e3 * kg:.1f}" for kg in (*weights, sum(weights))]))
    columns += [
        column(part, [getattr(one.ingredient, part) * one.weight_kg for one in portions])
        for part in ("water", "salt", "sugar", "acid")
    ]
    notes = [_about(one.ingredient) for one in portions]
    return Table(columns, [*filter(None, notes)], {len(portions) - 1})


def _about(ingredient: Ingredient) -> str:
    """Tell what to know about an ingredient's figures: the note, and where they come from if not from the food table."""
    origin = from_elsewhere().get(ingredient.name, "") if ingredient.water < 1.0 else ""  # water is water
    said = "; ".join(text for text in (ingredient.note, origin and f"figures: {origin}") if text)
    return f"{ingredient.name}: {said}." if said else ""


def _uptake_table(marinated: Marinated, units: KitchenUnits) -> Table:
    rows, dried = zip(*marinated.compared, strict=True)

    def amounts(above: str, part: str) -> Column:
        return Column((above, "taken up", units.share), [units.in_meat(getattr(one, part)) for one in rows])

    def percents(above: str, part: str) -> Column:
        return Column((above, "when dry", "%"), [f"{100.0 * getattr(one, part):.1f}" for one in dried])

    ranges = ["-".join(map(units.in_meat, one.salt_range)) for one in rows]
    columns = [
        Column(("", "time", "h:min"), [clock(one.time_s) for one in rows]),
        amounts("salt", "salt"),
        Column(("", "range", units.share), ranges),
        amounts("sugar", "sugar"),
        amounts("acid", "acid"),
        Column(("", "even", "%"), [f"{100.0 * one.evenness:.0f}" for one in rows]),
        percents("salt", "salt"),
        percents("sugar", "sugar"),
    ]
    note = (
        f"Taken up per {units.bulk.symbol} of raw meat; range by how fast salt moves in meat and how it is shared between the "
        "waters. Even: salt in the middle over salt at the face. When dry: percent of the finished slices, at a water activity "
        f"of {marinated.recipe.water_activity:g}."
    )
    return Table(columns, [note])


def _how_far(marinated: Marinated, units: KitchenUnits) -> str:
    one, final = marinated.chosen, marinated.final
    taken_up, share, full = _uptake(marinated, units)
    sugar = one.sugar / final.sugar if final.sugar else 1.0
    hardly = " The middle is still hardly salted: the drying model takes the salt as spread evenly."
    return (
        f"After {spoken(one.time_s)} the meat holds {taken_up}, {100.0 * share:.0f} % and {100.0 * sugar:.0f} % of what it takes "
        f"up in the end. From face to middle the salt runs {', '.join(units.in_meat(salt) for _, salt, _ in marinated.profile)} "
        f"{units.share}.{_NO_SALTIER if full else hardly if one.evenness < 0.5 else ''}"
    )


def _taste(marinated: Marinated) -> list[str]:
    dried = marinated.dried
    return [
        *([_WASHED] if marinated.recipe.washed else []),
        f"Dried to a water activity of {dried.water_activity:g} it weighs {100.0 * dried.weight:.0f} % of the raw meat and "
        f"is {dried.stronger:.1f} times as salty as when it goes on the trays: {_seasoned(dried, ' and')} sugar.",
        *serving_sentences(_serving(marinated)),
        "Do not taste the raw meat: taste the marinade before the meat goes in, and dry one slice first.",
    ]


def _serving(marinated: Marinated) -> Serving:
    return serving_of(marinated.recipe.composition, marinated.marinade, marinated.dried.weight)


def _remarks(marinated: Marinated, units: KitchenUnits) -> list[str]:
    recipe, bath, one, found = marinated.recipe, marinated.bath, marinated.chosen, list[str]()
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
    found += _too_warm(marinated, units)
    if recipe.gained_kg_kg is None:
        low, high = (100.0 * share for share in WATER_GAIN_RANGE)
        found.append(
            f"Water gained, {units.in_meat(one.water)} {units.share}, is an estimate ({low:.0f} to {high:.0f} % overnight in "
            "weak brine; pork gained none in brine of 200 g/L and lost water above, read): weigh the drained meat and say "
            "'gained'."
        )
    if bath.acid_kg > 0.0:
        found.append(
            f"Acid, {units.in_meat(one.acid)} {units.share} in the meat, is for information: how sour it tastes and how far the "
            "pH falls depends on the meat's buffering. It is given no credit for safety."
        )
    return found


def _too_warm(marinated: Marinated, units: KitchenUnits) -> list[str]:
    kelvin = marinated.recipe.temperature_K
    if kelvin <= COLD_K + 0.01:
        return []
    return [
        f"Marinade too warm, {units.degrees(kelvin)}: bacteria grow. Keep it at {units.degrees(COLD_K)} or colder."
    ]


def _ppm(share: float) -> str:
    return f"{1e6 * share:.0f} ppm"


def _nitrite(check: NitriteCheck | None) -> list[str]:
    if check is None:
        return []
    home = "within that" if check.within_home_limit else "not shown to be within that"
    return [
        f"Nitrite: {_ppm(check.all_in)} of the raw (green) weight if all of it goes in, {_ppm(check.equalised)} if it is "
        f"shared evenly; the limit is {_ppm(check.limit)} for {check.method} ({check.rule}), {_JUDGED[check.verdict]} For home "
        f"curing 21 CFR 172.170 allows {_ppm(HOME_LIMIT)} in the finished meat: dried, it would be {_ppm(check.finished)} if "
        f"none were used up, {home}. The first limit was read second hand, in a summary of the inspectors' handbook. Check "
        "both, weigh curing salt to a tenth of a gram, and never guess."
    ]


def soak_sentences(marinated: Marinated, system: str) -> list[str]:
    """Return what comes of a batch's own marinade, in words: what is taken up, what to mind, nitrite."""
    units, recipe, one = KitchenUnits(system), marinated.recipe, marinated.chosen
    salt, sugar, water = (
        f"{units.in_meat(part)} {units.mass.symbol}" for part in (one.salt, one.sugar, one.water)
    )
    return [
        f"Marinade, {spoken(recipe.time_s)} at {units.degrees(recipe.temperature_K)}: per {units.bulk.symbol} of raw meat the "
        f"slices take up {salt} of salt, {sugar} of sugar and {water} of water (the water is an estimate where it was not "
        "weighed). 'dryingsim marinate' with this file tells more.",
        *_too_warm(marinated, units),
        *_nitrite(marinated.nitrite),
    ]


def soak_brief(marinated: Marinated, system: str) -> list[str]:
    """Return in a line each what of a batch's own marinade bears on health."""
    return [*_too_warm(marinated, KitchenUnits(system)), *_nitrite_brief(marinated.nitrite)]


def _nitrite_brief(check: NitriteCheck | None) -> list[str]:
    if check is None:
        return []
    holds, limit = f"Nitrite {_ppm(check.all_in)}", _ppm(check.limit)
    if check.verdict == "above":
        return [f"{holds}, ABOVE the limit of {limit}: do not use this recipe."]
    if check.verdict == "unclear":
        return [f"{holds}: treat it as ABOVE the limit of {limit} and use less."]
    if check.within_home_limit:
        return [Spare(f"{holds} of the raw weight, within the limit of {limit}.")]
    return [
        f"{holds} of the raw weight, limit {limit}; dried up to {_ppm(check.finished)}, not shown to be within "
        f"{1e6 * HOME_LIMIT:.0f} for home curing."
    ]


def ingredients_line(marinated: Marinated, system: str, loads: int = 1) -> str:
    """Return what to pour together, by weight, and for how long, for a sheet: for all of as many such loads."""
    units, recipe = KitchenUnits(system), marinated.recipe
    weighed = ", ".join(
        f"{one.ingredient.name} {units.pinch(loads * one.weight_kg)}" for one in recipe.portions
    )
    whole = f" for all {loads} loads together" if loads > 1 else ""
    return f"Marinade{whole}: {weighed}. {spoken(recipe.time_s)} at {units.degrees(recipe.temperature_K)} or colder."


def _for_the_batch(marinated: Marinated, units: KitchenUnits) -> str:
    one = marinated.chosen
    salt, sugar, water = (
        f'"{units.in_meat(part)} {units.share}"' for part in (one.salt, one.sugar, one.water)
    )
    return (
        "In the batch file: the same ingredients under [marinade.ingredients], with time and temperature in [marinade], or "
        f"the three numbers: [marinade] with salt = {salt}, sugar = {sugar}, water = {water}."
    )


def marinade_data(marinated: Marinated) -> dict[str, Any]:
    """Return the answer in SI, for other programs."""
    recipe = marinated.recipe
    nitrite = marinated.nitrite
    return {
        "title": recipe.title,
        "meat": picked(recipe, "weight_kg", "thickness_m", "form"),
        "temperature_K": recipe.temperature_K,
        "ingredients": [
            {"name": one.ingredient.name, "weight_kg": one.weight_kg, "source": one.ingredient.source}
            for one in recipe.portions
        ],
        "bath": asdict(marinated.bath),
        "water_of_bath_over_meat": marinated.alpha,
        "solutes": [asdict(one) for one in (SALT, SUGAR, ACID)],
        **{name: asdict(getattr(marinated, name)) for name in ("chosen", "final", "dried")},
        "serving": serving_values(_serving(marinated)),
        "compared": [asdict(one) | {"dried": asdict(dried)} for one, dried in marinated.compared],
        "profile": [
            {"depth_over_thickness": depth, "salt_kg_kg": salt, "sugar_kg_kg": sugar}
            for depth, salt, sugar in marinated.profile
        ],
        "nitrite": nitrite and asdict(nitrite) | picked(nitrite, "verdict", "within_home_limit"),
        "remarks": _remarks(marinated, KitchenUnits("metric")),
        "caution": _MARINADE_CAUTION.format(cold="4 °C"),
    }
