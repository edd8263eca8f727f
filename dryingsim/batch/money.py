"""Money as it is typed: sums, and prices by weight or volume."""

import re
from dataclasses import dataclass

from dryingsim.batch.checks import show
from dryingsim.batch.dimensions import DIMENSIONS
from dryingsim.batch.units import kind_of, to_si
from dryingsim.errors import InputError

PRICE_EXAMPLES = '"12.50 USD/lb" or "9 EUR/kg"'
AMOUNT_EXAMPLE = '"3.20 EUR"'
_NUMBER, _CURRENCY = r"\s*(\d+\.?\d*|\.\d+)\s*", r"([^\d\s.,/+*-]+)\s*"
_PRICE = re.compile(rf"{_NUMBER}{_CURRENCY}(?:/|per\s)\s*([A-Za-z]+)\s*")
_AMOUNT = re.compile(rf"{_NUMBER}{_CURRENCY}")
_SIGN = re.compile(r"^\s*([$€£¥])\s*(\d+\.?\d*|\.\d+)")
SIZED_EXAMPLES = '"4.50 USD per 15 floz" or "9 USD/lb"'
_SIZED = re.compile(rf"{_NUMBER}{_CURRENCY}(?:/|per\s)\s*([\d./ ]*)([A-Za-z][A-Za-z ]*)")


def sign_after(text: str) -> str:
    """Return a sum with the sign of its currency after the number: "$8/lb" as "8 $/lb".

    Examples
    --------
    >>> sign_after("$0.15/kWh"), sign_after("9 EUR/kg")
    ('0.15 $/kWh', '9 EUR/kg')
    """
    return _SIGN.sub(r"\2 \1", text)


@dataclass(frozen=True, slots=True)
class MeatPrice:
    """What raw meat costs per kg, in the currency as it was typed.

    Attributes
    ----------
    per_kg : float
        [currency/kg].
    """

    per_kg: float
    currency: str


@dataclass(frozen=True, slots=True)
class Amount:
    """A sum of money.

    Attributes
    ----------
    value : float
        In the currency.
    currency : str
        As typed.
    """

    value: float
    currency: str


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
    match = _PRICE.fullmatch(sign_after(text))
    if match is None:
        missing = _missing(text, "the weight it is for")
        raise InputError(
            f"{where} = {show(text)}: {missing or 'an amount, a currency and a weight are expected'}, for example "
            f"{PRICE_EXAMPLES}"
        )
    return MeatPrice(float(match[1]) / to_si(where, f"1 {match[3]}", "mass"), match[2])


def _missing(text: object, what: str) -> str:
    """Say that all but one thing is there of a price: a sum of money alone, "$4.99"."""
    whole = isinstance(text, str) and _AMOUNT.fullmatch(sign_after(text))
    return f"{what} is missing" if whole else ""


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
    match = _AMOUNT.fullmatch(sign_after(text))
    if match is None:
        raise InputError(
            f"{where} = {show(text)}: an amount and a currency are expected, for example {AMOUNT_EXAMPLE}"
        )
    if kind_of(f"1 {match[2]}", DIMENSIONS):
        raise InputError(
            f"{where} = {show(text)}: {show(match[2])} is no currency; expected for example {AMOUNT_EXAMPLE}"
        )
    return Amount(float(match[1]), match[2])


def read_sized_price(where: str, text: object) -> tuple[Amount, str]:
    """Read what a bottle or a bag costs, and how much is in it, as text.

    Parameters
    ----------
    where : str
        What it is the value of, for messages.
    text : object
        An amount, a currency, "per" or "/", and a weight or a volume.

    Examples
    --------
    >>> read_sized_price("price", "4.50 USD per 15 fl oz"), read_sized_price("price", "9 USD/lb")[1]
    ((Amount(value=4.5, currency='USD'), '15 fl oz'), '1 lb')
    """
    match = _SIZED.fullmatch(sign_after(text)) if isinstance(text, str) else None
    if match is None:
        missing = _missing(text, "the size")
        raise InputError(
            f"{where} = {show(text)}: {missing or 'an amount, a currency and a size are expected'}, for example "
            f"{SIZED_EXAMPLES}"
        )
    return Amount(float(match[1]), match[2]), f"{(match[3] or '1').strip()} {match[4].strip()}"
