"""A marinade file (TOML) read into a recipe: the raw meat, the time in the marinade, and what goes into it."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any, cast, get_args

from dryingsim.batch.catalog.ingredients import SALT_PER_SODIUM, Ingredient, find_ingredient
from dryingsim.batch.checks import brief, check_keys, check_range, show
from dryingsim.batch.reading.raw_meat import PERCENT, read_raw_meat
from dryingsim.batch.reading.text_file import read_text
from dryingsim.batch.reading.toml import parse_toml
from dryingsim.batch.reading.toml_table import Limits, Table, title_of
from dryingsim.batch.schema import Composition, Form, UnitSystem
from dryingsim.batch.units import kind_of, to_si
from dryingsim.errors import InputError

TABLESPOON_M3 = 231.0 / 256.0 * 0.0254**3  # level US tablespoon: a 256th of a gallon of 231 cubic inches

# Ranges that only catch slips of the pen: estimates, wide enough for any kitchen or small plant.
_WEIGHT = Limits("mass", "10 g", "500 kg")
_THICKNESS = Limits("length", "0.5 mm", "150 mm")
_TIME = Limits("duration", "1 min", "240 h")
_TEMPERATURE = Limits("temperature", "-2 degC", "25 degC")
_GAINED = Limits("mass fraction", "-250 g/kg", "500 g/kg")
_SPOON = Limits("mass", "1 g", "60 g")  # 0.07 to 4 g/cm3
_AMOUNT_KG = 500.0
_MOST_PER_MEAT = 20.0  # marinade per raw meat, by weight: beyond that an amount is a slip of the pen
_TOP = ("title", "meat", "marinade", "ingredient", "dried", "display")
_OWN = ("water", "salt", "sodium", "sugar", "acid", "nitrite", "tablespoon")
_LABEL = '"900 mg per 15 mL" or "6 g per 100 g"'
_SPOON_TOO = 'give the weight of a level tablespoon too (tablespoon = "17 g")'
_EXAMPLES = '"20 g", "100 mL", "1/2 cup" or "2 tbsp"'


@dataclass(frozen=True, slots=True)
class Portion:
    """An ingredient in its amount."""

    ingredient: Ingredient
    weight_kg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MarinadeRecipe:
    """A marinade as a person means it, in SI."""

    title: str
    composition: Composition  # of the raw meat
    form: Form
    weight_kg: float  # raw meat
    thickness_m: float
    time_s: float
    temperature_K: float
    portions: tuple[Portion, ...]
    gained_kg_kg: float | None  # what the drained meat was weighed to have gained, per raw weight
    water_activity: float  # of the dried slices
    display: UnitSystem


def load_marinade(path: Path) -> MarinadeRecipe:
    """Read a marinade file; raise `InputError` with one line for anything that is wrong with it."""
    return parse_marinade(read_text(path, f"dryingsim marinate --new {path}"), str(path))


def parse_marinade(text: str, name: str) -> MarinadeRecipe:
    """Read the text of a marinade file.

    Parameters
    ----------
    text : str
    name : str
        What messages call it.
    """
    data = parse_toml(text, name)
    if "stage" in data:
        raise InputError(f"{name}: this describes a batch; 'dryingsim run {name}' reads it")
    check_keys(name, data, _TOP)
    title = title_of(name, data)
    meat = Table.of(name, data, "meat", ("cut", "composition", "weight", "thickness", "form"))
    soak = Table.of(name, data, "marinade", ("time", "temperature", "gained"))
    dried = Table.of(name, data, "dried", ("water_activity",))
    display = Table.of(name, data, "display", ("units",))
    weight = meat.quantity("weight", _WEIGHT)
    return MarinadeRecipe(
        title=title,
        composition=read_raw_meat(meat)[1],
        form=cast(Form, meat.choice("form", get_args(Form), "sliced")),
        weight_kg=weight,
        thickness_m=meat.quantity("thickness", _THICKNESS),
        time_s=soak.quantity("time", _TIME),
        temperature_K=soak.quantity("temperature", _TEMPERATURE, "4 degC"),
        portions=_portions(name, data.get("ingredient", []), weight),
        gained_kg_kg=soak.quantity("gained", _GAINED) if "gained" in soak else None,
        water_activity=dried.water_activity("water_activity") if "water_activity" in dried else 0.85,
        display=cast(UnitSystem, display.choice("units", get_args(UnitSystem), "metric")),
    )


def _portions(name: str, typed: Any, meat_kg: float) -> tuple[Portion, ...]:
    if isinstance(typed, dict):
        raise InputError(f"{name}: [ingredient]: an ingredient begins with double brackets, [[ingredient]]")
    if not isinstance(typed, list) or not typed:
        raise InputError(
            f"{name}: there is no ingredient; at least one [[ingredient]] with name and amount is expected"
        )
    portions = tuple(_portion(name, number, entry) for number, entry in enumerate(typed, start=1))
    total = sum(one.weight_kg for one in portions)
    if total > _MOST_PER_MEAT * meat_kg:
        raise InputError(
            f"{name}: the ingredients weigh {total:.4g} kg for {meat_kg:.4g} kg of meat; up to {_MOST_PER_MEAT:g} times "
            "the meat is expected: check their amounts"
        )
    return portions


def _portion(name: str, number: int, entry: Any) -> Portion:
    place = f"{name}: ingredient {number}"
    table = Table(place, entry, ("name", "amount", *_OWN))
    called = table.data.get("name")
    if not isinstance(called, str) or not called.strip() or not called.isprintable():
        raise InputError(f"{place} needs 'name': text in quotes is expected, for example \"soy sauce\"")
    table.place = f"{place} ({brief(' '.join(called.split()))})"
    own = [key for key in _OWN if key in table]
    ingredient = _own_ingredient(table, called) if own else find_ingredient(table.where("name"), called)
    return Portion(ingredient, _weight(table, ingredient))


def _own_ingredient(table: Table, called: str) -> Ingredient:
    table.only_one("salt", "sodium")
    tablespoon_kg = table.quantity("tablespoon", _SPOON) if "tablespoon" in table else None
    water = table.quantity("water", PERCENT)
    if "sodium" in table:
        salt = _by_label(table, "sodium", tablespoon_kg) * SALT_PER_SODIUM
    else:
        salt = _by_label(table, "salt", tablespoon_kg)
    sugar = _by_label(table, "sugar", tablespoon_kg) if "sugar" in table else 0.0
    acid, nitrite = (table.quantity(key, PERCENT, "0 %") for key in ("acid", "nitrite"))
    total = water + salt + sugar + acid + nitrite
    if total > 1.01:  # a label's rounding
        raise InputError(
            f"{table.place}: water, salt, sugar, acid and nitrite sum to {100 * total:.4g} %; "
            "100 % at most is expected"
        )
    return Ingredient(
        name=" ".join(called.split()),
        water=water,
        salt=salt,
        sugar=sugar,
        acid=acid,
        nitrite=nitrite,
        tablespoon_kg=tablespoon_kg,
    )


def _by_label(table: Table, key: str, tablespoon_kg: float | None) -> float:
    """Return a share of the weight, typed as percent or as a label says it: "900 mg per 15 mL", "6 g per 100 g"."""
    typed, where = table.data.get(key), table.where(key)
    if not isinstance(typed, str) or " per " not in typed:
        return table.quantity(key, PERCENT)
    part, _, whole = typed.partition(" per ")
    kind = kind_of(whole, ("mass", "volume"))
    if kind is None:
        raise InputError(f"{where} = {show(typed)}: what a label says is expected, for example {_LABEL}")
    size = to_si(where, whole, kind)
    if kind == "volume":
        if tablespoon_kg is None:
            raise InputError(f"{where} = {show(typed)} is by volume: {_SPOON_TOO}")
        size *= tablespoon_kg / TABLESPOON_M3
    if not size > 0.0:
        raise InputError(f"{where} = {show(typed)}: a serving above nothing is expected")
    return check_range(where, typed, to_si(where, part, "mass") / size, 0.0, 1.0, "0 to 100 % of the weight")


def _which(ingredient: Ingredient) -> str:
    """Ask which kind of an ingredient is meant, where a spoon of one kind weighs more than of another."""
    kinds = [find_ingredient("catalog", name) for name in ingredient.kinds]
    spoons = " or ".join(
        f"'{kind.name}' ({1e3 * (kind.tablespoon_kg or 0.0):.3g} g a tablespoon)" for kind in kinds
    )
    return f"name the kind, {spoons}, or give the amount by weight"


def _weight(table: Table, ingredient: Ingredient) -> float:
    """Return the weight of an amount typed by weight or by volume [kg]."""
    typed, where = table.data.get("amount"), table.where("amount")
    if typed is None:
        raise InputError(f"{table.place} needs 'amount': a weight or a volume, for example {_EXAMPLES}")
    kind = kind_of(typed, ("mass", "volume"))
    if kind is None:
        taste = "; what it is decides how salty the meat gets" if "taste" in str(typed) else ""
        raise InputError(
            f"{where} = {show(typed)}: a weight or a volume with its unit is expected, for example {_EXAMPLES}{taste}"
        )
    size = to_si(where, typed, kind)
    if kind == "volume":
        if ingredient.kinds:
            raise InputError(f"{where} = {show(typed)} is a volume: {_which(ingredient)}")
        if ingredient.tablespoon_kg is None:
            raise InputError(f"{where} = {show(typed)} is a volume: {_SPOON_TOO}, or the amount by weight")
        size *= ingredient.tablespoon_kg / TABLESPOON_M3
    if not size > 0.0:
        raise InputError(f"{where} = {show(typed)}: an amount above nothing is expected")
    return check_range(where, typed, size, 0.0, _AMOUNT_KG, f"0 to {_AMOUNT_KG:g} kg")
