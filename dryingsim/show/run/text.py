"""The answers of a run in sentences: when it is done, what it weighs, how warm it gets, log reductions."""

from dataclasses import replace

import numpy as np

from dryingsim.answer import Answer
from dryingsim.batch.schema import Batch
from dryingsim.judge.done_window import Window
from dryingsim.judge.doneness import Doneness
from dryingsim.judge.energy import Consumption, Energy
from dryingsim.properties.solutions import SALT_SATURATION
from dryingsim.show.core.quantities import AROUND, Units, about, at_least, class_name, money, spoken
from dryingsim.show.core.tables import SPREAD
from dryingsim.show.learn.learned_words import learned_sentence
from dryingsim.show.lethality import text as lethality_text
from dryingsim.show.lethality.brief import VERDICTS, safety_lines
from dryingsim.show.run.laying_text import laying_sentences

_UNEVEN_K = 6.0  # between the hottest and the coldest spot, worth a word
_HARDLY_DRIED = (
    0.6  # of the weight laid on: lean meat dried to 0.85 without much salt keeps 40-50 % (estimate)
)
_MUCH_OF_THE_TIME = 0.1  # share of the drying time, worth a word
_WORTH_TELLING_S = 300.0  # a run that goes on for less than this is not told apart from its done part


def when_sentences(answer: Answer, units: str | None = None) -> list[str]:
    """Return when a batch is done, what it weighs then and how hot it got."""
    shown, learned = Units(answer.batch, units), learned_sentence(answer.batch, units)
    said = [
        _when(answer, shown),
        *laying_sentences(answer),
        *_weighing(answer, shown),
        _heat(answer, shown),
    ]
    return [learned, *said] if learned else said


def load_sentences(answer: Answer, units: str | None = None) -> list[str]:
    """Return how the trays are loaded and what energy is taken; nothing in given air."""
    return [*_load(answer), *_energy(answer, Units(answer.batch, units))]


def window_sentences(answer: Answer, shown: Units) -> list[str]:
    """Return when a batch is likeliest done, from when to when that may be, and the weight to stop at."""
    if answer.doneness.batch.expected_s is None:
        return [_not_done(answer)]
    return [
        _done(answer.doneness, answer.doneness.batch.expected_s, answer.end_s),
        _stop(answer.doneness, shown),
    ]


def _when(answer: Answer, shown: Units) -> str:
    done, when = answer.doneness, answer.doneness.batch.expected_s
    parts = [_not_done(answer) if when is None else _done(done, when, answer.end_s)]
    if done.first_look_s is not None:
        parts.append(f"Look first after about {spoken(done.first_look_s)}.")
        if len(done.classes) > 1:
            pairs = zip(answer.batch.meat.classes, done.classes, strict=True)
            each = ", ".join(f"{class_name(shown, one)} {_time(window)}" for one, window in pairs)
            parts.append(f"Each on its own: {each}.")
    return " ".join(parts)


def _done(done: Doneness, when: float, end: float) -> str:
    return (
        f"Done after about {spoken(when)}: the wettest slices then even out at a water activity of "
        f"{done.target_water_activity:.2f}. Nine times in ten it is {_band(done.batch, end)}: kitchens, batches and slices "
        f"differ, and the water activity of {done.product} is known to ±{done.uncertainty:.2f}."
    )


def _not_done(answer: Answer) -> str:
    done, last = answer.doneness, float(answer.history.equalised_water_activity[-1].max())
    early = ""
    if done.batch.earliest_s is not None:
        soonest = spoken(done.batch.earliest_s)
        early = f"; meat that dries fast may be there from {soonest} on (1 in 20 is sooner)"
    return (
        f"Not done when the run ends, after {spoken(answer.end_s)}: the wettest slices would even out at a water activity of "
        f"{last:.2f}, above the target of {done.target_water_activity:.2f}{early}."
    )


def _band(window: Window, end: float) -> str:
    earliest = spoken(window.earliest_s or 0.0)
    if window.latest_s is None:
        return f"from {earliest} to far beyond the end of the run ({spoken(end)})"
    beyond = f", left in beyond the end of the run ({spoken(end)})" if window.latest_s > end else ""
    return f"between {earliest} and {spoken(window.latest_s)}{beyond}"


def _time(window: Window) -> str:
    return f"after {spoken(window.expected_s)}" if window.expected_s is not None else "not in this run"


def _weighing(answer: Answer, shown: Units) -> list[str]:
    done = answer.doneness
    if done.weight_kg is None or done.weight_share is None:
        return []
    said = [
        f"The trays then hold {shown.weight.text(done.weight_kg)} of meat, {100.0 * done.weight_share:.0f} % "
        f"of the {shown.weight.text(answer.loaded_kg)} loaded, with a moisture-to-protein ratio of "
        f"{done.moisture_protein_ratio:.2f}. {_stop(done, shown)} {SPREAD}"
    ]
    if done.salt_step_share is not None and done.salt_step_share > _MUCH_OF_THE_TIME:
        said.append(
            f"Between the target and what is surely dry salt crystallises (at a water activity of {SALT_SATURATION:.2f}) and "
            f"sets its water free: {100.0 * done.salt_step_share:.0f} % of the time hangs on it, so a small error there is a "
            "long wait."
        )
    if done.weight_share > _HARDLY_DRIED:
        said.append(
            "This meat has hardly dried: salt or sugar holds its water activity down. That is curing, not drying; check "
            "the amounts of the marinade."
        )
    return said


def _stop(done: Doneness, shown: Units) -> str:
    """Say at what weight the batch is surely dry."""
    limit = f"{done.target_water_activity:.2f}"
    if done.stop is None or done.stop.weight_kg is None or done.stop.likely_s is None:
        return (
            f"They do not get so dry in this air that a weight could tell that the water activity is at or below {limit} "
            "with 95 % certainty: measure the water activity itself."
        )
    return (
        f"Stop at {shown.weight.text(done.stop.weight_kg)}, likely after {spoken(done.stop.likely_s)}: the water activity is "
        f"then at or below {limit} with 95 % certainty."
    )


def loss_sentences(answer: Answer) -> list[str]:
    """Say of what the share is that a stage ends at, where slices that are taken off before make another of it."""
    asked = [stage.until.weight_loss for stage in answer.batch.stages if stage.until is not None]
    left_in = float(1.0 - answer.history.weight_loss[-1])
    held = answer.weight_at(answer.end_s) / answer.loaded_kg
    if not any(asked) or f"{100.0 * held:.0f}" == f"{100.0 * left_in:.0f}":
        return []
    return [
        f"The end by weight loss counts all slices as left in: {100.0 * left_in:.0f} % of the weight is then left; "
        f"{100.0 * held:.0f} % with those taken off as ready."
    ]


def _heat(answer: Answer, shown: Units) -> str:
    history, heat, told = answer.history, answer.heating, shown.temperature.text
    most, hour, hottest = float(history.temperature_K.max()), "", ""
    if heat.first_hour_K is not None and heat.air_first_hour_K is not None:
        hour = f"; after the first hour it was at {told(heat.first_hour_K)} in air of {told(heat.air_first_hour_K)}"
    if most > heat.peak_K + _UNEVEN_K:
        tray = history.tray[int(history.temperature_K.max(axis=(0, 1)).argmax())] + 1
        where = f", on tray {tray}" if history.tray.max() else ""
        hottest = (
            f" At its hottest spot it reached {told(most)}{where}: some of it gets much hotter than the rest."
        )
    return (
        f"At its coldest spot the meat reached {told(heat.peak_K)} at most, after {at_least(heat.peak_s)}, "
        f"in {AROUND[heat.peak_in]} of {told(heat.air_at_peak_K)}{hour}.{_off_before(answer, shown)}{hottest}"
    )


def _off_before(answer: Answer, shown: Units) -> str:
    """Say of which slices the coldest spot is where a later stage heats only others; nothing else."""
    heat = answer.heating
    if heat.off_before_s is None:
        return ""
    return (
        f" That is in the {class_name(shown, answer.batch.meat.classes[heat.kind])} slices, which are ready and off after "
        f"{spoken(heat.off_before_s)}: what comes later heats the others only."
    )


def _load(answer: Answer) -> list[str]:
    trays, appliance = answer.trays, answer.batch.appliance
    if trays is None or appliance is None:
        return []
    text = (
        f"The slices lie on {trays.used} of the {trays.slots} trays of the {appliance.name}, cover "
        f"{100.0 * trays.cover:.0f} % of each, and need {trays.needed} at least."
    )
    if trays.used > 1 and trays.apart_s is not None:
        ends = [one.all_done.expected_s or 0.0 for one in trays.done]
        every = answer.batch.rotate_every_s
        moved = "" if every is None else f", with the trays changing places every {spoken(every)}"
        text += (
            f" Tray {int(np.argmin(ends)) + 1} is done first, tray {int(np.argmax(ends)) + 1} last, "
            f"{spoken(trays.apart_s)} later{moved}."
        )
    return [text]


def _energy(answer: Answer, shown: Units) -> list[str]:
    energy, appliance = answer.energy, answer.batch.appliance
    if energy is None or appliance is None:
        return []
    until, told, heater = energy.counted, shown.energy.text, shown.power.text
    span = "Until done" if energy.until_done else "In the run"
    if energy.all_off:
        span = "Until the last slices are off"
    text = f"{span} the {appliance.name} takes {_taken(until, energy, shown)}"
    if until.per_water_J_kg is not None:
        text += f", {shown.energy_per_weight(until.per_water_J_kg)} of water dried off"
    text += (
        f"; {told(until.walls_J)} is lost through its walls and {told(until.exchanged_J)} with exchanged air."
    )
    if until is not energy.run and energy.run.duration_s - until.duration_s > _WORTH_TELLING_S:
        text += f" The whole run takes {told(energy.run.total_J)}{_cost(energy.run, energy)}."
    if until.mean_heater_W is not None:
        most = heater(energy.peak_heater_W)
        text += f" The heater takes {heater(until.mean_heater_W)} on average, {most} at most."
    return [f"{text} Heating it up first is {'not ' if appliance.preheated else ''}counted."]


def _taken(one: Consumption, energy: Energy, shown: Units) -> str:
    parts = {"heater": one.heater_J, "fan": one.fan_J, "steam": one.steam_J}
    told = [f"{name} {shown.energy.number(joules)}" for name, joules in parts.items() if joules]
    apart = f" ({', '.join(told)})" if len(told) > 1 else ""
    return f"{shown.energy.text(one.total_J)}{apart}{_cost(one, energy)}"


def _cost(one: Consumption, energy: Energy) -> str:
    return "" if one.cost is None else f" for {money(one.cost, energy.currency or '')}"


def lethality_sentences(answer: Answer, units: str | None = None) -> list[str]:
    """Return the judgement on log reductions as sentences, without its cautions: `CAUTION` is to follow.

    The judgement counts the whole plan. Where the meat is done earlier, what it is worth if taken out then comes
    first: nobody leaves dried meat in for hours.
    """
    judged, shown = answer.lethality, Units(answer.batch, units)
    if answer.taken_out is None:
        return lethality_text.lines(judged, shown)
    done, early = answer.taken_out
    warned = replace(judged, warnings=lethality_text.joined_warnings(judged, early))
    said = lethality_text.lines(replace(judged, warnings=()), shown)
    return [
        *lethality_text.warning_lines(warned, shown),
        f"Taken out when done, after {spoken(done)}: {lethality_text.verdict_line(replace(early, warnings=()), shown)}",
        f"{until_off(answer)}: {said[0]}",
        *said[1:],
    ]


def safety_of_run(answer: Answer, shown: Units, *, in_full: bool = False) -> list[str]:
    """Return what to do for safety, of meat taken out when done, and the verdict on the whole plan where it is another.

    `in_full` as for `lethality.brief.safety_lines`: for paper, so no option of a command is named.
    """
    to_dry = None if in_full else answer.batch
    if answer.taken_out is None:
        return safety_lines(answer.lethality, shown, to_dry, in_full=in_full)
    early = answer.taken_out[1]
    said = safety_lines(early, shown, to_dry, in_full=in_full)
    if answer.lethality.grade != early.grade:
        verdict = VERDICTS[answer.lethality.grade]
        left_in = answer.last_off_s >= answer.end_s
        until = "Left in to the end," if left_in else "Taken off when surely dry, by"
        said.append(f"{until} {about(answer.last_off_s)}: {verdict}.")
    return said


def what_comes_off(batch: Batch) -> str:
    """Return what is taken off at a look, by when slices of a batch leave the trays."""
    return "take off what is ready" if batch.take_off == "as ready" else "all come off together"


def until_off(answer: Answer) -> str:
    """Return the words for how long the meat is in, where the plan goes on after it is done."""
    if answer.last_off_s < answer.end_s:
        return f"Taken off when surely dry, the last after {spoken(answer.last_off_s)}"
    return f"Left in to the end of the plan, after {spoken(answer.end_s)}"


def at_the_end(answer: Answer, go_on: str, shown: Units) -> str:
    """Return the words for the end of the plan.

    `go_on` is for slices that then still have to come down to the weight at which they are surely dry, though that may read
    the same.
    """
    stop = answer.doneness.stop
    if ends_early(answer) and stop is not None and stop.weight_kg is not None:
        same = shown.weight.text(answer.weight_at(answer.end_s)) == shown.weight.text(stop.weight_kg)
        return f"{go_on}, nearly there" if same else go_on
    return "plan ends" if answer.product.done else "plan ends: not dry by then"


def ends_early(answer: Answer) -> bool:
    """Return whether the plan ends before the slices have likely come down to the weight at which they are surely dry."""
    stop = answer.doneness.stop
    if stop is None or stop.weight_kg is None or stop.likely_s is None:
        return False
    return stop.likely_s > answer.end_s
