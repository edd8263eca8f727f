"""What a batch yields and what a kilogram of it costs."""

import re
from dataclasses import dataclass
from typing import Annotated

import numpy as np

from dryingsim.batch.checks import show
from dryingsim.batch.dimensions import DIMENSIONS
from dryingsim.batch.schema import Batch
from dryingsim.batch.units import kind_of, to_si
from dryingsim.errors import InputError
from dryingsim.evidence import Evidence
from dryingsim.history import History
from dryingsim.judge.doneness import Answers
from dryingsim.judge.energy import Price, judge_energy
from dryingsim.model.build import recipe_of, slice_count
from dryingsim.typing import Array

SERVING_KG: Annotated[float, Evidence("kg", "common practice", "an ounce, no source")] = 0.028
PRICE_EXAMPLES = '"12.50 USD/lb" or "9 EUR/kg"'
AMOUNT_EXAMPLE = '"3.20 EUR"'
_NUMBER, _CURRENCY = r"\s*(\d+\.?\d*|\.\d+)\s*", r"([^\d\s.,/+*-]+)\s*"
_PRICE = re.compile(rf"{_NUMBER}{_CURRENCY}(?:/|per\s)\s*([A-Za-z]+)\s*")
_AMOUNT = re.compile(rf"{_NUMBER}{_CURRENCY}")


@dataclass(frozen=True, slots=True)
class MeatPrice:
    """What raw meat costs per kg, in the currency as it was typed."""

    per_kg: float
    currency: str


@dataclass(frozen=True, slots=True)
class Amount:
    """A sum of money."""

    value: float
    currency: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """What the finished batch costs; parts that were not given are None and count as nothing."""

    meat: float | None
    ingredients: float | None
    energy: float | None
    total: float
    per_kg: float  # of finished weight
    currency: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Yield:
    """What becomes of the raw meat.

    Attributes
    ----------
    raw_kg, laid_on_kg, finished_kg : float
        As bought and sliced, with the marinade on the trays, and dried [kg].
    done : bool
        Finished means done; else the end of the run, which comes before.
    share : float
        Finished over raw.
    pieces : int
        Slices.
    piece_kg : float
        A finished one, on average [kg].
    servings : float
        Of `SERVING_KG`.
    cost : Cost or None
        None without any price.
    """

    raw_kg: float
    laid_on_kg: float
    finished_kg: float
    done: bool
    share: float
    pieces: int
    piece_kg: float
    servings: float
    cost: Cost | None


def read_meat_price(where: str, text: str) -> MeatPrice:
    """Read a price per weight.

    Parameters
    ----------
    where : str
        What it is the value of, for messages.
    text : str
        An amount, a currency, and "/kg" or another unit of weight.

    Examples
    --------
    >>> price = read_meat_price("meat", "12.50 USD/lb")
    >>> round(price.per_kg, 2), price.currency
    (27.56, 'USD')
    """
    match = _PRICE.fullmatch(text)
    if match is None:
        raise InputError(
            f"{where} = {show(text)}: an amount, a currency and a weight are expected, for example {PRICE_EXAMPLES}"
        )
    return MeatPrice(float(match[1]) / to_si(where, f"1 {match[3]}", "mass"), match[2])


def read_amount(where: str, text: str) -> Amount:
    """Read a sum of money.

    Parameters
    ----------
    where : str
        What it is the value of, for messages.
    text : str
        An amount and a currency.

    Examples
    --------
    >>> read_amount("--ingredients", "3 EUR")
    Amount(value=3.0, currency='EUR')
    """
    match = _AMOUNT.fullmatch(text)
    if match is None:
        raise InputError(
            f"{where} = {show(text)}: an amount and a currency are expected, for example {AMOUNT_EXAMPLE}"
        )
    if kind_of(f"1 {match[2]}", DIMENSIONS):
        raise InputError(
            f"{where} = {show(text)}: {show(match[2])} is no currency; expected for example {AMOUNT_EXAMPLE}"
        )
    return Amount(float(match[1]), match[2])


def finished_share(batch: Batch, moisture_db: Array) -> Array:
    """Dried weight over raw weight at a moisture, by the balance of dry solid alone.

    Parameters
    ----------
    batch : Batch
        No solid is lost with drip or rendered fat.
    moisture_db : float or ndarray
        Mean moisture [kg/kg].
    """
    return recipe_of(batch)[1] * (1.0 + moisture_db)


def judge_yield(
    history: History,
    answers: Answers,
    meat: MeatPrice | None = None,
    ingredients: Amount | None = None,
    energy: Price | None = None,
) -> Yield:
    """Answer what a batch yields and costs.

    Parameters
    ----------
    history : History
    answers : Answers
        As `judge_batch` gives them: when the batch is done.
    meat : MeatPrice, optional
        Of the raw meat.
    ingredients : Amount, optional
        Of all that goes into the marinade.
    energy : Price, optional
        Counts for a batch in an appliance.
    """
    batch, done_s = history.batch, answers.doneness.batch.expected_s
    weight, raw = history.weight_kg.sum(axis=1), history.batch.meat.weight_kg
    finished = float(weight[-1] if done_s is None else np.interp(done_s, history.time_s, weight))
    pieces = slice_count(batch, float(history.area_m2.sum()))
    return Yield(
        raw_kg=raw,
        laid_on_kg=float(weight[0]),
        finished_kg=finished,
        done=done_s is not None,
        share=finished / raw,
        pieces=pieces,
        piece_kg=finished / pieces,
        servings=finished / SERVING_KG,
        cost=_cost(history, answers, finished, meat, ingredients, energy),
    )


def _cost(
    history: History,
    answers: Answers,
    finished_kg: float,
    meat: MeatPrice | None,
    ingredients: Amount | None,
    energy: Price | None,
) -> Cost | None:
    given = [amount.currency for amount in (meat, ingredients, energy) if amount is not None]
    if not given:
        return None
    if len(set(given)) > 1:
        raise InputError(
            f"prices are in {' and '.join(dict.fromkeys(given))}: one currency is expected for all"
        )
    taken = judge_energy(history, answers, energy) if energy is not None else None
    drawn = None if taken is None else (taken.until_done or taken.run).cost
    parts = (
        None if meat is None else meat.per_kg * history.batch.meat.weight_kg,
        None if ingredients is None else ingredients.value,
        drawn,
    )
    total = sum(part for part in parts if part is not None)
    return Cost(
        meat=parts[0],
        ingredients=parts[1],
        energy=parts[2],
        total=total,
        per_kg=total / finished_kg,
        currency=given[0],
    )
