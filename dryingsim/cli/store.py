"""`dryingsim store`: how dried meat keeps in a bag or a jar."""

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dryingsim.batch.checks import show
from dryingsim.batch.units import to_si_within
from dryingsim.cli.options import AsJson, Details, Units
from dryingsim.cli.shared import Screen, watched
from dryingsim.errors import InputError

if TYPE_CHECKING:
    from dryingsim.batch.schema import Room
    from dryingsim.history import History
    from dryingsim.kitchen.loads import Loads
    from dryingsim.kitchen.packed_meat import Packing, Product

_NONE = "0 g/kg"


def store(
    file: Annotated[
        Path | None,
        typer.Argument(metavar="BATCH.toml", help="What a batch leaves at its end; or give --weight."),
    ] = None,
    package: Annotated[
        str,
        typer.Option(
            metavar="NAME", help="zip bag, freezer bag, vacuum pouch, metallised pouch, foil pouch, jar."
        ),
    ] = "zip bag",
    size: Annotated[
        str | None, typer.Option(metavar="'W x H'", help='Of the bag laid flat: "18 cm x 20 cm".')
    ] = None,
    gel: Annotated[str, typer.Option(metavar="WEIGHT", help="Of fresh silica gel put in.")] = "0 g",
    days: Annotated[
        str | None, typer.Option("--for", metavar="TIME", help='How much gel that takes: "60 days".')
    ] = None,
    weight: Annotated[
        str | None, typer.Option(metavar="WEIGHT", help="Dried meat in the package; else all of the batch.")
    ] = None,
    water_activity: Annotated[
        float | None, typer.Option(metavar="NUMBER", help="Of the dried meat, without a batch.")
    ] = None,
    raw: Annotated[
        str | None, typer.Option(metavar="WEIGHT", help="It weighed raw, instead of --water-activity.")
    ] = None,
    cut: Annotated[
        str, typer.Option(metavar="NAME", help="Of the meat, without a batch.")
    ] = "beef eye of round",
    salt: Annotated[
        str, typer.Option(metavar="AMOUNT", help='Taken up, per weight of raw meat: "15 g/kg".')
    ] = _NONE,
    sugar: Annotated[str, typer.Option(metavar="AMOUNT", help="Likewise.")] = _NONE,
    thickness: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="Of the thickest slices when raw.")
    ] = None,
    room: Annotated[
        str | None, typer.Option(metavar="TEMP", help="Of the room; else the batch's, or 21 degC.")
    ] = None,
    room_humidity: Annotated[
        str | None, typer.Option(metavar="PERCENT", help="Of the room; else the batch's, or 50 %.")
    ] = None,
    units: Units = None,
    details: Details = False,
    as_json: AsJson = False,
) -> None:
    """Tell how dried meat keeps in a package: in the room, the refrigerator and the freezer.

    Give a batch file, or --weight with --water-activity or --raw.
    """
    # all that was typed is read before the batch is simulated
    packed_kg = _optional("--weight", weight, "mass", "1 g", "100 kg")
    wanted = _optional("--for", days, "duration", "1 day", "730 days")
    typed = (water_activity, raw, thickness)
    from dryingsim.batch.schema import Targets

    if file is None:
        product, surroundings = _typed(packed_kg, water_activity, raw, cut, salt, sugar, thickness), None
        packing = _packing(package, size, gel, room, room_humidity, surroundings)
        title, display, history, targets = "Dried meat", "metric", None, Targets()
        assumed = (
            ""
            if salt != _NONE
            else f"Taken as {cut} without salt: say --salt and --cut, or give its batch file."
        )
    else:
        from dryingsim.batch.reading.batch_file import load_batch
        from dryingsim.kitchen.loads import loads_of

        batch = load_batch(file)
        if any(one is not None for one in typed) or salt != _NONE or sugar != _NONE:
            raise InputError(
                f"{file} says what the meat is: leave out --water-activity, --raw, --salt, --sugar and --thickness"
            )
        packing = _packing(package, size, gel, room, room_humidity, batch.room)
        title, display, targets = batch.name, batch.display, batch.targets
        loads = loads_of(batch)
        product, history = _dried(loads, packed_kg)
        assumed = "" if loads.count == 1 or packed_kg is not None else f"All {loads.count} loads together."
    from dryingsim.judge.verdict import judge_batch_lethality, judge_taken_out
    from dryingsim.kitchen.storage import keep
    from dryingsim.show.core.quantities import Units
    from dryingsim.show.kitchen.store_text import store_document

    storage = keep(product, packing, None if wanted is None else wanted / 86400.0)
    early = None if history is None else judge_taken_out(history)
    judged = early[1] if early else None if history is None else judge_batch_lethality(history)
    shown = None if history is None else Units(history, units)
    Screen(as_json=as_json, details=details).show(
        store_document(storage, title, units or display, judged, shown, assumed, targets.water_activity)
    )


def _dried(loads: "Loads", packed_kg: float | None) -> "tuple[Product, History]":
    """Simulate a load; return the dried meat of all, or as much of it as goes into the package, and what happened."""
    from dataclasses import replace

    from dryingsim.judge.taking_off import taken_off
    from dryingsim.kitchen.packed_meat import product_of
    from dryingsim.simulate import run

    with watched(loads.one) as tick:
        history = run(loads.one, progress=tick)
    product = product_of(history, taken_off(history).moisture_db)
    if packed_kg is None:
        return replace(product, dry_mass_kg=loads.count * product.dry_mass_kg), history
    return replace(product, dry_mass_kg=packed_kg / (1.0 + product.moisture_db)), history


def _typed(
    packed_kg: float | None,
    activity: float | None,
    raw: str | None,
    cut: str,
    salt: str,
    sugar: str,
    thickness: str | None,
) -> "Product":
    """Return the meat as typed."""
    if packed_kg is None:
        raise InputError(
            "what is stored? Give a batch file, or --weight with --water-activity or --raw, for example "
            "--weight '270 g' --raw '700 g'"
        )
    if (activity is None) == (raw is None):
        raise InputError(
            "with --weight either --water-activity or --raw is needed, to tell how dry the meat is"
        )
    from dryingsim.batch.catalog.cuts import find_cut
    from dryingsim.batch.checks import check_range
    from dryingsim.kitchen.packed_meat import Product
    from dryingsim.properties.water_activity import (
        REFERENCE_TEMPERATURE,
        Recipe,
        equilibrium_moisture,
        water_activity,
    )

    meat = find_cut("--cut", cut).composition
    salted = to_si_within("--salt", salt, "mass fraction", "0 g/kg", "150 g/kg")
    sweetened = to_si_within("--sugar", sugar, "mass fraction", "0 g/kg", "500 g/kg")
    solids = 1.0 - meat.water + salted + sweetened
    recipe = Recipe(protein=meat.protein / solids, salt=salted / solids, sugar=sweetened / solids)
    if activity is not None:
        check_range("--water-activity", activity, activity, 0.2, 0.99, "0.2 to 0.99")
        moisture = float(equilibrium_moisture(activity, REFERENCE_TEMPERATURE, recipe))
    else:
        moisture = _moisture(packed_kg, raw or "", solids, cut)
        activity = float(water_activity(moisture, REFERENCE_TEMPERATURE, recipe))
    return Product(
        dry_mass_kg=packed_kg / (1.0 + moisture),
        moisture_db=moisture,
        recipe=recipe,
        fat_share=meat.fat / solids / (1.0 + moisture),
        wettest=activity,
        driest=activity,
        thickness_m=_optional("--thickness", thickness, "length", "0.5 mm", "30 mm"),
    )


def _moisture(packed_kg: float, raw: str, solids: float, cut: str) -> float:
    """Return how much water is left, from the weights before and after [kg/kg]."""
    before = to_si_within("--raw", raw, "mass", "1 g", "500 kg")
    moisture = packed_kg / (before * solids) - 1.0
    driest, wettest = 0.02, (1.0 - solids) / solids
    if not driest < moisture < wettest:
        low, high = (f"{100.0 * solids * (1.0 + one):.0f} %" for one in (driest, wettest))
        raise InputError(
            f"--weight is {100.0 * packed_kg / before:.0f} % of --raw = '{raw}'; {low} to {high} is possible for "
            f"{cut} dried"
        )
    return moisture


def _packing(
    package: str,
    size: str | None,
    gel: str,
    room: str | None,
    room_humidity: str | None,
    surroundings: "Room | None",
) -> "Packing":
    from dryingsim.batch.catalog.packages import find_package
    from dryingsim.kitchen.packed_meat import Packing
    from dryingsim.properties.packaging import GEL_FRESH

    chosen = find_package("--package", package)
    gel_kg = to_si_within("--gel", gel, "mass", "0 g", "1 kg")
    if size is not None and chosen.size_m is None:
        raise InputError(f"--size has no meaning for the {chosen.name}: only its lid lets vapour through")
    width, height = _size(size) if size is not None else chosen.size_m or (0.0, 0.0)
    if room is not None or surroundings is None:
        kelvin = to_si_within("--room", room or "21 degC", "temperature", "1 degC", "45 degC")
    else:
        kelvin = surroundings.temperature_K
    if room_humidity is not None or surroundings is None:
        humidity = to_si_within("--room-humidity", room_humidity or "50 %", "fraction", "1 %", "99 %")
    else:
        humidity = surroundings.relative_humidity
    return Packing(
        package=chosen,
        area_m2=2.0 * width * height,
        gel_kg=gel_kg,
        gel_water=GEL_FRESH,
        room_K=kelvin,
        room_humidity=humidity,
    )


def _size(typed: str) -> tuple[float, float]:
    """Return width and height of a bag [m]."""
    sides = re.split(r"\s+[x×]\s+", typed.strip())
    if len(sides) != 2:
        raise InputError(
            f"--size = {show(typed)}: width x height of the bag laid flat, for example '18 cm x 20 cm'"
        )
    width, height = (to_si_within("--size", side, "length", "3 cm", "1 m") for side in sides)
    return width, height


def _optional(option: str, typed: str | None, dimension: str, low: str, high: str) -> float | None:
    return None if typed is None else to_si_within(option, typed, dimension, low, high)
