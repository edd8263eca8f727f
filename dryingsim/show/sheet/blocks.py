"""The batch sheet to print: the plan, when to look, what to weigh, what to measure, and room to write it down.

Black on white, for a pencil. `sheet_blocks` says what stands on it; `dryingsim.show.sheet.pdf` sets it.
"""

from dataclasses import dataclass

import numpy as np

from dryingsim.batch.laying import share_lying
from dryingsim.batch.learned import dial_K
from dryingsim.batch.schema import Batch, Stage
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.history import History
from dryingsim.judge.done_window import course_of, first_time_down_to
from dryingsim.judge.doneness import HOUR_S, Answers
from dryingsim.judge.stop_weight import stop_of
from dryingsim.judge.texture import HALF_HOUR_S, TextureWindow, half_hour_more, texture_window
from dryingsim.judge.verdict import HOME_ADVICE_K, judge_batch_lethality, judge_taken_out
from dryingsim.kitchen.marinade import marinated_batch
from dryingsim.properties.moist_air import dew_point
from dryingsim.show.core.quantities import Units, class_name, clock, spoken
from dryingsim.show.core.tables import CAUTION, SPREAD, clock_or_dash
from dryingsim.show.kitchen.marinade_text import ingredients_line, soak_sentences
from dryingsim.show.kitchen.product_text import texture_sentences
from dryingsim.show.lethality.text import verdict_line
from dryingsim.show.run.laying_text import laying_sentences

_BLANK_ROWS = 7
_COLD_K = 277.59  # 40 degF: the refrigerator of US food-safety advice (from memory)


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading within a page."""

    text: str


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Running text."""

    text: str


@dataclass(frozen=True, slots=True)
class Grid:
    """A ruled table; an empty cell is one to write in. `widths` are shares of the page."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    widths: tuple[float, ...]
    tall: bool = False  # rows with room for handwriting


Block = Heading | Paragraph | Grid


def sheet_blocks(history: History, answers: Answers, units: str | None = None) -> list[Block]:
    """Return what stands on the sheet, from the top down.

    Parameters
    ----------
    history : History
    answers : Answers
        As `judge_batch` gives them.
    units : str, optional
        "metric" or "us"; as the batch file says if left out.
    """
    shown = Units(history, units)
    return [
        Heading("Plan"),
        _plan(history, shown),
        _stages(history, shown),
        *_marinade(history, units or history.batch.display),
        Heading("Is the log reduction met?"),
        *_reduction(history, shown),
        Heading("When to look, and what the whole batch should then weigh"),
        Paragraph(
            "Started at ____ : ____ h.  Times count from laying on. Weights are computed, of the meat without trays. "
            + SPREAD
        ),
        _looks(history, answers, shown),
        *map(Paragraph, laying_sentences(history, answers)),
        Heading("Target weights"),
        _trays(history, shown),
        Paragraph(
            "Or mark one slice of each thickness, weigh it with its marinade, and take it out at this share of that:"
        ),
        _slices(history, shown),
        Heading("Temperatures to check with a thermometer"),
        _temperatures(history, answers, shown),
        *_record(),
        Heading("Half an hour more?"),
        Paragraph(texture_sentences(history, answers, units)[-1]),
        Heading("Cautions"),
        Paragraph(CAUTION),
        Paragraph(
            f"Keep raw meat below {shown.temperature.text(_COLD_K)} until it goes in, wash hands and tools, and keep "
            "raw and dried meat apart. Let a slice cool before bending it: warm ones bend more. How long dried meat "
            "keeps depends on its water activity and its package: see 'dryingsim store'."
        ),
    ]


def _marinade(history: History, system: str) -> list[Block]:
    """What to pour together, where the batch says so."""
    marinated = marinated_batch(history.batch)
    if marinated is None:
        return []
    checked = soak_sentences(marinated, system, whole=False)
    return [Paragraph(" ".join([ingredients_line(marinated, system), *checked]))]


def _reduction(history: History, shown: Units) -> list[Block]:
    """The verdict as computed: of meat taken out when done, and of the whole plan."""
    taken_out, whole = judge_taken_out(history), verdict_line(judge_batch_lethality(history), shown)
    if taken_out is None:
        return [Paragraph(whole)]
    done, early = taken_out
    return [
        Paragraph(f"Taken out when done, after {spoken(done)}: {verdict_line(early, shown)}"),
        Paragraph(f"Left in to the end of the plan, after {spoken(float(history.time_s[-1]))}: {whole}"),
    ]


def _record() -> list[Block]:
    """What a person fills in."""
    return [
        Heading("Record"),
        Grid(
            (
                "clock",
                "since start",
                "weight with trays",
                "air at the trays",
                "meat, thickest slice",
                "remarks",
            ),
            (("",) * 6,) * _BLANK_ROWS,
            (0.1, 0.12, 0.17, 0.17, 0.19, 0.25),
            tall=True,
        ),
        Heading("Finished"),
        Grid(
            (
                "raw weight",
                "finished weight",
                "bends, does not break?",
                "measured water activity",
                "taken off at",
            ),
            (("",) * 5,),
            (0.16, 0.18, 0.24, 0.26, 0.16),
            tall=True,
        ),
        Grid(
            ("packed in", "silica gel", "packed on", "kept where", "use by", "name"),
            (("",) * 6,),
            (0.22, 0.14, 0.16, 0.16, 0.16, 0.16),
            tall=True,
        ),
    ]


def _plan(history: History, shown: Units) -> Grid:
    batch = history.batch
    meat, marinade, told = batch.meat, batch.marinade, shown.length.text
    classes = ", ".join(f"{class_name(shown, one)} ({100.0 * one.share:.0f} %)" for one in meat.classes)
    rate = 1e3
    taken = f"salt {rate * marinade.salt_kg_kg:.0f} g/kg, sugar {rate * marinade.sugar_kg_kg:.0f} g/kg"
    if marinade.water_kg_kg:
        taken += f", water {rate * marinade.water_kg_kg:.0f} g/kg"
    room = (
        f"{shown.temperature.text(batch.room.temperature_K)}, {100.0 * batch.room.relative_humidity:.0f} % RH"
    )
    appliance = "air as set below" if batch.appliance is None else batch.appliance.name
    trays = f"{int(history.tray.max()) + 1}, {batch.support}" if batch.appliance else batch.support
    return Grid(
        ("meat", "slices, raw", "raw weight", "taken up in the marinade", "room", "dried in", "trays"),
        (
            (
                f"{meat.name}, {meat.form}",
                f"{classes}; {told(meat.length_m)} x {told(meat.width_m)}",
                shown.weight.text(meat.weight_kg),
                taken,
                room,
                appliance,
                trays,
            ),
        ),
        (0.14, 0.22, 0.1, 0.19, 0.12, 0.13, 0.1),
    )


def _stages(history: History, shown: Units) -> Grid:
    rows = []
    begin = 0.0
    for stage, end in zip(history.batch.stages, history.stage_end_s, strict=True):
        rows.append(
            (
                stage.name,
                _setting(stage, history.batch, shown),
                clock(begin),
                f"{clock(float(end))}, {_ending(stage, shown)}",
                "",
            )
        )
        begin = float(end)
    return Grid(
        ("stage", "set to", "from h:min", "to h:min, as computed", "really from - to"),
        tuple(rows),
        (0.16, 0.3, 0.1, 0.28, 0.16),
    )


def _setting(stage: Stage, batch: Batch, shown: Units) -> str:
    air = stage.air
    told = shown.temperature.text
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


def _ending(stage: Stage, shown: Units) -> str:
    until = stage.until
    if until is None:
        return "by the clock"
    if until.water_activity is not None:
        return f"water activity {until.water_activity:.2f}"
    if until.weight_loss is not None:
        return f"weight loss {100.0 * until.weight_loss:.0f} %"
    return f"core {shown.temperature.text(until.core_temperature_K or 0.0)}"


def _looks(history: History, answers: Answers, shown: Units) -> Grid:
    done, end = answers.doneness, float(history.time_s[-1])
    looks = [(end, "end of the plan")]
    if end > 1.2 * HOUR_S:
        looks.append((HOUR_S, "temperatures of air and meat"))
    if done.first_look_s is not None:
        apart = (
            "; turn and part those that overlap"
            if share_lying(history.batch.meat.classes, "overlapping")
            else ""
        )
        looks.append((done.first_look_s, f"first look: bend a cooled thin slice{apart}"))
    if done.batch.expected_s is not None:
        early, late = clock_or_dash(done.batch.earliest_s), clock_or_dash(done.batch.latest_s)
        looks.append((done.batch.expected_s, f"done as computed; nine times in ten {early} to {late}"))
    total = history.weight_kg.sum(axis=1)
    weights = {time: shown.weight.text(float(np.interp(time, history.time_s, total))) for time, _ in looks}
    if done.stop is not None and done.stop.weight_kg is not None and done.stop.likely_s is not None:
        looks.append((done.stop.likely_s, "STOP at this weight, whenever: surely dry (95 %)"))
        weights[done.stop.likely_s] = shown.weight.text(done.stop.weight_kg)
    if done.batch.expected_s is not None:
        more = half_hour_more(history, done.batch.expected_s)
        later = more.at_s + HALF_HOUR_S
        looks.append((later, "if not: half an hour more, and look again"))
        weights[later] = shown.weight.text(more.weight_kg[1])
    by_minute: dict[str, list[str]] = {}
    for time, text in sorted(looks):
        by_minute.setdefault(clock(time), [weights[time]]).append(text)
    rows = [(minute, "; ".join(told[1:]), told[0], "", "") for minute, told in by_minute.items()]
    return Grid(
        ("h:min", "what for", "should weigh", "weighs", "clock, remarks"),
        tuple(rows),
        (0.09, 0.41, 0.14, 0.14, 0.22),
    )


def _trays(history: History, shown: Units) -> Grid:
    rows, several, target = [], int(history.tray.max()) > 0, history.batch.targets.water_activity
    course = course_of(history, target)
    for tray, texture in enumerate(texture_window(history).trays):
        slabs = history.tray == tray
        weight = history.weight_kg[:, slabs].sum(axis=1)
        activity = history.equalised_water_activity[:, slabs].max(axis=1)
        when = first_time_down_to(history.time_s, activity, target)
        stop = stop_of(history, course, target, slabs).weight_kg
        goal = "-" if stop is None else shown.weight.text(stop)
        rows.append(
            (
                f"tray {tray + 1}" if several else "all",
                shown.weight.text(float(weight[0])),
                "",
                goal,
                "",
                clock_or_dash(when),
                _bends(texture),
            )
        )
    heads = (
        "",
        "meat laid on",
        "empty weighs",
        "stop at (meat)",
        "stop at (both)",
        "done at",
        "bends, as computed",
    )
    return Grid(heads, tuple(rows), (0.09, 0.12, 0.13, 0.14, 0.14, 0.1, 0.28))


def _bends(window: TextureWindow) -> str:
    """Say from when to when slices bend without breaking."""
    begin, end = window.pliable.expected_s, window.brittle.expected_s
    start = f"all from {clock(begin)}" if begin is not None else "not all yet at the end"
    return start if end is None else f"{start}; some break from {clock(end)}"


def _slices(history: History, shown: Units) -> Grid:
    target, rows = history.batch.targets.water_activity, []
    course = course_of(history, target)
    windows = texture_window(history).classes
    for number, (one, texture) in enumerate(zip(history.batch.meat.classes, windows, strict=True)):
        slabs = np.flatnonzero(history.kind == number)
        wettest = slabs[int(history.mean_moisture_db[-1, slabs].argmax())]
        activity = history.equalised_water_activity[:, wettest]
        when = first_time_down_to(history.time_s, activity, target)
        stop = stop_of(history, course, target, np.arange(history.kind.size) == wettest).weight_kg
        goal = "-" if stop is None else f"{100.0 * stop / float(history.weight_kg[0, wettest]):.0f} %"
        driest = slabs[int(history.mean_moisture_db[-1, slabs].argmin())]
        soonest = first_time_down_to(history.time_s, history.equalised_water_activity[:, driest], target)
        told = clock_or_dash(when)
        if driest != wettest and soonest is not None:  # trays differ
            told = f"{clock(soonest)} to {told if when is not None else 'later'}, by tray"
        rows.append((class_name(shown, one), goal, told, "", "", _bends(texture)))
    return Grid(
        ("slices", "stop at", "done at", "one weighs before", "take it out at", "bends, as computed"),
        tuple(rows),
        (0.09, 0.11, 0.2, 0.16, 0.16, 0.28),
    )


def _temperatures(history: History, answers: Answers, shown: Units) -> Grid:
    told, heat = shown.temperature.text, answers.heating
    boiling = float(dew_point(history.batch.room.pressure_Pa))  # where the vapour pressure is that of the air
    asked = HOME_ADVICE_K[history.batch.meat.species]
    coldest = history.temperature_K.min(axis=(1, 2))
    hot = np.flatnonzero(coldest >= asked)
    late = (
        f"only after {spoken(float(history.time_s[hot[0]]))} of drying" if hot.size else "not in this drying"
    )
    rows = [
        (
            "thermometer in melting ice, and in boiling water here",
            f"{told(ZERO_CELSIUS)} and {told(boiling)}",
            "",
        ),
        (
            "meat in all its parts before drying starts, by home advice",
            f"{told(asked)} (computed: {late})",
            "",
        ),
    ]
    for stage, end in zip(history.batch.stages, history.stage_end_s, strict=True):
        at_end = history.air_temperature_K[int(np.abs(history.time_s - end).argmin())]
        ends = dict.fromkeys(map(told, (float(at_end.min()), float(at_end.max()))))
        rows.append((f"air at the trays, end of stage '{stage.name}' (computed)", " to ".join(ends), ""))
    if heat.first_hour_K is not None:
        rows.append(("coldest slice after the first hour (computed)", told(heat.first_hour_K), ""))
    rows.append((f"coldest slice at its hottest (computed, {clock(heat.peak_s)})", told(heat.peak_K), ""))
    return Grid(("what", "should be", "is"), tuple(rows), (0.5, 0.3, 0.2))
