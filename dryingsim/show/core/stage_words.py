"""What is set in a stage, and what ends it, as every sheet and record has it."""

from dryingsim.batch.learned import dial_K
from dryingsim.batch.schema import Batch, Stage
from dryingsim.show.core.quantities import MEDIA, Units


def setting(stage: Stage, batch: Batch, shown: Units) -> str:
    """Return what is set in a stage: its medium, or its air as the dial shows it, humidity, door."""
    air = stage.air
    told = shown.temperature.text
    if not stage.dries:
        return MEDIA[stage.kind].format(at=told(air.temperature_K))
    text = told(dial_K(batch, air))
    if stage.air_end is not None:
        text += f" rising to {told(dial_K(batch, stage.air_end))}"
    kind, value = air.humidity.kind, air.humidity.value
    if kind == "relative":
        text += f", {100.0 * value:.0f} % RH"
    elif kind != "room":
        text += f", {kind.replace('_', ' ')} {told(value)}"
    door = batch.appliance.door if batch.appliance is not None else None
    gap = stage.door_gap_m if stage.door_gap_m is not None else door.gap_m if door is not None else 0.0
    if gap:
        text += f", door {shown.length.text(gap)} ajar"
    return text + (", slices turned first" if stage.turn else "")


def ending(stage: Stage, shown: Units) -> str:
    """Return what ends a stage: the clock, or the condition."""
    until = stage.until
    if until is None:
        return "by the clock"
    if until.water_activity is not None:
        return f"water activity {until.water_activity:.2f}"
    if until.weight_loss is not None:
        return f"weight loss {100.0 * until.weight_loss:.0f} %"
    return f"core {shown.temperature.text(until.core_temperature_K or 0.0)}"
