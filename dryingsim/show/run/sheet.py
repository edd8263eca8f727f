"""The batch sheet to print: the plan, when to look, what to weigh, what to measure, and room to write it down.

Black on white, for a pencil; `dryingsim.show.core.pdf` sets it.
"""

from collections.abc import Sequence

import numpy as np

from dryingsim.answer import Answer, Look, LookKey
from dryingsim.batch.laying import share_lying
from dryingsim.batch.schema import Stage
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.judge.stop_weight import Stop
from dryingsim.judge.taking_off import coldest_place
from dryingsim.judge.texture import HALF_HOUR_S, TextureWindow
from dryingsim.judge.verdict import HOME_ADVICE_K
from dryingsim.properties.moist_air import dew_point
from dryingsim.show.core.document import Block, Caution, Document, Form, Heading, Sentence, form, sentences
from dryingsim.show.core.quantities import SHORT_S, Units, at_least, class_name, clock, spoken
from dryingsim.show.core.stage_words import ending, setting
from dryingsim.show.core.tables import CAUTION, SPREAD, clock_or_dash
from dryingsim.show.kitchen.loading_text import load_rows, loads_sentences
from dryingsim.show.kitchen.marinade_text import ingredients_line, soak_brief
from dryingsim.show.kitchen.product_text import texture_sentences
from dryingsim.show.learn.learned_words import learned_sentence
from dryingsim.show.run.laying_text import laying_sentences
from dryingsim.show.run.text import at_the_end, safety_of_run

_LOOKS: dict[LookKey, str] = {
    "first hour": "temperatures of air and meat",
    "first look": "first look: bend a cooled thin slice",
    "look again": "look again: take off what is ready",
    "stop": "STOP at this weight, with what was taken off: surely dry (95 %)",
    "half an hour more": "if not: half an hour more, and look again",
}
_ALL_TOGETHER: dict[LookKey, str] = {
    "look again": "look again",
    "stop": "STOP at this weight, all of it: surely dry (95 %)",
}
_COUNTED = "stop at, those off counted"
_GOAL_WIDTHS = {_COUNTED: 0.16}  # a head of two lines
_BLANK_ROWS, _REGULAR_ROWS = 5, 5  # on two pages; regular looks have room for notes of their own
_COLD_K = 277.59  # 40 degF: the refrigerator of US food-safety advice (from memory)


def sheet_document(answer: Answer, units: str | None = None) -> Document:
    """Return the sheet, from the top down."""
    shown = Units(answer.batch, units)
    blocks: list[Block] = [
        Heading("Plan"),
        _plan(answer, shown),
        _safety(answer, shown),
        _stages(answer, shown),
        *_loads(answer, units or answer.batch.display),
        *sentences(*filter(None, [learned_sentence(answer.batch, units)])),
        *_marinade(answer, units or answer.batch.display),
        Heading("When to look, and what the whole batch should then weigh"),
        Sentence(
            "Started at ____ : ____ h.  Times count from loading. Weights are computed, of the meat without trays. "
            + SPREAD
            + " To take off: the likely share of the slices that is down to its stop weight by then, and nine times in ten."
        ),
        _looks(answer, shown),
        *sentences(*_half_hour_more(answer, units), *laying_sentences(answer)),
        Heading("Target weights"),
        _trays(answer, shown),
        Sentence(
            "Or mark one slice of each thickness, weigh it with its marinade, and take it out at this share of that:"
        ),
        _slices(answer, shown),
        Heading("Temperatures to check with a thermometer"),
        _temperatures(answer, shown),
        *_record(),
        Heading("Cautions"),
        Caution(CAUTION),
        Sentence(
            f"Keep raw meat below {shown.temperature.text(_COLD_K)} until it goes in, wash hands and tools, and keep "
            "raw and dried meat apart. Let a slice cool before bending it: warm ones bend more. How long dried meat "
            "keeps depends on its water activity and its package: see 'dryingsim store'."
        ),
    ]
    return Document(answer.batch.name, blocks)


def _loads(answer: Answer, system: str) -> list[Block]:
    """The loads of a batch that the trays do not hold, in their order."""
    rows = load_rows(answer, system)
    if not rows:
        return []
    columns = {"load": 0.1, "raw weight": 0.15, "in at": 0.12, "off by, as computed": 0.2}
    blanks = {"really in - off": 0.23, "finished weight": 0.2}
    return [
        Heading("Loads, one after the other"),
        *sentences(*loads_sentences(answer, system)),
        form(columns | blanks, ((*row, "", "") for row in rows)),
    ]


def _marinade(answer: Answer, system: str) -> list[Block]:
    """What to pour together, where the batch says so."""
    marinated = answer.marinated
    if marinated is None:
        return []
    checked = soak_brief(marinated, system)
    return [Sentence(" ".join([ingredients_line(marinated, system, answer.loads.count), *checked]))]


def _safety(answer: Answer, shown: Units) -> Form:
    """The verdict as computed, what to do first, and what warns: in a box, before the first stage."""
    verdict, first, *more = safety_of_run(answer, shown, in_full=True)
    return Form((verdict,), tuple((text,) for text in (first, " ".join(more)) if text), (1.0,))


def _record() -> list[Block]:
    """What a person fills in."""
    return [
        Heading("Record"),
        _blank(
            {
                "clock": 0.1,
                "since start": 0.12,
                "weight with trays": 0.17,
                "air at the trays": 0.17,
                "meat, thickest slice": 0.19,
                "remarks": 0.25,
            },
            _BLANK_ROWS,
        ),
        Heading("Finished"),
        _blank(
            {
                "raw weight": 0.16,
                "finished weight": 0.18,
                "bends, does not break?": 0.24,
                "measured water activity": 0.26,
                "taken off at": 0.16,
            }
        ),
        _blank(
            {
                "packed in": 0.22,
                "silica gel": 0.14,
                "packed on": 0.16,
                "kept where": 0.16,
                "use by": 0.16,
                "name": 0.16,
            }
        ),
    ]


def _blank(columns: dict[str, float], rows: int = 1) -> Form:
    return form(columns, [[""] * len(columns)] * rows, tall=True)


def _plan(answer: Answer, shown: Units) -> Form:
    batch = answer.batch
    meat, marinade, told = batch.meat, batch.marinade, shown.length.text
    classes = ", ".join(f"{class_name(shown, one)} ({100.0 * one.share:.0f} %)" for one in meat.classes)
    taken = f"salt {shown.per_weight(marinade.salt_kg_kg)}, sugar {shown.per_weight(marinade.sugar_kg_kg)}"
    if marinade.water_kg_kg:
        taken += f", water {shown.per_weight(marinade.water_kg_kg)}"
    room = (
        f"{shown.temperature.text(batch.room.temperature_K)}, {100.0 * batch.room.relative_humidity:.0f} % RH"
    )
    appliance = "air as set below" if batch.appliance is None else batch.appliance.name
    trays = f"{int(answer.history.tray.max()) + 1}, {batch.support}" if batch.appliance else batch.support
    columns = (
        ("meat", 0.14, f"{meat.name}, {meat.form}"),
        ("slices, raw", 0.22, f"{classes}; {told(meat.length_m)} x {told(meat.width_m)}"),
        ("raw weight", 0.1, shown.weight.text(meat.weight_kg)),
        ("taken up in the marinade", 0.19, taken),
        ("room", 0.12, room),
        ("dried in", 0.13, appliance),
        ("trays", 0.1, trays),
    )
    heads, widths, cells = zip(*columns, strict=True)
    return Form(heads, (cells,), widths)


def _stages(answer: Answer, shown: Units) -> Form:
    history, begin, rows = answer.history, 0.0, []
    advice, short = answer.lethality.advice, ""
    if answer.lethality.grade != "met":
        short = ". NOT SHOWN to suffice: see above"
    elif advice is not None and not advice.before_drying:
        short = ". Less than advice asks: see above"
    for stage, end in zip(history.batch.stages, history.stage_end_s.tolist(), strict=True):
        until = _until(stage, begin, end, shown)
        if not stage.dries and stage.kind != "rest":
            until += short
        rows.append((stage.name, setting(stage, history.batch, shown), clock(begin), until, ""))
        begin = end
    columns = {"stage": 0.16, "set to": 0.3, "from h:min": 0.1, "to h:min, as computed": 0.28}
    return form(columns | {"really from - to": 0.16}, rows)


def _until(stage: Stage, begin_s: float, end_s: float, shown: Units) -> str:
    """Return when a stage ends; of one that heats until a temperature inside, what every slice is counted on to get."""
    until = stage.until
    if until is not None and not stage.dries and until.core_temperature_K is not None:
        inside = shown.temperature.text(until.core_temperature_K)
        return (
            f"{at_least(end_s - begin_s)} or more, and until the middle of the thickest is at {inside}: [__]"
        )
    if stage.dries or end_s - begin_s > SHORT_S:
        return f"{clock(end_s)}, {ending(stage, shown)}"
    return f"after {at_least(end_s - begin_s)}, {ending(stage, shown)}"


def _looks(answer: Answer, shown: Units) -> Form:
    window = answer.doneness.batch
    overlap = share_lying(answer.batch.meat.classes, "overlapping")
    go_on = "plan ends; go on to the weight"
    if answer.next_stage_s is not None:
        stage = answer.batch.stages[int(np.searchsorted(answer.history.stage_end_s, answer.next_stage_s))]
        go_on += f" in the air of '{stage.name}'"
    what = _LOOKS | (_ALL_TOGETHER if answer.batch.take_off == "together" else {})
    what |= {
        "first look": _LOOKS["first look"] + ("; turn and part those that overlap" if overlap else ""),
        "end": at_the_end(answer, go_on, shown),
        "next stage": _next_stage(answer, shown),
        "done": f"done as computed; nine times in ten {clock_or_dash(window.earliest_s)} to {clock_or_dash(window.latest_s)}",
    }
    rows = (
        (
            minute,
            "; ".join(what[look.key] for look in looks),
            shown.weight.text(looks[0].weight_kg),
            _ready_share(answer, looks),
            "",
            "",
        )
        for minute, looks in _looks_by_minute(answer, shown).items()
    )
    columns = {"h:min": 0.08, "what for": 0.42, "should weigh": 0.11, "to take off": 0.13, "weighs": 0.1}
    return form(columns | {"clock, remarks": 0.16}, rows)


def _half_hour_more(answer: Answer, units: str | None) -> list[str]:
    """Say what half an hour more does, where the plan does not go on with another stage by then."""
    done, next_s = answer.doneness.batch.expected_s, answer.next_stage_s
    if done is not None and next_s is not None and next_s < done + HALF_HOUR_S:
        return []
    return [texture_sentences(answer, units)[-1]]


def _next_stage(answer: Answer, shown: Units) -> str:
    """Say what the stage is that follows the one in which all get dry; nothing where none does."""
    ends = answer.history.stage_end_s
    if answer.next_stage_s is None:
        return ""
    stage = answer.history.batch.stages[int(np.searchsorted(ends, answer.next_stage_s, side="right"))]
    return f"now stage '{stage.name}', {setting(stage, answer.history.batch, shown)}"


def _looks_by_minute(answer: Answer, shown: Units) -> dict[str, list[Look]]:
    """Return the looks until all slices are off, in order, those of one minute together.

    A mere look that would read the same weight as the one to stop at is left out: it is none to stop at.
    """
    # the first is among the others, and from the weight to stop at on nothing needs a look
    regular = [look for look in answer.regular_looks[1:] if look.time_s < answer.load_s]
    regular = regular[:: max(-(-len(regular) // _REGULAR_ROWS), 1)]
    stop = next((look for look in answer.looks if look.key == "stop"), None)
    stop_s, goal = (np.inf, "") if stop is None else (stop.time_s, shown.weight.text(stop.weight_kg))
    stays_in = answer.batch.take_off == "together"  # to the end of the plan
    by_minute: dict[str, list[Look]] = {}
    for look in sorted((*answer.looks, *regular), key=lambda look: look.time_s):
        same = look.key in ("look again", "half an hour more") and shown.weight.text(look.weight_kg) == goal
        if not same and (look.time_s <= stop_s or (stays_in and look.key == "end")):
            by_minute.setdefault(clock(look.time_s), []).append(look)
    return by_minute


def _ready_share(answer: Answer, looks: list[Look]) -> str:
    """Return the share of the slices that is likely ready, with its range; none where a weight tells, or no weight ever does."""
    stop, look = answer.doneness.stop, looks[0]
    by_weight = stop is None or stop.weight_kg is None or any(each.key == "stop" for each in looks)
    if by_weight or look.ready is None or look.ready_range is None:
        return "-"
    low, high = (f"{100.0 * end:.0f}" for end in look.ready_range)
    return f"{100.0 * look.ready:.0f} % ({low}-{high})"


def _trays(answer: Answer, shown: Units) -> Form:
    history, weight = answer.history, shown.weight.text
    several = int(history.tray.max()) > 0
    goals = _goals([tray.stop for tray in answer.by_tray], shown)
    rows = []
    for number, (tray, goal) in enumerate(
        zip(answer.by_tray, zip(*goals.values(), strict=True), strict=True)
    ):
        loaded = answer.loaded_of(history.tray == number)
        name = f"tray {number + 1}" if several else "all"
        rows.append((name, weight(loaded), "", *goal, "", clock_or_dash(tray.ready_s), _bends(tray.texture)))
    columns = {
        "": 0.08,
        "meat loaded" if answer.batch.first_drying == 0 else "before heating": 0.1,
        "empty weighs": 0.1,
        **{head: _GOAL_WIDTHS.get(head, 0.1) for head in goals},
        "stop at (both)": 0.1,
        "ready at": 0.08,
    }
    return form(columns | {"bends, as computed": 1.0 - sum(columns.values())}, rows)


def _goals(stops: Sequence[Stop], shown: Units) -> dict[str, list[str]]:
    """Return columns of the weights of the meat to stop at, a row each: a weight has to say what is still counted in it."""

    def column(weights_kg: list[float | None]) -> list[str]:
        return ["-" if weight_kg is None else shown.weight.text(weight_kg) for weight_kg in weights_kg]

    goal, left_in = column([stop.weight_kg for stop in stops]), column([stop.left_in_kg for stop in stops])
    differ = goal != left_in
    columns = {_COUNTED if differ else "stop at (meat)": goal}
    if differ:
        columns["if all stay in"] = left_in
    return columns


def _bends(window: TextureWindow) -> str:
    """Say from when to when slices bend without breaking."""
    begin, end = window.pliable.expected_s, window.brittle.expected_s
    start = f"all from {clock(begin)}" if begin is not None else "not all yet at the end"
    return start if end is None else f"{start}; some break from {clock(end)}"


def _slices(answer: Answer, shown: Units) -> Form:
    rows, several = [], int(answer.history.tray.max()) > 0
    for one in answer.by_thickness:
        goal = "-" if one.stop_share is None else f"{100.0 * one.stop_share:.0f} %"
        told = clock_or_dash(one.ready_s)
        if one.soonest_s is not None:  # trays differ
            told = f"{clock(one.soonest_s)} to {told if one.ready_s is not None else 'later'}, by tray"
        rows.append((class_name(shown, one.slices), goal, told, "", "", _bends(one.texture)))
    columns = {"slices": 0.12, "stop at": 0.1}
    columns |= {"ready at": 0.2 if several else 0.1, "one weighs before": 0.15, "take it out at": 0.15}
    return form(columns | {"bends, as computed": 1.0 - sum(columns.values())}, rows)


def _temperatures(answer: Answer, shown: Units) -> Form:
    history, told, heat = answer.history, shown.temperature.text, answer.heating
    boiling = float(dew_point(history.batch.room.pressure_Pa))  # where the vapour pressure is that of the air
    asked = HOME_ADVICE_K[history.batch.meat.judged_as]
    coldest = coldest_place(history).min(axis=1)  # of slices as long as they are on the trays
    hot = np.flatnonzero(coldest >= asked)
    late = "not in this drying"
    if hot.size and history.stage[hot[0]] < history.batch.first_drying:
        late = "in the stage before"
    elif hot.size:
        late = f"only after {spoken(float(history.time_s[hot[0]]))} of drying"
    freezes_and_boils = f"{told(ZERO_CELSIUS)} and {told(boiling)}"
    rows = [
        ("thermometer in melting ice, and in boiling water here", freezes_and_boils),
        (
            "meat in all its parts before drying starts, by home advice",
            f"{told(asked)} (computed: {late})",
        ),
    ]
    for stage, end in zip(history.batch.stages, history.stage_end_s, strict=True):
        if not stage.dries:
            continue
        at_end = history.air_temperature_K[int(np.abs(history.time_s - end).argmin())]
        ends = dict.fromkeys(map(told, (float(at_end.min()), float(at_end.max()))))
        rows.append((f"air at the trays, end of stage '{stage.name}' (computed)", " to ".join(ends)))
    if heat.first_hour_K is not None:
        rows.append(("coldest slice after the first hour (computed)", told(heat.first_hour_K)))
    off = f"; off by {clock(heat.off_before_s)}" if heat.off_before_s is not None else ""
    rows.append((f"coldest slice at its hottest (computed, {clock(heat.peak_s)}{off})", told(heat.peak_K)))
    return form({"what": 0.5, "should be": 0.3, "is": 0.2}, ((*row, "") for row in rows))
