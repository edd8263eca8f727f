"""What a plan says to set: the stages one by one, with the dial beside the air where a thermostat's offset was learned."""

import math
from functools import partial

from dryingsim.batch.learned import dial_K
from dryingsim.batch.schema import Batch, Humidity, Stage
from dryingsim.plan.outcome import Plan
from dryingsim.show.core.quantities import MEDIA, Unit, Units, about, at_least, class_name, spoken

_ROUNDING = 1e-3  # of a conversion, in tenths of a degree and in seconds: what stands in the file is not raised for it


def steps(plan: Plan, shown: Units) -> list[str]:
    """Return what to set, stage by stage, what is left out of the file, and what was not measured in such air."""
    lines = []
    meat = next((k for k in plan.template.variables if k.key == "meat.thickness"), None)
    if meat is not None:
        sizes = ", ".join(class_name(shown, one) for one in plan.planned.meat.classes)
        lines.append(f"- slices of {sizes}")
    gap = next((k for k in plan.template.variables if k.key == "appliance.door.gap"), None)
    if gap is not None and plan.planned.appliance is not None and plan.planned.appliance.door is not None:
        lines.append(f"- door ajar by {shown.length.text(plan.planned.appliance.door.gap_m)}")
    starts = [0.0, *plan.history.stage_end_s.tolist()]
    for i, stage in enumerate(plan.planned.stages):
        span_s = float(plan.history.stage_end_s[i] - starts[i])
        lines.append(
            f"{i + 1}. {stage.name}: {_stage(plan.planned, stage, shown)}, {_until(stage, span_s, shown)}"
        )
    return [*lines, *(f"Left out: {name}." for name in left_out(plan)), *unmeasured(plan)]


def unmeasured(plan: Plan) -> list[str]:
    """Return in which stages the humidity counts as not measured, though the file says that it was."""
    names = ", ".join(plan.batch.stages[i].name for i in plan.template.unmeasured(plan.values))
    return [f"Other air than was measured, so its humidity counts as not measured: {names}."] if names else []


def degrees_to_set(unit: Unit, kelvin: float) -> str:
    """Return a temperature to set as it stands in the file: to a tenth of a degree, never less than there.

    Parameters
    ----------
    unit : Unit
        Of temperature.
    kelvin : float
        [K]
    """
    return f"{_not_less(float(unit.value(kelvin)))} {unit.symbol}"


def percent_to_set(share: float) -> str:
    """Return a share to set as it stands in the file: to a tenth of a percent, never less than there."""
    return f"{_not_less(100.0 * share)} %"


def _not_less(value: float) -> str:
    tenths = 10.0 * value
    return f"{math.ceil(tenths - _ROUNDING) / 10.0:.1f}".removesuffix(".0")


def time_to_set(seconds: float) -> str:
    """Return how long a stage is to last as it stands in the file, to the second: "13 min", "1 h 12 min 30 s"."""
    minutes, rest = divmod(math.ceil(seconds - _ROUNDING), 60)
    parts = ([spoken(60.0 * minutes)] if minutes else []) + ([f"{rest} s"] if rest or not minutes else [])
    return " ".join(parts)


def _stage(batch: Batch, stage: Stage, shown: Units) -> str:
    told = partial(degrees_to_set, shown.temperature)
    if not stage.dries:
        return MEDIA[stage.kind].format(at=told(stage.air.temperature_K))
    dial, air = told(dial_K(batch, stage.air)), told(stage.air.temperature_K)
    # where a thermostat's offset was learned, what to set is not what the air will be
    text = f"air {air}" if dial == air else f"dial {dial}, air then {air}"
    text += _humidity(stage.air.humidity, shown)
    if stage.door_gap_m is not None:
        text += f", door ajar by {shown.length.text(stage.door_gap_m)}"
    return text


def _humidity(humidity: Humidity, shown: Units) -> str:
    if humidity.kind == "room":
        return ""
    if humidity.kind == "relative":
        return f" at a relative humidity of {percent_to_set(humidity.value)}"
    held = degrees_to_set(shown.temperature, humidity.value)
    return f" with a {humidity.kind.replace('_', ' ')} of {held}"


def _until(stage: Stage, span_s: float, shown: Units) -> str:
    until = stage.until
    if until is None:
        return (
            f"for {time_to_set(stage.duration_s)}" if stage.duration_s is not None else f"for {about(span_s)}"
        )
    conditions, lasting = [], f", about {about(span_s)}"
    if until.water_activity is not None:
        conditions.append(f"water activity {until.water_activity:g} (wettest)")
    if until.weight_loss is not None:
        conditions.append(f"{percent_to_set(until.weight_loss)} of the weight is gone")
    if until.core_temperature_K is not None:
        core = degrees_to_set(shown.temperature, until.core_temperature_K)
        conditions.append(f"the middle of the thickest is at {core}")
        if not stage.dries:  # what every slice is counted on to get
            lasting = f", {at_least(span_s)} or more"
    return f"until {' or '.join(conditions)}{lasting}"


def left_out(plan: Plan) -> list[str]:
    """Return the names of the stages of the file that the plan leaves out."""
    kept = len(plan.planned.stages)
    if kept == len(plan.batch.stages):
        return []
    return [plan.batch.stages[i].name for i in plan.template.dropped(plan.values)]


def stood(plan: Plan, key: str) -> str:
    """Return what stands in the file for a key, as typed; empty where nothing simple does."""
    place = plan.template.stands(key)
    return "" if place is None or isinstance(place, dict | list) else str(place)
