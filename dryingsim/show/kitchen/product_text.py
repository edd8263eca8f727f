"""The dried meat in words: how it bends, what it yields and costs."""

from dryingsim.answer import Answer
from dryingsim.judge.done_window import Window
from dryingsim.judge.texture import HalfHourMore, TextureWindow, glassy_moisture, state_of
from dryingsim.judge.yield_and_cost import SERVING_KG
from dryingsim.properties.water_activity import REFERENCE_TEMPERATURE
from dryingsim.show.core.quantities import Units, class_name, clock, money, spoken


def texture_sentences(answer: Answer, units: str | None = None) -> list[str]:
    """Return when slices bend without breaking, and what half an hour more does, in words."""
    shown, windows = Units(answer.batch, units), answer.texture
    limits = windows.limits
    text = (
        f"Slices bend without breaking while they even out at a water activity between {limits.pliable:.2f} and about "
        f"{limits.brittle:.2f} (the lower limit is an estimate, {limits.brittle_range[0]:.2f}-"
        f"{limits.brittle_range[1]:.2f}; dry tuna muscle is a glass at room temperature below "
        f"{glassy_moisture(REFERENCE_TEMPERATURE):.2f} kg of water per kg dry). "
    )
    if len(windows.trays) > 1:
        text += " ".join(f"Tray {i}: {_span(window)}." for i, window in enumerate(windows.trays, start=1))
    elif len(windows.classes) > 1:
        pairs = zip(answer.batch.meat.classes, windows.classes, strict=True)
        text += "; ".join(f"{class_name(shown, kind)}: {_span(window)}" for kind, window in pairs) + "."
    else:
        text += f"Here: {_span(windows.batch)}."
    if not windows.batch.open:
        text += " There is no time when all are right: take each off when it is ready."
    return [text, _more(answer.half_hour_more, shown)]


def _span(window: TextureWindow) -> str:
    begin, end = window.pliable, window.brittle
    if begin.expected_s is None:
        return "not pliable yet when the run ends"
    breaks = "not brittle in this run" if end.expected_s is None else f"brittle from {_clocks(end)} on"
    return f"pliable from {_clocks(begin)} on, {breaks}"


def _clocks(window: Window) -> str:
    early, late = window.earliest_s, window.latest_s
    span = f"{clock(early) if early is not None else '-'} to {clock(late) if late is not None else 'beyond the end'}"
    return f"{clock(window.expected_s or 0.0)} ({span})"


def _more(more: HalfHourMore, shown: Units) -> str:
    how = "" if more.simulated else " at most, at the present rate,"
    before, after = state_of(more.driest[0]), state_of(more.driest[1])
    turned = f" The driest turn from {before} to {after}." if before != after else ""
    return (
        f"Half an hour more at {spoken(more.at_s)}{how} takes the batch from {shown.weight.text(more.weight_kg[0])} to "
        f"{shown.weight.text(more.weight_kg[1])}, the wettest slices from a water activity of {more.wettest[0]:.2f} to "
        f"{more.wettest[1]:.2f} and the driest from {more.driest[0]:.2f} to {more.driest[1]:.2f}.{turned}"
    )


def yield_sentences(answer: Answer, units: str | None = None) -> list[str]:
    """Return what a batch yields, in words."""
    product, weight = answer.product, Units(answer.batch, units).weight.text
    if not product.done:
        each = " of each load" if product.loads > 1 else ""
        return [
            f"Not dry by the end of the plan: {weight(product.finished_kg)} of raw or half-dried meat is left of "
            f"{weight(product.raw_kg)}{each}. There is nothing to portion or to pack yet: dry it on."
        ]
    said = [
        f"Done it is {weight(product.finished_kg)} from {weight(product.raw_kg)} of raw meat, {100.0 * product.share:.0f} %: "
        f"about {product.pieces} slices of {weight(product.piece_kg)}, {product.servings:.0f} servings of {weight(SERVING_KG)}. "
        "Drip, trimmings and what sticks to the trays are not counted. Whether it keeps is another question: see "
        "'dryingsim store'."
    ]
    if product.loads > 1:
        said.append(
            f"That is one load; all {product.loads} come to {weight(product.loads * product.finished_kg)}, "
            f"{product.loads * product.servings:.0f} servings."
        )
    return said


def cost_sentence(answer: Answer, units: Units) -> list[str]:
    """Return what a batch costs, where something was said to be paid."""
    cost = answer.product.cost
    if cost is None:
        return []
    named = {"meat": cost.meat, "ingredients": cost.ingredients, "energy": cost.energy}
    parts = ", ".join(f"{name} {value:.2f}" for name, value in named.items() if value is not None)
    per = cost.per_kg / float(units.bulk.value(1.0))
    finished = (
        f", {money(per, cost.currency)} per {units.bulk.symbol} finished" if answer.product.done else ""
    )
    left = "" if cost.energy is not None else "; energy is not counted"
    left += "" if cost.meat is not None else "; the meat is not counted"
    left += f"; no price is told of {', '.join(cost.unpriced)}" if cost.unpriced else ""
    return [f"It costs {money(cost.total, cost.currency)} ({parts}{left}){finished}; work is not counted."]
