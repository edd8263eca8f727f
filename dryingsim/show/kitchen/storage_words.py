"""What to do with dried meat so that it keeps, in plain words: where to put it, what goes wrong first, whether gel helps."""

from dryingsim.batch.reading.ingredients import TABLESPOON_M3
from dryingsim.judge.grades import Grade
from dryingsim.judge.taking_off import SAME_ACTIVITY
from dryingsim.kitchen.storage import Growth, Keeping, Storage
from dryingsim.properties.packaging import GEL_BULK_DENSITY
from dryingsim.show.core.quantities import Unit, capital

_DRY_FOR_NO_AIR = (
    0.85  # federal rule for shelf-stable meat in a package with air; with none 0.91 is allowed: not used here
)
PLACES = {"room": "Room", "fridge": "Refrigerator", "freezer": "Freezer"}
_NOT_SHOWN = (
    "it is not shown that drying reduced bacteria enough, and no way of keeping makes up for that. The times "
    "below only tell when the meat spoils, not that it may be eaten."
)
_NOT_KNOWN = (
    "nothing here tells whether bacteria were reduced enough. The times below only count for meat that was heated "
    "enough, as a run of its batch file judges."
)


def not_dried(storage: Storage, dry_at: float) -> str:
    """Return what is said of meat whose wettest slices are not dry; nothing of dried meat.

    Dry is a water activity of `dry_at` or below.
    """
    wettest = storage.product.wettest
    if wettest <= dry_at + SAME_ACTIVITY:
        return ""
    digits = 3 if f"{wettest:.2f}" == f"{dry_at:.2f}" else 2
    return (
        f"NOT DRY: raw or half-dried meat, not dried meat (water activity {wettest:.{digits}f}, {dry_at:.2f} required). Dry it "
        "on, or keep it as you keep raw meat."
    )


def in_short(storage: Storage, grade: Grade | None, weight: Unit, not_dry: str = "") -> dict[str, str]:
    """Return what to do, in a sentence or two each, by place and by what goes into the package.

    `grade` is that of the log reduction by drying, None where nobody knows how the meat was dried; `not_dry` as `not_dried`
    says it.
    """
    mind = "" if grade == "met" else _NOT_KNOWN if grade is None else _NOT_SHOWN
    if not_dry:
        mind = f"{not_dry} {capital(mind)}".rstrip()
    first = {"First of all": mind} if mind else {}
    places = {PLACES[keeping.place]: _place(keeping) for keeping in storage.keepings}
    if not_dry:
        places[PLACES["fridge"]] = "as raw meat, some days at most."
        places[PLACES["freezer"]] = "as raw meat. Nothing grows there."
    if storage.dried_on_kg is not None:
        room = storage.keepings[0]
        to, now = (weight.text(kg) for kg in (storage.dried_on_kg, storage.product.weight_kg))
        further = f"to {to}" if to != now else "a little"  # less than is printed
        drier = f"Dried on {further} it keeps {long_days(room.advice.days)} there."
        places[PLACES["room"]] += f" {drier}"
    return {**first, **places, "Oxygen absorber": _oxygen(storage), "Silica gel": _gel(storage, weight)}


def _oxygen(storage: Storage) -> str:
    """Say what an oxygen absorber would do in this package, and whether the meat is dry enough for one."""
    if not storage.packing.package.oxygen_tight:
        return (
            "no use here, this bag lets oxygen in. It takes a jar or a sealed vacuum, metallised or foil "
            "pouch."
        )
    if max(storage.packed, storage.product.wettest) + storage.product.error > _DRY_FOR_NO_AIR:
        return (
            "leave it out. Meat that is not surely at or below a water activity of "
            f"{_DRY_FOR_NO_AIR:.2f} may without oxygen grow bacteria that make toxins: dry it further, or freeze it."
        )
    return (
        "one that is made for this volume keeps mould and rancid fat away while the seal holds, and stops no "
        "bacteria. The times here do not count on it."
    )


def _place(keeping: Keeping) -> str:
    """Say how long the meat keeps in one place, and what is the worst that happens there."""
    brittle = keeping.brittle.cautious
    if keeping.days < 0.5:
        return f"do not keep it there: {keeping.first} at once."
    time = f"up to {long_days(keeping.days)}."
    if keeping.place == "freezer":
        return f"{time} Nothing grows there."
    if brittle is not None and brittle < keeping.days:
        return f"{time} It may be brittle {since(brittle)}: that is the bite, not spoilage."
    if keeping.decided_by == "computed":
        return f"{time} Then {keeping.first}."
    later = "" if keeping.first_days is None else f" ({keeping.first} after {long_days(keeping.first_days)})"
    return f"{time} Neither growth, mould nor brittleness is computed to come sooner{later}."


def _gel(storage: Storage, weight: Unit) -> str:
    """Say what the gel that is in does, and whether to put in some."""
    packet, advice = _packet(storage, weight), _gel_advised(storage, weight)
    return f"{packet}{capital(advice) if packet else advice}"


def _packet(storage: Storage, weight: Unit) -> str:
    """Say how much longer the meat keeps in the room by the gel that is in; nothing where there is none."""
    gel_kg, days, bare = storage.packing.gel_kg, storage.keepings[0].days, storage.room_without_gel.days
    if not gel_kg:
        return ""
    if days < 0.5 or growing_in_wettest(storage):
        return f"your {weight.text(gel_kg)} is not enough to keep it in the room. "
    longer = days - bare
    adds = f"adds {long_days(longer)} in the room" if longer >= 0.5 else "adds nothing in the room"
    return f"your {weight.text(gel_kg)} {adds}: {long_days(days)} with it, {long_days(bare)} without. "


def _gel_advised(storage: Storage, weight: Unit) -> str:
    """Say whether to put in silica gel, and how much, for as long as advice gives meat in the room."""
    need, here = storage.gel_advised, storage.packing.gel_kg
    days = long_days(need.days)
    if growing_in_wettest(storage):
        cold = "freeze" if storage.keepings[1].days < 0.5 else "refrigerate or freeze"
        return (
            "no substitute for drying, it takes days: dry the wettest slices further, or "
            f"{cold} them at once."
        )
    if need.gel_kg is None:
        return f"none that fits makes it keep {days} in the room; refrigerate it, or dry it further."
    breaks = need.brittle_kg
    if breaks is not None and (need.gel_kg >= breaks or breaks == 0.0):
        if need.gel_kg == 0.0:
            return "leave it out. The meat is brittle as it is."
        return (
            f"leave it out. What would keep it {days} in the room makes it brittle; refrigerate it instead."
        )
    most = "" if breaks is None else measured(breaks, weight)
    if need.gel_kg == 0.0:
        much = f"; {most} and more would make it brittle" if most else ""
        return f"leave it out. The meat keeps {days} in the room without{much}."
    enough = " That is in already." if here >= need.gel_kg else ""
    limit = f", and less than {most}, which would make it brittle" if most else ""
    return f"put in {measured(need.gel_kg, weight)} to keep it {days} in the room{limit}.{enough}"


def growing_in_wettest(storage: Storage) -> list[Growth]:
    """Return what is harmful and may grow in the wettest slices as they are packed, in the room, by the cautious figures."""
    wettest = storage.product.wettest + storage.product.error
    return [
        growth
        for growth in storage.keepings[0].growth
        if growth.harmful and not growth.too_cold and wettest >= growth.organism.water_activity
    ]


def measured(gel_kg: float, weight: Unit) -> str:
    """Return an amount of silica gel by weight and in kitchen measures.

    Examples
    --------
    >>> measured(0.011, Unit("mass", "g"))
    '11 g (about 1 tablespoon)'
    """
    spoons = gel_kg / (GEL_BULK_DENSITY * TABLESPOON_M3)  # level tablespoons
    for size, name in ((16.0, "cup"), (1.0, "tablespoon"), (1.0 / 3.0, "teaspoon")):
        if spoons >= 0.75 * size:
            count = max(round(2.0 * spoons / size) / 2.0, 1.0)
            return f"{weight.text(gel_kg)} (about {count:g} {name}{'s' if count > 1.0 else ''})"
    return f"{weight.text(gel_kg)} (less than a teaspoon)"


def since(days: float) -> str:
    """Return from when on something happens, in words."""
    return "from the beginning" if days < 0.5 else f"after {long_days(days)}"


def long_days(days: float | None) -> str:
    """Return a time in words, roughly: "9 h", "3 days", "8 weeks", "14 months". None is never."""
    if days is None:
        return "never"
    for limit, size, name in ((2.0, 1.0 / 24.0, "h"), (30.0, 1.0, "days"), (120.0, 7.0, "weeks")):
        if days < limit:
            return f"{days / size:.0f} {name}"
    return f"{days / 30.4:.0f} months"
