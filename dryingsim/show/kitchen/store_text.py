"""What becomes of the dried meat, in words: how it bends, what it yields and costs, how it keeps in a package."""

from dataclasses import asdict
from typing import Any

from dryingsim.batch.catalog import growth_limits, packages
from dryingsim.judge.grades import Lethality
from dryingsim.kitchen.packed_meat import HORIZON_DAYS
from dryingsim.kitchen.storage import MOST_GEL_KG, GelNeed, Keeping, Storage, When
from dryingsim.properties.packaging import GEL_SPREAD
from dryingsim.show.core.document import Document, Spare, labelled, picked, screen
from dryingsim.show.core.quantities import KitchenUnits, Units, capital, spoken
from dryingsim.show.core.tables import Column, Table
from dryingsim.show.kitchen.storage_words import (
    PLACES,
    growing_in_wettest,
    in_short,
    long_days,
    measured,
    not_dried,
    since,
)
from dryingsim.show.lethality.brief import kept_verdict
from dryingsim.show.lethality.federal_text import check_values
from dryingsim.show.lethality.finding_words import sentence
from dryingsim.show.lethality.text import verdict_line

STORE_CAUTION = (
    "This is a computed estimate: no measurement of your meat, no validated shelf life. It knows only limits of "
    "growth; it does not know what is alive on the meat or was brought on in packing. Drying by itself does not "
    "make meat free of bacteria: heat it as your local food-safety authority says. If it smells off, is sticky or "
    "shows mould, throw all of it away. To sell it, have its water activity measured and the process reviewed."
)
_BRIEF_CAUTION = "Estimates from limits of growth, no measured shelf life. If it smells off, is sticky or mouldy, throw it away."
_FIRST = "The times tell when it spoils, not that it may be eaten."
_ANSWERS = {"ROOM": "Room", "FRIDGE": "Refrigerator", "FREEZER": "Freezer"}
_DAYS = (0.0, 1.0, 7.0, 14.0, 30.0, 60.0, 90.0, 180.0, 365.0)


def store_document(
    storage: Storage,
    title: str,
    system: str,
    lethality: Lethality | None = None,
    units: Units | None = None,
    assumed: str = "",
    dry_at: float = 0.85,
) -> Document:
    """Return what is told of dried meat in a package.

    `lethality` is what the drying before did to bacteria, told in `units`; `assumed` what was assumed of the meat, as
    nothing was said of it; meat counts as dry at a water activity of `dry_at` or below.
    """
    shown, grade = KitchenUnits(system), None if lethality is None else lethality.grade
    not_dry = not_dried(storage, dry_at)
    said = in_short(storage, grade, shown.mass, not_dry)
    judged, before, checked = list[str](), list[str](), dict[str, Any](warnings=[])
    if lethality is not None and units is not None:
        judged = kept_verdict(lethality, units)
        before = [
            "What the drying did to bacteria, before the meat is stored:",
            verdict_line(lethality, units),
        ]
        checked = {"warnings": [sentence(one) for one in lethality.warnings], **check_values(lethality)}
    packing = storage.packing
    gel = f"with {shown.mass.text(packing.gel_kg)} of silica gel" if packing.gel_kg else "no silica gel"
    return screen(
        f"{title}: {shown.mass.text(storage.product.weight_kg)} in a {packing.package.title.partition(' of ')[0]}, {gel}",
        labelled(
            {
                "SAFETY": [
                    *filter(None, [not_dry]),
                    *judged,
                    *([] if grade == "met" else [_FIRST]),
                ],
                "MEAT": [Spare(assumed)] if assumed else [],
                **{label: [capital(said[head])] for label, head in _ANSWERS.items()},
                "GEL": _gel(storage.gel, storage, shown)
                if storage.gel
                else [Spare(capital(said["Silica gel"]))],
            }
        ),
        {
            "the package": [
                *before,
                *(f"{head}: {text}" for head, text in said.items()),
                *_state(storage, shown),
            ],
            "water activity inside": [_course_table(storage, shown)],
            "what may grow": [
                _growth_table(storage),
                *(_place(one, storage, shown) for one in storage.keepings),
            ],
            "fat": [_fat(storage)],
        },
        lambda: {
            **storage_values(storage, title),
            "dry": not not_dry,
            "grade": grade,
            **checked,
        },
        (_BRIEF_CAUTION, STORE_CAUTION),
    )


def _state(storage: Storage, shown: KitchenUnits) -> list[str]:
    product, room = storage.product, storage.keepings[0]
    text = (
        f"It lies in a {storage.packing.package.title}. Evened out, the meat stands at a water activity of "
        f"{storage.packed:.2f}, known to ±{product.error:.2f}."
    )
    if product.wettest - product.driest > 0.005:
        text += f" As they come off the trays, slices stand between {product.driest:.2f} and {product.wettest:.2f}."
    if storage.packing.gel_kg and room.expected is not None:
        text += (
            f" With the gel everything evens out at {room.expected.start:.2f} (grades of gel differ by "
            f"±{100.0 * GEL_SPREAD:.0f} %)."
        )
    lines = [text]
    if storage.within_s is not None and storage.between_s is not None:
        lines.append(
            f"At {shown.temperature.text(storage.packing.room_K)} a slice evens out within itself in about "
            f"{_long(storage.within_s)}, the slices among each other in about {_long(storage.between_s)}. "
            "Until then the wettest stay wetter than the table says; turn the closed package over now and then."
        )
    risky = [one.organism.name for one in growing_in_wettest(storage) if one.when.cautious != 0.0]
    if risky:  # until they have evened out; else it is said of all the meat
        lines.append(
            f"In the wettest slices {' and '.join(risky)} may grow until then, by the cautious figures: let them even "
            "out in the refrigerator, which takes longer, or dry those further."
        )
    return lines


def _course_table(storage: Storage, shown: KitchenUnits) -> Table:
    columns = [Column(("", "after", "days"), [f"{day:.0f}" for day in _DAYS])]
    for one in storage.keepings:
        if one.expected is not None:
            activity = [f"{float(one.expected.at(day)):.2f}" for day in _DAYS]
            columns.append(Column((one.place, shown.temperature.text(one.temperature_K), "a_w"), activity))
    fridge, room = storage.keepings[1], storage.keepings[0]
    note = (
        f"Water activity inside, as computed, with {100.0 * room.humidity:.0f} % relative humidity outside in the "
        f"room and {100.0 * fridge.humidity:.0f} % (estimate) in the refrigerator."
    )
    return Table(columns, [note])


def _growth_table(storage: Storage) -> Table:
    room = storage.keepings[0]
    names = [*(one.organism.name for one in room.growth), "mould that can be seen", "meat that breaks"]
    starts = [*(one.organism.water_activity for one in room.growth), None, growth_limits.texture().brittle]
    width = max(map(len, names))
    limits = ["-" if start is None else f"{start:.2f}" for start in starts]
    whens = [*(one.when for one in room.growth), room.mould, room.brittle]
    cold = sorted(one.organism.name for one in room.growth if one.too_cold)
    columns = [
        Column(("in the room", "", ""), [name.ljust(width) for name in names]),
        Column(("", "from", "a_w"), limits),
        Column(("may begin after", "expected", "days"), [_when(w.expected) for w in whens]),
        Column(("", "cautious", "days"), [_when(w.cautious) for w in whens]),
    ]
    notes = [
        f"- is not within {HORIZON_DAYS:.0f} days. Cautious: water activity off by {storage.product.error:.2f} the wrong way, "
        "package and gel at the worse end of their ranges. Limits are the lowest published for growth; below them "
        "bacteria do not grow, but they may live on.",
    ]
    if cold:
        notes.append(f"Too cold here for: {', '.join(cold)}.")
    return Table(columns, notes)


def _when(days: float | None) -> str:
    return "-" if days is None else "at once" if days < 0.5 else f"{days:.0f}"


def _place(one: Keeping, storage: Storage, shown: KitchenUnits) -> str:
    """Tell how long the meat keeps in a place, and apart from that when it gets hard to eat."""
    brittle = one.brittle.cautious
    if one.place == "freezer" or brittle is None or brittle > one.days:
        return _keeping(one, shown)
    gel = "; less silica gel, or none, keeps it softer" if storage.packing.gel_kg > 0.0 else ""
    return f"{_keeping(one, shown)} It may be brittle {since(brittle)}, which spoils the bite, not the meat{gel}."


def _keeping(one: Keeping, shown: KitchenUnits) -> str:
    where = f"{PLACES[one.place]} ({shown.temperature.text(one.temperature_K)})"
    advice = f"{one.advice.text} ({one.advice.source})"
    if one.place == "freezer":
        return f"{where}: nothing grows; the advice is {advice}."
    if one.decided_by == "advice":
        computed = f"nothing is computed to happen within {HORIZON_DAYS:.0f} days"
        if one.first_days is not None:
            computed = f"the computed figure is longer ({long_days(one.first_days)}: {one.first})"
        return f"{where}: by advice, {advice}; {computed}."
    if one.days < 0.5:
        return (
            f"{where}: do not keep it there. By the cautious figures {one.first} from the beginning; the advice "
            f"of {advice} is for meat that is dry enough."
        )
    return (
        f"{where}: at most {long_days(one.days)}, by the computed figure ({one.first}), which is shorter than the "
        f"advice: {advice}."
    )


def _gel(need: GelNeed, storage: Storage, shown: KitchenUnits) -> list[str]:
    """Return how much gel keeps the meat as long as was asked, and what it does to it."""
    wanted, breaks, brittle = f"For {need.days:.0f} days in the room", need.brittle_kg, list[str]()
    if breaks is not None:
        brittle = [f"From about {measured(breaks, shown.mass)} on the meat itself breaks."]
    if need.gel_kg is None:
        most = shown.mass.text(MOST_GEL_KG)
        none = f"{wanted}: no amount of silica gel up to {most} will do. Dry the meat further."
        return [none, *map(Spare, brittle)]
    holds = Spare("That is by the cautious figures; the advice above still holds.")
    if need.gel_kg == 0.0:
        return [f"{wanted}: the meat needs no silica gel.", holds, *map(Spare, brittle)]
    much = need.gel_kg > 0.1 * storage.product.weight_kg
    further = [Spare("That is much: drying the meat further is the better way.")] if much else []
    amount = f"{wanted}: {measured(need.gel_kg, shown.mass)} of fresh silica gel."
    return [amount, *brittle, holds, *further, Spare("Keep gel in its bag, away from the food.")]


def _fat(storage: Storage) -> str:
    note, share = growth_limits.fat_note(), storage.product.fat_share
    low, high = note.lowest_water_activity
    much = " (much)" if share >= note.much else ""
    side = "above" if storage.packed > high else "below" if storage.packed < low else "within"
    return (
        f"Fat is {100.0 * share:.0f} % of the dried weight{much}, and turns rancid in air and light whatever the "
        f"figures above say; slowest at a water activity of {low:g} to {high:g}, and this meat is {side} that. "
        "Keep it dark, cool and with little air. It is not computed, for no rate in dried meat was found (Nelson & "
        "Labuza 1992; the figures from memory)."
    )


def _long(seconds: float) -> str:
    return spoken(seconds) if seconds < 7200.0 else long_days(seconds / 86400.0)


def storage_values(storage: Storage, title: str) -> dict[str, Any]:
    """Return the answers as plain values in SI, days where the name says so, null for what does not happen.

    Keys
    ----
    meat, caution : title, and what the numbers are not.
    weight_kg, moisture_db, water_activity, uncertainty, fat_share : of the meat as packed.
    evens_out_within_s, evens_out_between_s : null without a thickness.
    package : its name, wall area and silica gel, with the sources of its numbers.
    places : room, fridge, freezer, each with the course, who may grow when, and which figure decides.
    gel_advised : the least that keeps it in the room for as long as advice does, and from where the meat itself breaks.
    dried_on_kg : what the meat would weigh if dried on until it keeps in the room so long; null where it does, or never would.
    gel : likewise for a number of days; null if not asked for.

    `store_document` adds `dry` and `grade`.
    """
    product, packing = storage.product, storage.packing
    return {
        "meat": title,
        "caution": STORE_CAUTION,
        "weight_kg": product.weight_kg,
        "moisture_db": product.moisture_db,
        "water_activity": storage.packed,
        "uncertainty": product.error,
        "fat_share": product.fat_share,
        "evens_out_within_s": storage.within_s,
        "evens_out_between_s": storage.between_s,
        "package": {
            "name": packing.package.name,
            "wall_m2": packing.area_m2,
            "gel_kg": packing.gel_kg,
            "source": f"{packing.package.source}. {packages.source()}",
        },
        "places": [_place_values(one) for one in storage.keepings],
        "gel_advised": _need_values(storage.gel_advised),
        "dried_on_kg": storage.dried_on_kg,
        "gel": None if storage.gel is None else _need_values(storage.gel),
    }


def _need_values(need: GelNeed) -> dict[str, Any]:
    return {"days": need.days, "gel_kg": need.gel_kg, "meat_breaks_from_kg": need.brittle_kg}


def _place_values(one: Keeping) -> dict[str, Any]:
    course = one.expected
    return {
        "place": one.place,
        "temperature_K": one.temperature_K,
        "relative_humidity": None if course is None else one.humidity,
        "course": course and [{"days": day, "water_activity": float(course.at(day))} for day in _DAYS],
        "may_grow": [
            {
                **picked(row.organism, "name", "group"),
                "from_water_activity": row.organism.water_activity,
                "too_cold": row.too_cold,
                **_when_values(row.when),
                "source": row.organism.source,
            }
            for row in one.growth
        ],
        "visible_mould": _when_values(one.mould),
        "brittle": _when_values(one.brittle),
        "computed": {"days": one.first_days, "because": one.first or None},
        "advice": asdict(one.advice),
        "days": one.days,
        "decided_by": one.decided_by,
    }


def _when_values(when: When) -> dict[str, float | None]:
    return {"expected_days": when.expected, "cautious_days": when.cautious}
