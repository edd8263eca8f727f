"""What a planned batch weighs when its drying ends, and the weight to stop at."""

from dryingsim.plan.outcome import Plan
from dryingsim.plan.requirements import drying_stage
from dryingsim.show.core.quantities import Units, about, percent


def surely_dry_brief(plan: Plan, shown: Units) -> str:
    """Return when a load is likely surely dry, beside the planned end, and by what weight; nothing where no weight tells."""
    answer = plan.answer
    stop = answer.doneness.stop
    if stop is None or stop.weight_kg is None or stop.likely_s is None:
        return ""
    each = " in each load" if plan.answer.loads.count > 1 else ""
    weight = f"{shown.weight.text(stop.weight_kg)} of {shown.weight.text(answer.loaded_kg)} loaded"
    return f"; surely dry (95 %) after about {about(stop.likely_s)}{each}: go on to {weight}"


def weigh_brief(plan: Plan, shown: Units) -> list[str]:
    """Return in brief what it weighs at the planned end, how likely it is dry by then, and where it surely is."""
    answer = plan.answer
    planned, loaded, stop = answer.weight_at(_drying_end_s(plan)), answer.loaded_kg, answer.doneness.stop
    wet = percent(plan.with_uncertainties.slowest_misses().value)
    end = f"At the planned end, {shown.weight.text(planned)}, chance that a slice is not dry: {wet}."
    if stop is None or stop.weight_kg is None:
        return [f"No weight tells for sure that it is dry: measure its water activity. {end}"]
    if plan.reached and stop.likely_s is not None:  # the plan has said how far to go on
        return [end]
    return [f"Go on to {_of_loaded(stop.weight_kg, loaded, shown)}: then surely dry (95 %). {end}"]


def weigh_sentence(plan: Plan, shown: Units) -> str:
    """Return what it weighs at the planned end, and the weight to stop at."""
    answer = plan.answer
    planned, loaded, stop = answer.weight_at(_drying_end_s(plan)), answer.loaded_kg, answer.doneness.stop
    text = f"When drying ends as planned, {_of_loaded(planned, loaded, shown)}"
    if plan.planned.take_off == "as ready":
        text += ", slices taken off before among it"
    if stop is None or stop.weight_kg is None:
        return f"{text}: no weight tells for sure that it is dry, so measure its water activity."
    return f"{text}; surely dry (95 %) at {_of_loaded(stop.weight_kg, loaded, shown)}: end it by that weight, not by the clock."


def _of_loaded(weight_kg: float, loaded_kg: float, shown: Units) -> str:
    return f"{shown.weight.text(weight_kg)} of {shown.weight.text(loaded_kg)} loaded ({percent(weight_kg / loaded_kg)})"


def _drying_end_s(plan: Plan) -> float:
    ends = plan.history.stage_end_s
    return float(ends[min(drying_stage(plan.planned), ends.size - 1)])
