"""A marinade file (TOML) read into a recipe: the raw meat, the time in the marinade, and what goes into it."""

from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any, cast, get_args

from dryingsim.batch.checks import check_keys
from dryingsim.batch.reading.ingredients import SOAK, read_soak
from dryingsim.batch.reading.raw_meat import read_raw_meat
from dryingsim.batch.reading.text_file import read_text
from dryingsim.batch.reading.toml import parse_toml
from dryingsim.batch.reading.toml_table import Limits, Table, title_of
from dryingsim.batch.schema import Batch, Composition, Form, UnitSystem
from dryingsim.batch.soaking import Soak
from dryingsim.errors import InputError

# Ranges that only catch slips of the pen: estimates, wide enough for any kitchen or small plant.
_WEIGHT = Limits("mass", "10 g", "500 kg")
_THICKNESS = Limits("length", "0.5 mm", "150 mm")
_TOP = ("title", "meat", "marinade", "ingredient", "dried", "display")


@dataclass(frozen=True, slots=True, kw_only=True)
class MarinadeRecipe(Soak):
    """A marinade as a person means it, with the raw meat that lies in it, in SI.

    Attributes
    ----------
    title : str
        Of the marinade.
    composition : Composition
        Of the raw meat.
    form : Form
        Of the meat.
    weight_kg : float
        Raw meat.
    thickness_m : float
        Of the slices [m].
    water_activity : float
        Of the dried slices.
    display : UnitSystem
        Units to print in.
    of_batch : bool
        Whether it is told in the file of the batch itself.
    washed : bool
        Whether plain water, in which the slices are heated by that file, takes salt and sugar out again.
    """

    title: str
    composition: Composition
    form: Form
    weight_kg: float
    thickness_m: float
    water_activity: float
    display: UnitSystem
    of_batch: bool = False
    washed: bool = False


def load_marinade(path: Path) -> MarinadeRecipe:
    """Read a marinade file; raise `InputError` with one line for anything that is wrong with it."""
    return parse_marinade(read_text(path, f"dryingsim marinate --new {path}"), str(path))


def parse_marinade(text: str, name: str) -> MarinadeRecipe:
    """Read the text of a marinade file, or of a batch file that tells its ingredients.

    Parameters
    ----------
    text : str
    name : str
        What messages call it.
    """
    data = parse_toml(text, name)
    if "stage" in data:
        return _of_batch_file(text, name)
    check_keys(name, data, _TOP)
    title = title_of(name, data)
    meat = Table.of(name, data, "meat", ("cut", "composition", "weight", "thickness", "form"))
    table = Table.of(name, data, "marinade", (*SOAK, "ingredients"))
    dried = Table.of(name, data, "dried", ("water_activity",))
    display = Table.of(name, data, "display", ("units",))
    weight = meat.quantity("weight", _WEIGHT)
    soak = read_soak(name, table, _ingredients(name, data, table), weight)
    return MarinadeRecipe(
        title=title,
        composition=read_raw_meat(meat)[1],
        form=cast(Form, meat.choice("form", get_args(Form), "sliced")),
        weight_kg=weight,
        thickness_m=meat.quantity("thickness", _THICKNESS),
        water_activity=dried.water_activity("water_activity") if "water_activity" in dried else 0.85,
        display=cast(UnitSystem, display.choice("units", get_args(UnitSystem), "metric")),
        **_values(soak),
    )


def _ingredients(name: str, data: dict[str, object], table: Table) -> object:
    """Return the ingredients as typed: under [marinade], or each under a heading of its own."""
    if "ingredient" in data and "ingredients" in table:
        raise InputError(f"{name} has both [[ingredient]] and [marinade.ingredients]: give one of them")
    typed = data.get("ingredient", table.data.get("ingredients"))
    if "ingredient" in data and isinstance(typed, dict):
        raise InputError(f"{name}: [ingredient]: an ingredient begins with double brackets, [[ingredient]]")
    return typed


def _of_batch_file(text: str, name: str) -> MarinadeRecipe:
    from dryingsim.batch.reading.batch_file import parse_document

    recipe = recipe_of_batch(parse_document(parse_toml(text, name), name, Path(name).parent, runs=False))
    if recipe is None:
        raise InputError(
            f"{name}: this describes a batch without [marinade.ingredients]; 'dryingsim run {name}' reads it"
        )
    return recipe


def recipe_of_batch(batch: Batch) -> MarinadeRecipe | None:
    """Return the marinade of a batch with its meat; None where its ingredients are not told.

    Parameters
    ----------
    batch : Batch
    """
    soak, meat = batch.marinade.soak, batch.meat
    if soak is None:
        return None
    return MarinadeRecipe(
        title=batch.name,
        composition=meat.composition,
        form=meat.form,
        weight_kg=meat.weight_kg,
        thickness_m=meat.mean_thickness_m,
        water_activity=batch.targets.water_activity,
        display=batch.display,
        of_batch=True,
        washed=batch.washed,
        **_values(soak),
    )


def _values(soak: Soak) -> dict[str, Any]:
    return {field.name: getattr(soak, field.name) for field in fields(Soak)}
