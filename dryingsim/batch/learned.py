"""What logs of earlier batches taught, as a file that later batches name; and a batch with things off by so much.

Five things can be learned (`KEYS`): factors on the diffusivity, on the film coefficient and on the air exchange with
the room, and offsets of the air from its setting and of the water in the raw meat. `with_learned` puts all but the
first into the batch, so whoever simulates it need not know; `model.build` asks for the first. A setting shown to a
person is what the dial says: `dial_K`.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from dryingsim.batch.checks import check_choice, check_keys, check_range, show
from dryingsim.batch.schema import Air, Appliance, Batch, Composition, Correction, Learned, Stage
from dryingsim.batch.text_file import read_text
from dryingsim.batch.toml_reading import parse_toml
from dryingsim.batch.toml_writing import toml_text
from dryingsim.batch.units import to_ratio, to_si
from dryingsim.errors import InputError


@dataclass(frozen=True, slots=True)
class _Key:
    """How one of the things is typed: a factor without unit, or an offset of a dimension, within limits."""

    words: str
    of: str  # "meat" or "appliance"
    dimension: str  # "": a factor
    most: float  # of the offset in SI, or of the factor's logarithm


_FACTOR = math.log(8.0)  # beyond a factor 8 it is another batch, not another kitchen
KEYS: dict[str, _Key] = {
    "diffusivity": _Key("speed of water in the meat", "meat", "", _FACTOR),
    "film": _Key("film coefficient", "appliance", "", _FACTOR),
    "setpoint": _Key("air against its setting", "appliance", "temperature difference", 40.0),
    "air_exchange": _Key("air exchange with the room", "appliance", "", _FACTOR),
    "moisture": _Key("water in the raw meat", "meat", "fraction", 0.15),
}
_PARTS = ("all", "meat", "appliance")
_OWN_AIR = "air as the stages say"  # what the appliance is called where there is none
_DRYNESS_MARGIN_K = 0.5  # air set lower by mistake stays so much above the wet bulb or dew point that is held


# --- a batch with things off -----------------------------------------------------------------------------------------
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
    def off(air: Air) -> Air:
        lowest = (
            air.humidity.value + _DRYNESS_MARGIN_K if air.humidity.kind in ("wet_bulb", "dew_point") else 0.0
        )
        return replace(
            air, temperature_K=max(air.temperature_K + by_K, lowest), speed_m_s=air.speed_m_s * film**2
        )

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
    """Return the batch as it will be by what was learned."""

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
    >>> learned_words(Learned(logs=(), corrections={"setpoint": Correction(value=20.0, uncertainty=1.0)}))
    'air against its setting +20.0 K (+36.0 degF)'
    """
    told = []
    for key, one in learned.corrections.items():
        kind = KEYS[key]
        if kind.dimension == "temperature difference":
            amount = f"{one.value:+.1f} K ({1.8 * one.value:+.1f} degF)"
        else:
            amount = f"{100.0 * one.value:+.1f} %" if kind.dimension else f"times {math.exp(one.value):.2f}"
        told.append(f"{kind.words} {amount}")
    return ", ".join(told)


def diffusivity_factor(batch: Batch) -> float:
    """Return the learned factor on the diffusivity; 1 where nothing was learned."""
    if batch.learned is None or "diffusivity" not in batch.learned.corrections:
        return 1.0
    return math.exp(batch.learned.corrections["diffusivity"].value)


def dial_K(batch: Batch, air: Air) -> float:
    """Return what the thermostat is to be set to [K], so that the air is as a stage of the batch has it."""
    if batch.learned is None or "setpoint" not in batch.learned.corrections:
        return air.temperature_K
    return air.temperature_K - batch.learned.corrections["setpoint"].value


# --- the file --------------------------------------------------------------------------------------------------------
def learned_of(place: str, table: Any, batch: Batch, folder: Path) -> Learned:
    """Read what the table [learned] of a batch names.

    Parameters
    ----------
    place : str
        The table, for messages.
    table : object
        What was typed there: `file`, and `use` for a part of it.
    batch : Batch
        Without it.
    folder : Path
        That of the batch file: a relative `file` starts there.
    """
    if not isinstance(table, dict) or not isinstance(table.get("file"), str):
        raise InputError(f"{place} needs 'file': the name of a file that 'dryingsim learn --out' wrote")
    check_keys(place, table, ("file", "use"))
    part = check_choice(f"{place}, use", table.get("use", "all"), _PARTS)
    path = folder / table["file"]
    learned, of = read_learned(read_text(path, f"dryingsim learn --out {path}", f"{place}, file"), str(path))
    own = appliance_name(batch)
    if part != "meat" and of != own:
        raise InputError(
            f"{place}: {path.name} was learned in: {of}; this batch dries in: {own}. Take the meat's part of it with "
            'use = "meat", or leave [learned] out'
        )
    kept = {key: one for key, one in learned.corrections.items() if part in ("all", KEYS[key].of)}
    if batch.appliance is None:
        kept.pop("air_exchange", None)
    return replace(learned, corrections=kept)


def read_learned(text: str, name: str) -> tuple[Learned, str]:
    """Read the text of a learned file.

    Parameters
    ----------
    text : str
    name : str
        Of the file, for messages.

    Returns
    -------
    tuple
        What it says, and the name of the appliance that it was learned in.
    """
    document = parse_toml(text, name)
    check_keys(name, document, ("about", "logs", "appliance", "corrections"))
    logs, corrections = document.get("logs", []), document.get("corrections", {})
    if not isinstance(logs, list) or not all(isinstance(one, str) for one in logs):
        raise InputError(f"{name}: logs = {show(logs)}: a list of file names is expected")
    if not isinstance(corrections, dict):
        raise InputError(
            f"{name}: corrections = {show(corrections)}: a table of {', '.join(KEYS)} is expected"
        )
    check_keys(f"{name}: [corrections]", corrections, KEYS)
    found = {key: _correction(f"{name}: {key}", key, typed) for key, typed in corrections.items()}
    appliance = document.get("appliance", _OWN_AIR)
    if not isinstance(appliance, str) or not appliance.isprintable():
        raise InputError(
            f"{name}: appliance = {show(appliance)}: the name of an appliance is expected, in quotes"
        )
    return Learned(logs=tuple(logs), corrections=found), appliance


def _correction(where: str, key: str, typed: Any) -> Correction:
    kind = KEYS[key]
    word = "offset" if kind.dimension else "factor"
    if not isinstance(typed, dict) or not {word, "uncertainty"} <= set(typed):
        raise InputError(f"{where} = {show(typed)}: a table of '{word}' and 'uncertainty' is expected")
    check_keys(where, typed, (word, "uncertainty"))
    if kind.dimension:
        value, uncertainty = (
            to_si(f"{where}, {one}", typed[one], kind.dimension) for one in (word, "uncertainty")
        )
    else:
        factor = check_range(
            f"{where}, factor", typed[word], to_ratio(where, typed[word]), 0.125, 8.0, "1/8 to 8"
        )
        value, uncertainty = (
            math.log(factor),
            to_si(f"{where}, uncertainty", typed["uncertainty"], "fraction"),
        )
    check_range(f"{where}, {word}", typed[word], value, -kind.most, kind.most, "what is likely")
    check_range(f"{where}, uncertainty", typed["uncertainty"], uncertainty, 0.0, kind.most, "what is likely")
    return Correction(value=value, uncertainty=uncertainty)


def appliance_name(batch: Batch) -> str:
    """Return what a learned file calls the appliance of a batch."""
    return batch.appliance.name if batch.appliance else _OWN_AIR


def learned_toml(learned: Learned, appliance: str, about: str) -> str:
    """Return the text of a file that `learned_of` reads."""
    lines = [
        "# Written by 'dryingsim learn'. A batch file uses it with",
        "#   [learned]",
        '#   file = "..."          # this file; use = "meat" or "appliance" takes a part of it',
        "# The values are for the next batch: what was special to the batches of the logs counts for less than there.",
        "# An uncertainty is one standard deviation of what may be met in it.",
        f"about = {toml_text(about)}",
        f"logs = {toml_text(learned.logs)}",
        f"appliance = {toml_text(appliance)}",
        "",
        "[corrections]",
        *(f"{key} = {_told(key, one)}  # {KEYS[key].words}" for key, one in learned.corrections.items()),
    ]
    return "\n".join([*lines, ""])


def _told(key: str, one: Correction) -> str:
    if KEYS[key].dimension == "temperature difference":
        return f'{{ offset = "{one.value:.2f} K", uncertainty = "{one.uncertainty:.2f} K" }}'
    if KEYS[key].dimension:
        return f'{{ offset = "{100.0 * one.value:.2f} %", uncertainty = "{100.0 * one.uncertainty:.2f} %" }}'
    return f'{{ factor = {math.exp(one.value):.3f}, uncertainty = "{100.0 * one.uncertainty:.1f} %" }}'


def without_learned(document: Mapping[str, Any]) -> dict[str, Any]:
    """Return a batch file, as a TOML reader takes it apart, without what it has learned."""
    return {key: value for key, value in document.items() if key != "learned"}
