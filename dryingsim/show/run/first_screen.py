"""The first screen of a run: what to do, when, at what weight, what it will be like, and what remains below."""

from collections.abc import Callable, Sequence

import numpy as np

from dryingsim.answer import Answer, Look, LookKey
from dryingsim.history import History
from dryingsim.judge.done_window import Window
from dryingsim.judge.remedies import Remedy
from dryingsim.judge.taking_off import held_activity, ready_levels
from dryingsim.judge.yield_and_cost import SERVING_KG
from dryingsim.show.core.document import Block, Document, Spare, labelled, screen, sentences
from dryingsim.show.core.html import html
from dryingsim.show.core.quantities import (
    AROUND,
    SHORT_S,
    Units,
    about,
    at_least,
    capital,
    class_name,
    clock,
    slowest,
)
from dryingsim.show.core.tables import Column, Table
from dryingsim.show.kitchen.loading_text import loads_brief, loads_sentences
from dryingsim.show.kitchen.marinade_text import soak_brief, soak_sentences
from dryingsim.show.kitchen.product_text import cost_sentence, texture_sentences, yield_sentences
from dryingsim.show.kitchen.serving_words import serving_sentences
from dryingsim.show.learn.learned_words import learned_brief
from dryingsim.show.lethality.text import remedy_lines
from dryingsim.show.run.data import summary
from dryingsim.show.run.tables import look_table, tables
from dryingsim.show.run.text import (
    at_the_end,
    lethality_sentences,
    load_sentences,
    loss_sentences,
    safety_of_run,
    what_comes_off,
    when_sentences,
)

_LINES = 25
_CLASSES = 3  # each told by itself; of more the first and the last
_SAME_WEIGHT = 0.01  # share by which two weights differ that a scale in a kitchen does not tell apart
_LOOKS: dict[LookKey, str] = {
    "first look": "look first",
    "done": "ready as computed",
    "stop": "surely dry (95 %): stop here",
}


def run_document(answer: Answer, units: str | None = None) -> Document:
    """Return what is told of a run."""
    shown = Units(answer.batch, units)
    system = units or answer.batch.display
    texture = [
        *texture_sentences(answer, units),
        *yield_sentences(answer, units),
        *(soak_sentences(answer.marinated, system) if answer.marinated else []),
        *(serving_sentences(answer.serving) if answer.product.done else []),
    ]
    return screen(
        answer.batch.name,
        [*_answers(answer, units), _looks(answer, shown)],
        {
            "loads": loads_sentences(answer, system),
            "over time": tables(answer, units),
            "looking times": look_table(answer, units),
            "times and weights": when_sentences(answer, units),
            "trays and energy": load_sentences(answer, units),
            "log reduction of bacteria": lethality_sentences(answer, units),
            "texture and yield": texture,
        },
        lambda: summary(answer),
        most_lines=_LINES,
    )


def _answers(answer: Answer, units: str | None) -> list[Block]:
    """Return the answers in short, by what they are for."""
    shown, system = Units(answer.batch, units), units or answer.batch.display
    soaked = [] if answer.marinated is None else soak_brief(answer.marinated, system)
    return labelled(
        {
            "LOADS": loads_brief(answer, system),
            "SAFETY": [*safety_of_run(answer, shown), *soaked],
            "READY": _ready(answer, shown),
            "WEIGH": _weigh(answer, shown),
            "MEAT": _meat(answer, shown),
            "YIELD": _yield(answer, shown),
            "LEARNED": list(map(Spare, learned_brief(answer.batch, units))),
        },
        grave="" if answer.lethality.grade == "met" else "SAFETY",
    )


def _ready(answer: Answer, shown: Units) -> list[str]:
    done, slices = answer.doneness, answer.by_thickness
    told = [f"{class_name(shown, one.slices)} {_window(one.ready)}" for one in slices]
    lines = [f"{capital(', '.join(told))}."]
    if len(told) > _CLASSES:
        lines = [f"{capital(told[0])} to {told[-1]}.", Spare(f"Between: {', '.join(told[1:-1])}.")]
    if done.batch.expected_s is None:
        last, limit = float(answer.history.equalised_water_activity[-1].max()), done.target_water_activity
        digits = next(many for many in (2, 3, 4, 9) if f"{last:.{many}f}" != f"{limit:.{many}f}" or many == 9)
        lines.append(
            f"Not ready by the end ({about(answer.end_s)}): water activity {last:.{digits}f}, {limit:.2f} "
            "required."
        )
    if done.first_look_s is not None:
        again = about(answer.texture.look_again_s)
        off = what_comes_off(answer.batch)
        lines.append(f"Look first at {about(done.first_look_s)}, then every {again}; {off}.")
    return [*lines, *map(Spare, loss_sentences(answer))]


def _window(window: Window) -> str:
    early, late = window.earliest_s, window.latest_s
    if window.expected_s is None:
        return "not in this run" if early is None else f"not in this run, {about(early)} at the earliest"
    return f"{about(window.expected_s)} ({about(early or 0.0)} - {'far beyond' if late is None else about(late)})"


def _weigh(answer: Answer, shown: Units) -> list[str]:
    stop = answer.doneness.stop
    if stop is None or stop.weight_kg is None or stop.likely_s is None:
        if answer.doneness.batch.expected_s is None:
            return ["No weight to stop at: the run ends too soon."]
        limit = f"{answer.doneness.target_water_activity:.2f}"
        keeps = "; 'dryingsim store' tells to what weight to dry on"
        return [f"No weight in reach is surely dry: measure water activity ({limit} or less){keeps}."]
    share, weight = f"{100.0 * stop.weight_kg / answer.loaded_kg:.0f}", shown.weight.text
    each = [f"{100.0 * one.stop_share:.0f}" for one in answer.by_thickness if one.stop_share is not None]
    whole = "the weight before heating" if answer.batch.first_drying else "the loaded weight"
    own = ", a slice or all" if set(each) == {share} else ""
    if each and not own:
        own = f" (a slice at {' to '.join(dict.fromkeys([min(each), max(each)]))} % of its own)"
    in_all = weight(stop.weight_kg)
    if stop.left_in_kg is None or stop.left_in_kg > (1.0 - _SAME_WEIGHT) * stop.weight_kg:
        return [f"Stop at {share} % of {whole}{own}: {in_all}."]
    each_own = whole.replace("the ", "its ", 1) if own.startswith(",") else f"{whole}{own}"
    return [
        f"Take each slice off at {share} % of {each_own}: {in_all} in all. If all stay in, stop at "
        f"{weight(stop.left_in_kg)}."
    ]


def _meat(answer: Answer, shown: Units) -> list[str]:
    heat, told = answer.heating, shown.temperature.text
    when = about(heat.peak_s) if heat.peak_s > SHORT_S else at_least(heat.peak_s)
    hottest = f"up to {told(heat.peak_K)} at {when} in {told(heat.air_at_peak_K)} {AROUND[heat.peak_in]}"
    if heat.first_hour_K is None or heat.air_first_hour_K is None:
        return [Spare(f"{capital(hottest)}.")]
    if heat.off_before_s is not None:  # the core below is of others, which a later stage heats
        slices = class_name(shown, answer.batch.meat.classes[heat.kind])
        hottest = f"{slices} off by {about(heat.off_before_s)}, {told(heat.peak_K)} at most"
    return [Spare(f"{told(heat.first_hour_K)} after 1 h in {told(heat.air_first_hour_K)} air, {hottest}.")]


def _yield(answer: Answer, shown: Units) -> list[str]:
    product, weight = answer.product, shown.weight.text
    if not product.done:
        left = f"{weight(product.finished_kg)} left of {weight(product.raw_kg)} raw meat"
        return list(
            map(Spare, [f"Not dry by then: {left}, raw or half dried.", *cost_sentence(answer, shown)])
        )
    of_raw = (
        f"{weight(product.finished_kg)} of {weight(product.raw_kg)} raw ({100.0 * product.share:.0f} %), "
        f"{product.servings:.0f} servings of {weight(SERVING_KG)} with {1e3 * answer.serving.salt_kg:.1f} g salt."
    )
    return list(map(Spare, [of_raw, _bend(answer), *cost_sentence(answer, shown)]))


def _bend(answer: Answer) -> str:
    bends, breaks = answer.texture.batch.pliable.expected_s, answer.texture.batch.brittle.expected_s
    if bends is None:
        return "Not pliable yet."
    if breaks is None or breaks > bends:
        if breaks is not None and about(breaks) == about(bends):
            return f"All bend without breaking at about {about(bends)} only."
        until = "" if breaks is None else f" to {about(breaks)}"
        return f"All bend without breaking from {about(bends)}{until}."
    in_time = ready_levels([answer.batch])[0] > answer.texture.limits.brittle
    if answer.batch.take_off == "as ready" and in_time:
        return f"Each bends if taken off as ready; left in, some break from {about(breaks)}."
    return "Never all pliable at once."


def remedy_document(tried: Sequence[Remedy], units: str | None = None) -> Document:
    """Return what each change to a batch would do. The batch itself comes first among those that were tried."""
    history = tried[0].history
    assert history is not None  # the batch itself was run
    title = "What each change does to bacteria, simulated; the cautions hold here too."
    told = remedy_lines(tried, Units(history, units))
    helps = next((one for one in tried[1:] if one.lethality is not None), None)
    if helps is not None:
        told.append(f"To make a batch file of one: --apply '{helps.name}' -o safer.toml.")
    return Document(title, sentences(*told))


def history_html(history: History) -> str:
    """Return all that is told of a run as HTML, for notebooks."""
    return html(run_document(Answer(history)))


def _looks(answer: Answer, shown: Units) -> Table:
    """Return the table of the times to look."""
    history, k = answer.history, slowest(answer.history)
    wettest = held_activity(history).max(axis=1)
    words, stop = _LOOKS | {"end": at_the_end(answer, "plan ends: go on", shown)}, answer.doneness.stop
    if stop is not None and stop.likely_s is not None and stop.likely_s < answer.end_s:
        del words["end"]  # nothing is left to do then
    purposes: dict[str, list[Look]] = {}
    for look in answer.looks:
        if look.key in words:
            purposes.setdefault(about(look.time_s), []).append(look)
    together = list(purposes.values())
    looks, degree = [group[0] for group in together], shown.temperature
    times = [look.time_s for look in looks]

    def at(values: np.ndarray, show: Callable[[float], str]) -> list[str]:
        seen = zip(times, np.interp(times, history.time_s, values).tolist(), strict=True)
        return [show(value) if time <= answer.end_s else "-" for time, value in seen]

    def column(heading: str, unit: str, cells: list[str]) -> Column:
        return Column(("", heading, unit), cells)

    weight, shares = shown.weight, [100.0 * look.weight_kg / answer.loaded_kg for look in looks]
    keys = [[look.key for look in group] for group in together]
    what = ["; ".join(words[key] for key in group if key != "end" or "stop" not in group) for group in keys]
    return Table(
        [
            column("time", "h:min", [*map(clock, times)]),
            column("weight", weight.symbol, [weight.number(look.weight_kg) for look in looks]),
            column("loaded", "%", [f"{share:.0f}" for share in shares]),
            column("activity", "a_w", at(wettest, "{:.2f}".format)),
            column("core", degree.symbol, at(history.core_temperature_K[:, k], degree.number)),
            column("air", degree.symbol, at(history.air_temperature_K[:, k], degree.number)),
            Column(("", "", ""), what, left=True),
        ],
        spare=True,
    )
