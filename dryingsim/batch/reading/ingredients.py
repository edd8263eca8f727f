"""What goes into a marinade, as people write it: names with amounts, the lines of a recipe, the figures of a label."""

import re
from typing import Any

from dryingsim.batch.catalog.ingredients import SALT_PER_SODIUM, Ingredient, find_ingredient, is_known
from dryingsim.batch.checks import brief, check_range, show
from dryingsim.batch.money import Amount, read_sized_price
from dryingsim.batch.number_words import in_digits
from dryingsim.batch.reading.raw_meat import PERCENT
from dryingsim.batch.reading.recipe_line import entry_of_line
from dryingsim.batch.reading.toml_table import Limits, Table
from dryingsim.batch.soaking import Portion, Soak
from dryingsim.batch.units import decimal_comma, kind_of, to_si
from dryingsim.errors import InputError

TABLESPOON_M3 = 231.0 / 256.0 * 0.0254**3  # level US tablespoon: a 256th of a gallon of 231 cubic inches
SOAK = ("time", "temperature", "gained")  # keys that tell how the meat lies in what the ingredients make

# Ranges that only catch slips of the pen: estimates, wide enough for any kitchen or small plant.
_TIME = Limits("duration", "1 min", "240 h")
_TEMPERATURE = Limits("temperature", "-2 degC", "25 degC", '"4 degC" or "40 degF"')
_GAINED = Limits("mass fraction", "-250 g/kg", "500 g/kg")
_SPOON = Limits("mass", "1 g", "60 g")  # 0.07 to 4 g/cm3
_AMOUNT_KG = 500.0
_MOST_PER_MEAT = 20.0  # marinade per raw meat, by weight: beyond that an amount is a slip of the pen
_OWN = ("water", "salt", "sodium", "sugar", "acid", "nitrite", "tablespoon")
_LABEL = '"900 mg per 15 mL", "900 mg per tbsp" or "6 g per 100 g"'
_PER = re.compile(r"\s+per\s+|(?<=[A-Za-z.])\s*/\s*", re.IGNORECASE)
_SERVED = re.compile(
    r"serving size:?\s*(?P<whole>.+?)\s*[,;]\s*(?P<key>[a-z]+):?\s*(?P<part>.+)", re.IGNORECASE
)
_SERVING_ROUNDED = 0.15  # 2 tsp (10 mL), 1/4 cup (60 mL), 1 oz (30 g): labels round; estimate
_SPOON_TOO = 'give the weight of a level tablespoon too (tablespoon = "17 g", as most sauces)'
_EXAMPLES = '"20 g", "100 mL", "1/2 cup" or "2 tbsp"'


def read_soak(name: str, table: Table, typed: Any, meat_kg: float) -> Soak:
    """Return what the meat lies in, and for how long.

    Parameters
    ----------
    name : str
        Of the file, for messages.
    table : Table
        That holds `SOAK`.
    typed : object
        The ingredients: names with amounts, or a list of lines of a recipe, of tables with name and amount, or of both.
    meat_kg : float
        Raw meat [kg].
    """
    return Soak(
        portions=_portions(name, typed, meat_kg),
        time_s=table.quantity("time", _TIME),
        temperature_K=table.quantity("temperature", _TEMPERATURE, "4 degC"),
        gained_kg_kg=table.quantity("gained", _GAINED) if "gained" in table else None,
    )


def _portions(name: str, typed: Any, meat_kg: float) -> tuple[Portion, ...]:
    if isinstance(typed, dict):
        typed = [
            {"name": key} | (one if isinstance(one, dict) else {"amount": one}) for key, one in typed.items()
        ]
    if isinstance(typed, str) and typed.strip():
        raise InputError(
            f"{name}: ingredients = {show(typed)}: a list in [ ] is expected, each with its amount in quotes of its own, as "
            '["1/2 cup soy sauce", "2 tbsp brown sugar"]'
        )
    if not isinstance(typed, list) or not typed:
        raise InputError(
            f'{name}: there is no ingredient; at least one with its amount is expected, as "soy sauce" = "1/2 cup" under '
            "[marinade.ingredients]"
        )
    portions = tuple(
        _portion(f"{name}: ingredient {number}", entry) for number, entry in enumerate(typed, start=1)
    )
    total = sum(one.weight_kg for one in portions)
    if total > _MOST_PER_MEAT * meat_kg:
        raise InputError(
            f"{name}: the ingredients weigh {total:.4g} kg for {meat_kg:.4g} kg of meat; up to {_MOST_PER_MEAT:g} times "
            "the meat is expected: check their amounts"
        )
    currencies = list(dict.fromkeys(one.cost.currency for one in portions if one.cost is not None))
    if len(currencies) > 1:
        raise InputError(
            f"{name}: prices are in {' and '.join(currencies)}: one currency is expected for all"
        )
    return portions


def _portion(place: str, entry: Any) -> Portion:
    if isinstance(entry, str):
        entry = entry_of_line(place, entry)
    table = Table(place, entry, ("name", "amount", "price", *_OWN))
    called = table.data.get("name")
    if not isinstance(called, str) or not called.strip() or not called.isprintable():
        raise InputError(f"{place} needs 'name': text in quotes is expected, for example \"soy sauce\"")
    table.place = f"{place} ({brief(' '.join(called.split()))})"
    own = [key for key in _OWN if key in table]
    ingredient = _own_ingredient(table, called) if own else find_ingredient(table.where("name"), called)
    weight = _weight(table, "amount", table.data.get("amount"), ingredient)
    return Portion(ingredient, weight, _cost(table, ingredient, weight) if "price" in table else None)


def _cost(table: Table, ingredient: Ingredient, weight_kg: float) -> Amount:
    """Return what a weight costs, from what a bottle or a bag of it does."""
    paid, size = read_sized_price(table.where("price"), table.data["price"])
    return Amount(paid.value * (weight_kg / _weight(table, "price", size, ingredient)), paid.currency)


def _own_ingredient(table: Table, called: str) -> Ingredient:
    """Read figures of a label; of an ingredient that is known, what is left out with the water is as it is known."""
    table.only_one("salt", "sodium")
    known = (
        find_ingredient(table.where("name"), called) if "water" not in table and is_known(called) else None
    )
    if known is None and "water" not in table:
        raise InputError(
            f"{table.place} needs 'water': no label tells it; sauces hold 60 to 80 %, dry blends 5 to 10 %"
        )
    tablespoon_kg = table.quantity("tablespoon", _SPOON) if "tablespoon" in table else None
    base = known or Ingredient(
        name=" ".join(called.split()), water=table.quantity("water", PERCENT), salt=0.0, sugar=0.0
    )
    spoon = tablespoon_kg or (None if base.kinds else base.tablespoon_kg)
    given = {
        key: _by_label(table, key, spoon) for key in ("salt", "sugar", "acid", "nitrite") if key in table
    }
    if "sodium" in table:
        given["salt"] = _by_label(table, "sodium", spoon) * SALT_PER_SODIUM
    elif known is None and "salt" not in table:
        raise InputError(f"{table.place} needs 'salt' or 'sodium', from its label, for example {_LABEL}")
    ingredient = Ingredient(
        name=base.name,
        water=base.water,
        salt=given.get("salt", base.salt),
        sugar=given.get("sugar", base.sugar),
        acid=given.get("acid", base.acid),
        nitrite=given.get("nitrite", base.nitrite),
        tablespoon_kg=spoon,
    )
    total = sum(getattr(ingredient, part) for part in ("water", "salt", "sugar", "acid", "nitrite"))
    if total > 1.01:  # a label's rounding
        raise InputError(
            f"{table.place}: water, salt, sugar, acid and nitrite sum to {100 * total:.4g} %; "
            "100 % at most is expected"
        )
    return ingredient


def _by_label(table: Table, key: str, tablespoon_kg: float | None) -> float:
    """Return a share of the weight, typed as percent or as a label says it: "900 mg per 15 mL", "6 g per 100 g"."""
    typed, where = table.data.get(key), table.where(key)
    served = _SERVED.fullmatch(typed) if isinstance(typed, str) else None
    if served and served["key"].lower() != key:
        raise InputError(f"{where} = {show(typed)}: this tells the {served['key'].lower()}, not the {key}")
    sides = [served["part"], served["whole"]] if served else _PER.split(str(typed), maxsplit=1)
    if not isinstance(typed, str) or len(sides) < 2:
        return table.quantity(key, PERCENT)
    part, whole = sides
    kind, size = _serving(where, typed, whole)
    if kind == "volume":
        if tablespoon_kg is None:
            raise InputError(f"{where} = {show(typed)} is by volume: {_SPOON_TOO}")
        size *= tablespoon_kg / TABLESPOON_M3
    if not size > 0.0:
        raise InputError(f"{where} = {show(typed)}: a serving above nothing is expected")
    return check_range(where, typed, to_si(where, part, "mass") / size, 0.0, 1.0, "0 to 100 % of the weight")


def _serving(where: str, typed: str, whole: str) -> tuple[str, float]:
    """Return whether a serving is a mass or a volume, and its size [kg or m3].

    Of "1 tbsp (15 mL)" what stands in brackets counts, the weight or volume that its maker measured.
    """
    said = re.fullmatch(r"([^()]*)(?:\(([^()]*)\))?\W*", whole)
    sizes = []
    for text in said.groups("") if said else ():
        size = " ".join(text.lower().split()).rstrip(".")
        size = f"1 {size}" if size[:1].isalpha() else size
        kind = kind_of(size, ("mass", "volume"))
        if kind is not None:
            sizes.append((kind, to_si(where, size, kind)))
    if not sizes:
        comma = decimal_comma(whole, ("mass", "volume"))
        raise InputError(
            f"{where} = {show(typed)}: {comma}what a label says is expected, for example {_LABEL}"
        )
    (kind, first), (last_kind, last) = sizes[0], sizes[-1]
    if kind == last_kind and abs(first - last) > _SERVING_ROUNDED * last:
        raise InputError(f"{where} = {show(typed)}: the serving and what stands in brackets are not the same")
    return last_kind, last


def _which(ingredient: Ingredient) -> str:
    """Ask which kind of an ingredient is meant, where a spoon of one kind weighs more than of another."""
    kinds = [find_ingredient("catalog", name) for name in ingredient.kinds]
    spoons = " or ".join(
        f"'{kind.name}' ({1e3 * (kind.tablespoon_kg or 0.0):.3g} g a tablespoon)" for kind in kinds
    )
    return f"name the kind, {spoons}, or give the amount by weight"


def _weight(table: Table, key: str, typed: Any, ingredient: Ingredient) -> float:
    """Return the weight of an amount typed by weight, by volume or by pieces [kg]."""
    where = table.where(key)
    if typed is None:
        raise InputError(f"{table.place} needs 'amount': a weight or a volume, for example {_EXAMPLES}")
    kind = kind_of(typed, ("mass", "volume"))
    if kind is None:
        return _by_pieces(where, typed, ingredient)
    size = to_si(where, typed, kind)
    if kind == "volume":
        if ingredient.kinds:
            raise InputError(f"{where} = {show(typed)} is a volume: {_which(ingredient)}")
        if ingredient.tablespoon_kg is None:
            raise InputError(f"{where} = {show(typed)} is a volume: {_SPOON_TOO}, or the amount by weight")
        grams = 1e3 * size * ingredient.tablespoon_kg / TABLESPOON_M3
        # to a milligram, finer than any spoon: a file then says it in few digits
        size = to_si(where, f"{grams:.3f} g", "mass")
    if not size > 0.0:
        raise InputError(f"{where} = {show(typed)}: an amount above nothing is expected")
    return check_range(where, typed, size, 0.0, _AMOUNT_KG, f"0 to {_AMOUNT_KG:g} kg")


def _by_pieces(where: str, typed: Any, ingredient: Ingredient) -> float:
    """Return the weight of so many pieces, such as "3 cloves" [kg]."""
    number, _, piece = in_digits(str(typed)).strip().partition(" ")
    each = dict(ingredient.pieces).get(piece.strip().removesuffix("s"))
    if each is None or not number.isdecimal() or not int(number):
        taste = "; what it is decides how salty the meat gets" if "taste" in str(typed) else ""
        raise InputError(
            f"{where} = {show(typed)}: {decimal_comma(typed, ('mass', 'volume'))}a weight or a volume with its unit is "
            f"expected, for example {_EXAMPLES}{taste}"
        )
    return int(number) * each
