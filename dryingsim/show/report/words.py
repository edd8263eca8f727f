"""What each picture of the report says in numbers: for those who do not see it, and for those who do."""

from collections.abc import Sequence

import numpy as np

from dryingsim.answer import Answer
from dryingsim.explore.changes import Changed
from dryingsim.history import History
from dryingsim.judge.grades import Estimate, Lethality
from dryingsim.judge.taking_off import while_in
from dryingsim.properties import moist_air
from dryingsim.show.core.quantities import AROUND, Units, at_least, class_name, logs, slices, slowest, spoken
from dryingsim.show.lethality.words import ESTIMATE_WORDS
from dryingsim.show.report.change_pictures import shift_words, subjects
from dryingsim.show.run.air_pictures import moments
from dryingsim.show.run.depth_pictures import target_moisture_db
from dryingsim.show.run.rate_pictures import (
    STEADY,
    fluxes,
    in_first_stage,
    left_out_s,
    rate_unit,
    steady_share,
)

_EVEN_TIMES = 500  # records crowd where a stage begins


def _done(seconds: float | None) -> str:
    return "not in this run" if seconds is None else f"after {spoken(seconds)}"


def temperatures(answer: Answer, shown: Units) -> str:
    """Return how hot the slowest slices got, and their air."""
    history, heat, told = answer.history, answer.heating, shown.temperature.text
    k = slowest(history)
    first = ""
    if heat.first_hour_K is not None and heat.air_first_hour_K is not None:
        meat, around = told(heat.first_hour_K), told(heat.air_first_hour_K)
        first = f"After one hour the coldest spot of the meat is at {meat} in air of {around}. "
    wet = told(_usual_wet_bulb_K(history, k))
    return (
        f"{first}It is hottest after {at_least(heat.peak_s)}: {told(heat.peak_K)} in {AROUND[heat.peak_in]} of "
        f"{told(heat.air_at_peak_K)}. "
        f"The wet bulb of the drying air is {wet} for most of the time: meat with wet faces would stay there but for the heat "
        "that radiates on it, and it warms on as its faces dry."
    )


def _usual_wet_bulb_K(history: History, k: int) -> float:
    """Return the median over time of the wet bulb at a slab while it dries [K]: liquid and rests before have no say."""
    heating = history.batch.first_drying
    begun = float(history.stage_end_s[heating - 1]) if heating else 0.0
    time = np.linspace(begun, float(history.time_s[-1]), _EVEN_TIMES)[1:]
    return float(np.median(np.interp(time, history.time_s, history.air_wet_bulb_K[:, k])))


def water_activity(answer: Answer, shown: Units) -> str:
    """Return when each class is down to the target."""
    done = answer.doneness
    pairs = zip(answer.batch.meat.classes, done.classes, strict=True)
    each = "; ".join(f"{class_name(shown, one)} {_done(window.expected_s)}" for one, window in pairs)
    return f"Down to a water activity of {done.target_water_activity:.2f}, give or take {done.uncertainty:.2f}: {each}."


def weight(answer: Answer, shown: Units) -> str:
    """Return what was loaded, and what it weighs when done and at the end, what was taken off counted."""
    told, when = shown.weight.text, answer.doneness.weight_kg
    done = "" if when is None else f" {told(when)} when done,"
    return f"{told(answer.loaded_kg)} loaded,{done} {told(answer.weight_at(answer.end_s))} at the end of the plan."


def moisture(answer: Answer, shown: Units) -> str:
    """Return how uneven the slowest slices are when done, and how far they have shrunk."""
    history, when = answer.history, answer.doneness.batch.expected_s
    k = slowest(history)
    i = history.time_s.size - 1 if when is None else int(np.abs(history.time_s - when).argmin())
    x, middle = history.moisture_db[i, :, k], history.slabs.nodes.size // 2
    length, bulk = shown.length.text, shown.bulk.symbol
    time = "When done" if when is not None else "At the end"
    return (
        f"{time} the middle of the {slices(history, shown, k)} still holds {x[middle]:.2f} {bulk} of water per {bulk} of dry "
        f"solid, the upper face {x[-1]:.2f}; evened out that is {history.mean_moisture_db[i, k]:.2f}, the target "
        f"{target_moisture_db(history):.2f}. They have shrunk from {length(history.thickness_m[0, k])} to "
        f"{length(history.thickness_m[i, k])}."
    )


def rate(history: History, shown: Units) -> str:
    """Return the highest rate, where it falls to, and whether there is a period of steady drying."""
    k = int(np.flatnonzero(history.kind == history.kind[slowest(history)])[0])  # as drawn: on the first tray
    history = while_in(history, k)
    x, flux = fluxes(history)
    first = in_first_stage(history)
    flux, x = flux[first, k], x[first, k]
    factor, unit = rate_unit(shown)
    at, share = int(flux.argmax()), steady_share(history, k)
    when = spoken(float(history.time_s[1:][first][at]))
    flash = ""
    if left_out := left_out_s(history):
        flash = f" What leaves while they are heated, and in the first {spoken(left_out)} of drying, is left out: they flash."
    steady = "hardly a period of constant rate" if share < 0.25 else "a period of constant rate"
    return (
        f"The {slices(history, shown, k)} dry fastest, {factor * flux[at]:.2g} {unit}, at a moisture of {x[at]:.2f} "
        f"{shown.ratio} after {when}; at the end of that stage the rate is {factor * flux[-1]:.2g}. "
        f"{100.0 * share:.0f} % of the water leaves at {100.0 * STEADY:.0f} % of the highest rate or more: {steady}."
        f"{flash}"
    )


def air(history: History, shown: Units) -> str:
    """Return the air of each moment with its wet bulb and humidity."""
    pressure, told = history.batch.room.pressure_Pa, shown.temperature.text
    parts = []
    for way in moments(history):
        t, w = float(way.temperature_K[0]), float(way.humidity_ratio[0])
        vapour = moist_air.vapour_pressure(w, pressure)
        wet = float(moist_air.wet_bulb(t, vapour, pressure))
        share = 100.0 * float(moist_air.relative_humidity(vapour, t))
        text = f"{way.name}: {told(t)}, {share:.2g} % relative humidity, wet bulb {told(wet)}"
        if way.temperature_K.size > 1:
            text += f", leaving the last place at {told(float(way.temperature_K[-1]))}"
        parts.append(text)
    return f"Air at the slices: {'; '.join(parts)}."


def reduction(history: History, judged: Lethality, estimate: Estimate = "lower") -> str:
    """Return what one estimate comes to at the least-reduced place of the organism that limits, against what is required."""
    worst, plan = judged.worst, spoken(float(history.time_s[-1]))
    found = worst.counted if estimate == "lower" else worst.best
    where = "On intact muscle only the faces count, the lower and the upper edge of the picture."
    if judged.form != "sliced":
        where = f"In {judged.form} meat every depth counts."
    return (
        f"By the {ESTIMATE_WORDS[estimate]} the log10 reduction of {worst.name} at its least-reduced place comes to "
        f"{logs(found)} in the whole plan of {plan}; {worst.target:g} are required. {where}"
    )


def trays(answer: Answer) -> str:
    """Return when each tray is done."""
    judged = answer.trays
    assert judged is not None  # only told where there is an appliance
    each = "; ".join(
        f"tray {number} {_done(one.all_done.expected_s)}" for number, one in enumerate(judged.done, start=1)
    )
    return f"All slices done: {each}."


def changes(found: Sequence[Changed]) -> str:
    """Return what the two largest effects are."""
    if all(one.done_s is None for one in found):
        return f"Neither as it is nor with any of these changes is the batch done in its plan of {spoken(found[0].end_s)}."
    told = [
        f"{subject}: " + ", ".join(f"{one.change} {shift_words(one, found[0])}" for one in runs)
        for subject, runs in subjects(found)[:2]
    ]
    return f"The time until done moves most with {'; then '.join(told)}."
