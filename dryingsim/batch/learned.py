"""What logs of earlier batches taught, put into a batch; and a batch with things off by so much.

Five things can be learned (`KEYS`): factors on the diffusivity, on the film coefficient and on the air exchange with
the room, and offsets of the air from its setting and of the water in the raw meat. `with_learned` puts all but the
first into the batch, so whoever simulates it need not know; `model.build` asks for the first. A setting shown to a
person is what the dial says: `dial_K`.
"""

import math
from dataclasses import dataclass, replace

from dryingsim.batch.appliance_schema import Appliance
from dryingsim.batch.schema import Air, Batch, Composition, Learned, Stage
from dryingsim.errors import InputError


@dataclass(frozen=True, slots=True)
class LearnedKind:
    """How one of the things is typed: a factor without unit, or an offset of a dimension, within limits.

    Attributes
    ----------
    words : str
        What it is.
    most : float
        Of the offset in SI, or of the factor's logarithm.
    """

    words: str
    of: str  # "meat" or "appliance"
    dimension: str  # "": a factor
    most: float


_FACTOR = math.log(8.0)  # beyond a factor 8 it is another batch, not another kitchen
KEYS: dict[str, LearnedKind] = {
    "diffusivity": LearnedKind("speed of water in the meat", "meat", "", _FACTOR),
    "film": LearnedKind("film coefficient", "appliance", "", _FACTOR),
    "setpoint": LearnedKind("air against its setting", "appliance", "temperature difference", 40.0),
    "air_exchange": LearnedKind("air exchange with the room", "appliance", "", _FACTOR),
    "moisture": LearnedKind("water in the raw meat", "meat", "fraction", 0.15),
}
OWN_AIR = "air as the stages say"  # what the appliance is called where there is none
_DRYNESS_MARGIN_K = 0.5  # air set lower by mistake stays so much above the wet bulb or dew point that is held


def moved(
    batch: Batch,
    *,
    setpoint_K: float = 0.0,
    air_exchange: float = 1.0,
    film: float = 1.0,
    water: float = 0.0,
) -> Batch:
    """Return the batch with its air off by some kelvin, and another air exchange, film coefficient and raw meat.

    The film goes by the air's speed, with its root, as over a laminar plate. More water leaves the make-up of the dry
    matter as it is.

    Parameters
    ----------
    batch : Batch
    setpoint_K : float
        Added to the air of every stage [K].
    air_exchange, film : float
        Factors on the exchange with the room and on the film coefficient [-].
    water : float
        Added to the water of the raw meat [kg/kg].
    """
    appliance = batch.appliance
    if appliance is not None:
        appliance = _moved_appliance(appliance, air_exchange, film)
    meat = batch.meat
    if water:
        meat = replace(meat, composition=_moistened(meat.composition, water))
    stages = tuple(_moved_stage(stage, setpoint_K, film) for stage in batch.stages)
    return replace(batch, meat=meat, appliance=appliance, stages=stages)


def _moved_appliance(appliance: Appliance, air_exchange: float, film: float) -> Appliance:
    ways, door = appliance.ventilation, appliance.door
    ways = replace(
        ways, vents_m3_s=ways.vents_m3_s * air_exchange, leakage_m3_s=ways.leakage_m3_s * air_exchange
    )
    if door is not None:
        door = replace(
            door, discharge=door.discharge * air_exchange, draught_m_s=door.draught_m_s * air_exchange
        )
    trays = replace(appliance.trays, speed_m_s=appliance.trays.speed_m_s * film**2)
    return replace(appliance, ventilation=ways, door=door, trays=trays)


def _moved_stage(stage: Stage, by_K: float, film: float) -> Stage:
    if not stage.dries:
        return stage

    def off(air: Air) -> Air:
        lowest = (
            air.humidity.value + _DRYNESS_MARGIN_K if air.humidity.kind in ("wet_bulb", "dew_point") else 0.0
        )
        air = replace(air, speed_m_s=air.speed_m_s * film**2)
        try:
            return replace(air, temperature_K=max(air.temperature_K + by_K, lowest))
        except InputError as error:
            raise InputError(f"setpoint, {by_K:.4g} K off: {error}; is so much uncertainty meant?") from None

    return replace(stage, air=off(stage.air), air_end=off(stage.air_end) if stage.air_end else None)


def _moistened(raw: Composition, water: float) -> Composition:
    wet = min(max(raw.water + water, 0.2), 0.95)
    rest = (1.0 - wet) / (1.0 - raw.water)
    return Composition(
        water=wet,
        protein=raw.protein * rest,
        fat=raw.fat * rest,
        carbohydrate=raw.carbohydrate * rest,
        ash=raw.ash * rest,
    )


def with_learned(batch: Batch, learned: Learned) -> Batch:
    """Return the batch as it will be by what was learned.

    Parameters
    ----------
    batch : Batch
        As it was typed.
    learned : Learned
    """

    def value(key: str) -> float:
        return learned.corrections[key].value if key in learned.corrections else 0.0

    changed = moved(
        batch,
        setpoint_K=value("setpoint"),
        air_exchange=math.exp(value("air_exchange")),
        film=math.exp(value("film")),
        water=value("moisture"),
    )
    return replace(changed, name=f"{batch.name} (with learned values)", learned=learned)


def unlearned(batch: Batch) -> Batch:
    """Return the batch in air no hotter than its settings, of a film that was not learned, with meat no wetter than typed.

    What was learned to be cooler or drier stays. Of the diffusivity whoever runs it takes care: without learned values
    `diffusivity_factor` is 1.
    """
    learned = batch.learned
    if learned is None:
        return batch
    values = {key: one.value for key, one in learned.corrections.items()}
    hotter, wetter = (max(values.get(key, 0.0), 0.0) for key in ("setpoint", "moisture"))
    film = math.exp(values.get("film", 0.0))
    return replace(moved(batch, setpoint_K=-hotter, film=1.0 / film, water=-wetter), learned=None)


def may_gain(batch: Batch) -> bool:
    """Whether anything was learned that may make the meat hotter, or keep it wet for longer, than as typed."""
    values = {key: one.value for key, one in batch.learned.corrections.items()} if batch.learned else {}
    hotter = any(values.get(key, 0.0) > 0.0 for key in ("setpoint", "moisture", "diffusivity"))
    return hotter or values.get("film", 0.0) != 0.0


def learned_words(learned: Learned) -> str:
    """Return what was learned, in words.

    Examples
    --------
    >>> from dryingsim.batch.schema import Correction
    >>> learned_words(Learned(logs=(), corrections={"setpoint": Correction(value=20.0, uncertainty=1.0)}))
    'air against its setting +20.0 K (+36.0 degF)'
    """
    parts = []
    for key, one in learned.corrections.items():
        kind = KEYS[key]
        if kind.dimension == "temperature difference":
            amount = f"{one.value:+.1f} K ({1.8 * one.value:+.1f} degF)"
        else:
            amount = f"{100.0 * one.value:+.1f} %" if kind.dimension else f"times {math.exp(one.value):.2f}"
        parts.append(f"{kind.words} {amount}")
    return ", ".join(parts)


def diffusivity_factor(batch: Batch) -> float:
    """Return the learned factor on the diffusivity; 1 where nothing was learned."""
    if batch.learned is None or "diffusivity" not in batch.learned.corrections:
        return 1.0
    return math.exp(batch.learned.corrections["diffusivity"].value)


def dial_K(batch: Batch, air: Air) -> float:
    """Return what the thermostat is to be set to [K], so that the air is as a stage of the batch has it.

    Parameters
    ----------
    batch : Batch
    air : Air
        Of one of its stages.
    """
    if batch.learned is None or "setpoint" not in batch.learned.corrections:
        return air.temperature_K
    return air.temperature_K - batch.learned.corrections["setpoint"].value


def appliance_name(batch: Batch) -> str:
    """Return what a learned file calls the appliance of a batch."""
    return batch.appliance.name if batch.appliance else OWN_AIR
