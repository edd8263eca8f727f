"""What a batch yields and what a kilogram of it costs."""

from dataclasses import dataclass
from typing import Annotated

from dryingsim.batch.money import Amount, MeatPrice
from dryingsim.batch.schema import Batch
from dryingsim.errors import InputError
from dryingsim.evidence import Evidence
from dryingsim.history import History
from dryingsim.judge.doneness import Answers
from dryingsim.judge.energy import Price, judge_energy
from dryingsim.judge.taking_off import taken_off
from dryingsim.model.build import recipe_of, slice_count
from dryingsim.model.laying import face_area
from dryingsim.typing import Array

SERVING_KG: Annotated[float, Evidence("kg", "common practice", "an ounce, no source")] = 0.028


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """What the finished batch costs; parts that were not given are None and count as nothing.

    Attributes
    ----------
    meat, ingredients, energy, total : float or None
        [currency]
    per_kg : float
        Of finished weight [currency/kg].
    currency : str
    unpriced : tuple of str
        Ingredients whose price is not told, where others have one.
    """

    meat: float | None
    ingredients: float | None
    energy: float | None
    total: float
    per_kg: float
    currency: str
    unpriced: tuple[str, ...] = ()


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
    loads : int
        How many such loads the whole batch is; everything else here is of one of them.
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
    loads: int = 1


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
    loads: int = 1,
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
        Of all that goes into the marinade; left out, as the batch prices its ingredients.
    energy : Price, optional
        Counts for a batch in an appliance.
    loads : int
        How many such loads the whole batch is; `ingredients` are those of all of them.
    """
    batch, done_s = history.batch, answers.doneness.batch.expected_s
    raw, finished = history.batch.meat.weight_kg, taken_off(history).weight_kg
    pieces = slice_count(batch, float(face_area(batch, history.area_m2, history.kind).sum()))
    return Yield(
        raw_kg=raw,
        laid_on_kg=batch.laid_on_kg,
        finished_kg=finished,
        done=done_s is not None,
        share=finished / raw,
        pieces=pieces,
        piece_kg=finished / pieces,
        servings=finished / SERVING_KG,
        cost=_cost(history, answers, finished, meat, _of_one(ingredients, loads), energy),
        loads=loads,
    )


def _of_one(amount: Amount | None, loads: int) -> Amount | None:
    return None if amount is None else Amount(amount.value / loads, amount.currency)


def _cost(
    history: History,
    answers: Answers,
    finished_kg: float,
    meat: MeatPrice | None,
    ingredients: Amount | None,
    energy: Price | None,
) -> Cost | None:
    soak = history.batch.marinade.soak
    unpriced: tuple[str, ...] = ()
    if ingredients is None and soak is not None and soak.cost is not None:
        ingredients, unpriced = soak.cost, soak.unpriced
    given = [amount.currency for amount in (meat, ingredients, energy) if amount is not None]
    if not given:
        return None
    if len(set(given)) > 1:
        raise InputError(
            f"prices are in {' and '.join(dict.fromkeys(given))}: one currency is expected for all"
        )
    taken = judge_energy(history, answers, energy) if energy is not None else None
    drawn = None if taken is None else taken.counted.cost
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
        unpriced=unpriced,
    )
