"""The class's batch and what is known of it: its recipe, how long it keeps, what others measured."""

from collections.abc import Mapping, Sequence
from typing import Any

from dryingsim.batch.catalog.packages import find_package
from dryingsim.batch.reading.batch_file import load_batch, parse_document
from dryingsim.batch.schema import Batch
from dryingsim.batch.shared_file import shared_rows, shipped_file
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.history import History
from dryingsim.kitchen.packed_meat import Packing, product_of
from dryingsim.kitchen.storage import keep
from dryingsim.model.build import recipe_of
from dryingsim.properties.packaging import GEL_FRESH
from dryingsim.properties.water_activity import Recipe

_SLICES = {
    "cut": "beef eye of round",
    "thickness": "5 mm",
    "length": "120 mm",
    "width": "50 mm",
    "weight": "0.7 kg",
}
_SALT, _SUGAR, _ROOM_HUMIDITY = "15 g/kg", "12 g/kg", "45 %"


def lab_batch(
    *,
    air: str = "68 degC",
    speed: str = "1 m/s",
    duration: str = "6 h",
    wet_bulb: str | None = None,
    until: Mapping[str, Any] | None = None,
    thickness: str | Sequence[str] = "5 mm",
    salt: str = _SALT,
    sugar: str = _SUGAR,
    room_humidity: str = _ROOM_HUMIDITY,
    altitude: str | None = None,
    support: str = "mesh",
    **more: str,
) -> Batch:
    """Return the class's batch: 0.7 kg of eye of round in slices, in given air; any quantity may be changed.

    Keywords that are not listed are keys of the table [meat] of a batch file, such as `width` or `form`.

    Parameters
    ----------
    air, speed, duration : str
        Of the one stage: temperature, speed of the air along the slices, time.
    wet_bulb : str, optional
        Held in the air; without it, the air is that of the room, heated.
    until : mapping, optional
        Ends the stage earlier, such as {"water_activity": 0.85}.
    thickness : str or sequence of str
        Several: as many slices of each.
    salt : str
        In the raw meat.
    sugar : str
        Likewise.
    room_humidity : str
        Of a room at 21 degC.
    altitude : str, optional
        Above sea level.
    support : str
        What slices lie on: "mesh" or "sheet".

    Returns
    -------
    Batch

    Examples
    --------
    >>> lab_batch(air="60 degC").stages[0].duration_s / 3600
    6.0
    """
    stage: dict[str, Any] = {"air": air, "speed": speed, "duration": duration}
    if wet_bulb is not None:
        stage["humidity"] = {"wet_bulb": wet_bulb}
    if until is not None:
        stage["until"] = dict(until)
    return lab_schedule(
        [stage],
        thickness=thickness,
        salt=salt,
        sugar=sugar,
        room_humidity=room_humidity,
        altitude=altitude,
        support=support,
        **more,
    )


def lab_schedule(
    stages: Sequence[Mapping[str, Any]],
    *,
    thickness: str | Sequence[str] = "5 mm",
    salt: str = _SALT,
    sugar: str = _SUGAR,
    room_humidity: str = _ROOM_HUMIDITY,
    altitude: str | None = None,
    support: str = "mesh",
    **more: str,
) -> Batch:
    """Return the class's batch dried in several stages.

    Parameters
    ----------
    stages : sequence of mapping
        Each with the keys of a table [[stage]] of a batch file, such as {"air": "68 degC", "speed": "1 m/s", "duration": "5 h"}.
    thickness, salt, sugar, room_humidity, altitude, support
        And other keywords, as for `lab_batch`.

    Returns
    -------
    Batch
    """
    room = {"temperature": "21 degC", "humidity": room_humidity}
    if altitude is not None:
        room["altitude"] = altitude
    thicknesses: Any = thickness
    if not isinstance(thickness, str):
        share = f"{100 / len(thickness)!r} %"
        thicknesses = [{"value": value, "share": share} for value in thickness]
    document: dict[str, Any] = {
        "title": "the class's batch",
        "meat": {**_SLICES, "thickness": thicknesses, **more},
        "room": room,
        "trays": {"support": support},
        "marinade": {"salt": salt, "sugar": sugar},
        "stage": [{"name": f"stage {i}", **stage} for i, stage in enumerate(stages, start=1)],
    }
    return parse_document(document, "the class's batch")


def example_batch(name: str) -> Batch:
    """Return an example batch of the project.

    Parameters
    ----------
    name : str
        Of a file in `examples/`, without its ending.

    Returns
    -------
    Batch

    Examples
    --------
    >>> example_batch("oven_door_ajar").name
    'Oven, door ajar'
    """
    return load_batch(shipped_file(f"examples/{name}.toml"))


def recipe_in(batch: Batch) -> Recipe:
    """Return what holds the water in the meat of a batch, per kg of dry solid.

    Parameters
    ----------
    batch : Batch

    Returns
    -------
    Recipe
        Its `protein`, `salt` and so on [kg/kg dry solid].

    Examples
    --------
    >>> round(recipe_in(lab_batch(salt="0 g/kg", sugar="0 g/kg")).protein, 2)
    0.85
    """
    return recipe_of(batch)[0]


def keeping_days(history: History, package: str = "zip bag") -> dict[str, tuple[float, str]]:
    """Return how many days the dried meat keeps in a package, and what comes first, by the place where it stands.

    Parameters
    ----------
    history : History
        At its end the meat is packed; the room has 21 degC and 50 %.
    package : str
        As `dryingsim list packages` names it.

    Returns
    -------
    dict
        Days and reason, such as {"room": (7.0, "mould may show")}.
    """
    chosen = find_package("package", package)
    width, height = chosen.size_m or (0.0, 0.0)
    packing = Packing(
        package=chosen,
        area_m2=2.0 * width * height,
        gel_kg=0.0,
        gel_water=GEL_FRESH,
        room_K=21.0 + ZERO_CELSIUS,
        room_humidity=0.5,
    )
    kept = keep(product_of(history), packing).keepings
    return {keeping.place: (keeping.days, keeping.first) for keeping in kept}


def shared_table(name: str) -> list[dict[str, str]]:
    """Return the rows of a reference file of the project, as text by column.

    Parameters
    ----------
    name : str
        Of a file in `shared/`, without its ending.

    Returns
    -------
    list of dict
        A dict for each row; its values are text, so `float(row["molality"])` is a number.

    Examples
    --------
    >>> shared_table("sodium_chloride")[0]["molality"]
    '0.05'
    """
    return [dict(row) for row in shared_rows(name)[1]]


def counted_reductions(air_C: float) -> list[tuple[str, float, float]]:
    """Return what laboratories counted of E. coli O157:H7 on slices of whole beef dried 10 h in air of one temperature.

    Those that were heated or treated with acid before, or heated after, are left out.

    Parameters
    ----------
    air_C : float
        60, 62.5 or 68.3 [degC].

    Returns
    -------
    list of (str, float, float)
        A tuple for each count: the name of the study, and the lowest and the highest log10 reduction of it.

    Examples
    --------
    >>> len(counted_reductions(60.0)) > 1
    True
    """
    counted = []
    for row in shared_table("lethality_challenge_studies"):
        before = row["pretreatment"]
        treated = ("heated" in before and "not heated" not in before) or any(
            word in before for word in ("acetic", "polysorbate", "lactate")
        )
        kind = (row["product_form"], row["pathogen"], row["post_dry_heat"], row["time_h"])
        of_kind = kind == ("whole_muscle", "E. coli O157:H7", "none", "10") and not treated
        numbers = row["log_reduction_low"], row["log_reduction_high"]
        if of_kind and all(numbers) and row["air_C"] == f"{air_C:g}":
            counted.append((row["study"], float(numbers[0]), float(numbers[1])))
    return counted
