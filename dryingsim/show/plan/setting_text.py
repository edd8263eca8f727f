"""What a plan says to set: the stages one by one, with the dial beside the air where a thermostat's offset was learned."""

from dryingsim.batch.learned import dial_K
from dryingsim.batch.schema import Batch, Humidity, Stage
from dryingsim.plan.outcome import Plan
from dryingsim.show.core.quantities import MEDIA, Units, about, class_name


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
        span = about(plan.history.stage_end_s[i] - starts[i])
        lines.append(
            f"{i + 1}. {stage.name}: {_stage(plan.planned, stage, shown)}, {_until(stage, span, shown)}"
        )
    return [*lines, *(f"Left out: {name}." for name in left_out(plan)), *unmeasured(plan)]


def unmeasured(plan: Plan) -> list[str]:
    """Return in which stages the humidity counts as not measured, though the file says that it was."""
    names = ", ".join(plan.batch.stages[i].name for i in plan.template.unmeasured(plan.values))
    return [f"Other air than was measured, so its humidity counts as not measured: {names}."] if names else []


def _stage(batch: Batch, stage: Stage, shown: Units) -> str:
    told = shown.temperature.text
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
        return f" at a relative humidity of {100.0 * humidity.value:.0f} %"
    return f" with a {humidity.kind.replace('_', ' ')} of {shown.temperature.text(humidity.value)}"


def _until(stage: Stage, span: str, shown: Units) -> str:
    until = stage.until
    if until is None:
        return f"for {span}"
    conditions = []
    if until.water_activity is not None:
        conditions.append(f"water activity {until.water_activity:g} (wettest)")
    if until.weight_loss is not None:
        conditions.append(f"{100.0 * until.weight_loss:.0f} % of the weight is gone")
    if until.core_temperature_K is not None:
        conditions.append(
            f"the middle of the thickest is at {shown.temperature.text(until.core_temperature_K)}"
        )
    return f"until {' or '.join(conditions)}, about {span}"


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
