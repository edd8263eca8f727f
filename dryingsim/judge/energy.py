"""What a run takes in energy and money: from the running totals of its appliance.

Heating an appliance before the trays go in is not part of a run and is not counted.
"""

import re
from dataclasses import dataclass
from typing import Annotated

import numpy as np

from dryingsim.batch.checks import show
from dryingsim.batch.money import sign_after
from dryingsim.errors import InputError
from dryingsim.evidence import Evidence
from dryingsim.history import History
from dryingsim.judge.doneness import Answers
from dryingsim.judge.taking_off import held_weight, leaving_times
from dryingsim.model.chamber import STEAM_TEMPERATURE_K
from dryingsim.properties import water

J_PER_KWH: Annotated[float, Evidence("J/kWh", "exact", "a kilowatt-hour")] = 3.6e6
PEAK_S: Annotated[
    float,
    Evidence(
        "s",
        "numerical",
        "a peak is the mean over this time: a thermostat's switching shows as the full power",
    ),
] = 60.0
PRICE_EXAMPLE = '"0.30 EUR/kWh"'
# an amount, the currency (anything but digits and signs of arithmetic), and kWh
_PRICE = re.compile(r"\s*(\d+\.?\d*|\.\d+)\s*([^\d\s.,/+*-]+)\s*(?:/|per)\s*kWh\s*")


@dataclass(frozen=True, slots=True)
class Price:
    """What energy costs.

    Attributes
    ----------
    per_J : float
        Amount per joule.
    currency : str
        As it was typed.
    """

    per_J: float
    currency: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Consumption:
    """What a part of a run, from its start on, has taken.

    Attributes
    ----------
    duration_s : float
    heater_J, fan_J : float
        Taken by the heater and the fan.
    steam_J : float
        To make the steam that was let in, from water at the room's temperature.
    total_J : float
        All three.
    water_kg : float
        Given off by the meat.
    per_water_J_kg : float or None
        `total_J` over `water_kg`; None where the meat gave none off.
    walls_J, exchanged_J : float
        Lost to the room through the walls, and with exchanged air (above the room's own; with the heat of
        the vapour in it).
    mean_heater_W : float or None
        None for no duration.
    cost : float or None
        In the currency of the price; None without a price.
    """

    duration_s: float
    heater_J: float
    fan_J: float
    steam_J: float
    total_J: float
    water_kg: float
    per_water_J_kg: float | None
    walls_J: float
    exchanged_J: float
    mean_heater_W: float | None
    cost: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Energy:
    """Energy of a run in an appliance.

    Attributes
    ----------
    run : Consumption
        All of the run.
    until_done : Consumption or None
        Until the batch is done; None where the run ends before.
    until_off : Consumption
        Until the last slices are taken off, at the end of the run at the latest.
    peak_heater_W : float
        Highest mean over one minute.
    currency : str or None
        Of the costs; None without a price.
    """

    run: Consumption
    until_done: Consumption | None
    until_off: Consumption
    peak_heater_W: float
    currency: str | None

    @property
    def all_off(self) -> bool:
        """Whether the last slices are taken off before the run ends."""
        return self.until_off.duration_s < self.run.duration_s

    @property
    def counted(self) -> Consumption:
        """What a person pays for: until the last are off, or where the run ends before until done, or to its end."""
        return self.until_off if self.all_off else self.until_done or self.run


def read_price(where: str, text: str) -> Price:
    """Read a price per kWh.

    Parameters
    ----------
    where : str
        What it is the value of, for messages.
    text : str
        An amount, a currency, and "/kWh".

    Examples
    --------
    >>> price = read_price("price", "0.30 EUR/kWh")
    >>> round(price.per_J * 3.6e6, 12), price.currency
    (0.3, 'EUR')
    """
    match = _PRICE.fullmatch(sign_after(text))
    if match is None:
        raise InputError(
            f"{where} = {show(text)}: an amount, a currency and /kWh are expected, for example {PRICE_EXAMPLE}"
        )
    return Price(per_J=float(match[1]) / J_PER_KWH, currency=match[2])


def judge_energy(history: History, answers: Answers, price: Price | None = None) -> Energy | None:
    """Add up what a run takes.

    Parameters
    ----------
    history : History
    answers : Answers
        As `judge_batch` gives them: when the batch is done.
    price : Price, optional

    Returns
    -------
    Energy or None
        None for a batch in given air, which has no appliance.
    """
    if history.chamber is None:
        return None
    done_s = answers.doneness.batch.expected_s
    return Energy(
        run=_consumption(history, float(history.time_s[-1]), price),
        until_done=None if done_s is None else _consumption(history, done_s, price),
        until_off=_consumption(history, float(leaving_times(history).max()), price, held_weight(history)),
        peak_heater_W=_peak(history.time_s, history.chamber.totals["heater_J"]),
        currency=price.currency if price else None,
    )


def energy_taken(history: History) -> np.ndarray:
    """Return what heater, fan and steam have taken since the start [J], shape (t,); zero in given air."""
    if history.chamber is None:
        return np.zeros_like(history.time_s)
    total = history.chamber.totals
    return total["heater_J"] + total["fan_J"] + _steam_J_per_kg(history) * total["steam_kg"]


def _steam_J_per_kg(history: History) -> float:
    cold = water.liquid_enthalpy(history.batch.room.temperature_K)
    return float(water.vapour_enthalpy(STEAM_TEMPERATURE_K) - cold)


def _consumption(
    history: History, end_s: float, price: Price | None, weight: np.ndarray | None = None
) -> Consumption:
    """Add up to a time; `weight` is that of all slices over time, those that were left in if not given [kg]."""
    assert history.chamber is not None
    weight = history.weight_kg.sum(axis=1) if weight is None else weight

    def until_end(values: np.ndarray) -> float:
        return float(np.interp(end_s, history.time_s, values))

    total = {name: until_end(values) for name, values in history.chamber.totals.items()}
    dried = float(weight[0]) - until_end(weight)
    taken = until_end(energy_taken(history))
    return Consumption(
        duration_s=end_s,
        heater_J=total["heater_J"],
        fan_J=total["fan_J"],
        steam_J=_steam_J_per_kg(history) * total["steam_kg"],
        total_J=taken,
        water_kg=dried,
        per_water_J_kg=taken / dried if dried > 0.0 else None,
        walls_J=total["lost_J"],
        exchanged_J=total["aired_J"],
        mean_heater_W=total["heater_J"] / end_s if end_s > 0.0 else None,
        cost=taken * price.per_J if price else None,
    )


def _peak(time_s: np.ndarray, heater_J: np.ndarray) -> float:
    """Highest mean power over one minute [W]: on an even grid, for records may lie close together."""
    minutes = max(1, round(float(time_s[-1]) / PEAK_S))
    grid = np.linspace(0.0, time_s[-1], minutes + 1)
    return float(np.max(np.diff(np.interp(grid, time_s, heater_J))) / grid[1])
