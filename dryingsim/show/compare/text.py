"""Runs side by side as tables and sentences: runs of several batches, or of one batch with something varied."""

import math
import re
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from dryingsim.batch.catalog.organisms import organisms
from dryingsim.explore.compare import Comparison
from dryingsim.explore.vary import Variation
from dryingsim.judge.grades import GRADES, Lethality
from dryingsim.judge.heat_resistance import COUNTABLE
from dryingsim.show.core.document import Block, Spare, labelled, sentences
from dryingsim.show.core.quantities import Units, about, btu_per_lb, logs, money, place_words, spoken
from dryingsim.show.core.tables import SPREAD, WIDTH, Column, Table, aligned, clock_or_dash
from dryingsim.show.lethality.brief import OF_THE_LIQUID, SAID_ELSEWHERE, brief, safety_lines
from dryingsim.show.lethality.finding_words import sentence
from dryingsim.show.lethality.text import HEADLINES, beside_reached, verdict_line
from dryingsim.show.lethality.words import MEANINGS
from dryingsim.typing import Array

Runs = Comparison | Variation
_TOLD_HEATINGS = 2  # things to do first, each by itself; of more 'run' tells
_NOTE = (
    "When the batch is done, and from when to when that is nine times in ten; coldest "
    "spot of the meat after 1 h and at its hottest, each with its air; between the first and the last "
    "thickness class and tray that are done; then, when done, the water activity of the driest slices, weight, "
    "share of the weight loaded, moisture-protein ratio (MPR). Where the trays do not hold a batch: how many loads, and how long "
    "all take until surely dry; all else is of one load."
)
_ENERGY_NOTE = (
    "Energy until done and in the whole run, by heater, fan and steam; heating up an appliance first is not "
    "in it unless the batch starts cold."
)
_KILL_NOTE = (
    "Log reduction of bacteria until the meat is taken out (when done, or at the end of stages that only then begin), each "
    "at its least-reduced place: the lower bound (95 %; it decides) to the best estimate, and the grade against what "
    "guidelines require: " + "; ".join(f"{grade} - {meaning}" for grade, meaning in MEANINGS.items()) + "."
)
# names of the organisms on two lines of a heading
_HEADINGS = {
    "salmonella": ("Salmo-", "nella"),
    "e_coli": ("E. coli", "O157:H7"),
    "listeria": ("L. mono-", "cytogenes"),
}


def labels(runs: Runs) -> tuple[str, ...]:
    """Return what the runs are called: titles, or values of what is varied."""
    return runs.labels if isinstance(runs, Comparison) else runs.values


def units_of(runs: Runs, units: str | None) -> Units:
    """Return the units to print in: those asked for, or else those of the first batch."""
    batch = runs.runs[0].history.batch if isinstance(runs, Comparison) else runs.batch
    return Units(batch, units)


def title_of(runs: Runs) -> str:
    """Return what stands above the tables."""
    return "Side by side" if isinstance(runs, Comparison) else runs.batch.name


def comparison_tables(runs: Runs, units: str | None = None) -> list[Table]:
    """Return a table with one row per run, cut into several where it is wider than a screen."""
    if isinstance(runs, Comparison):
        numbers = [str(number) for number in range(1, len(runs.labels) + 1)]
        head = Column(("", "", "run"), numbers)
        notes = [f"{number}  {label}" for number, label in zip(numbers, runs.labels, strict=True)]
    else:
        head = Column(("", "", runs.key.split(".")[-1]), list(runs.values))
        notes = [f"Varied: {place_words(runs.key, runs.batch)}."]
    parts = _cut(head, *_columns(runs, units_of(runs, units)))
    told = [_NOTE] if np.isnan(runs.measures["run_energy_J"]).all() else [_NOTE, _ENERGY_NOTE]
    told.append(_KILL_NOTE)
    last = len(parts) - 1
    return [Table(part, [*notes, *told] if number == last else []) for number, part in enumerate(parts)]


def _columns(runs: Runs, shown: Units) -> list[list[Column]]:
    """Return the columns that hold anything: when and how warm; what is left and what it takes; log reduction."""
    found, degree = runs.measures, shown.temperature.symbol

    def times(heading: tuple[str, str], name: str) -> Column:
        return Column((*heading, "h:min"), [clock_or_dash(value) for value in found[name]])

    def degrees(heading: tuple[str, str], name: str) -> Column:
        return numbers((*heading, degree), shown.temperature.value(found[name]), 0)

    def numbers(heading: tuple[str, str, str], values: Array, decimals: int) -> Column:
        return Column(heading, ["-" if np.isnan(value) else f"{value:.{decimals}f}" for value in values])

    weight = ["-" if np.isnan(value) else shown.weight.number(value) for value in found["weight_kg"]]
    per_water, unit = found["energy_per_water_J_kg"] / 3.6e6, "kWh/kg"
    if shown.bulk.name == "lb":
        per_water, unit = btu_per_lb(found["energy_per_water_J_kg"]), "Btu/lb"
    way = [
        times(("", "done"), "done_s"),
        times(("", "from"), "done_earliest_s"),
        times(("", "to"), "done_latest_s"),
        degrees(("meat", "at 1 h"), "first_hour_meat_K"),
        degrees(("air", "at 1 h"), "first_hour_air_K"),
        degrees(("meat at", "hottest"), "hottest_meat_K"),
        degrees(("air", "then"), "hottest_air_K"),
        times(("classes", "apart"), "classes_apart_s"),
        times(("trays", "apart"), "trays_apart_s"),
        *_load_columns(runs, clock_or_dash),
    ]
    end = [
        numbers(("a_w", "driest", "-"), found["driest_water_activity"], 2),
        Column(("", "weight", shown.weight.symbol), weight),
        numbers(("", "loaded", "%"), 100.0 * found["weight_share"], 0),
        numbers(("", "MPR", shown.ratio), found["moisture_protein_ratio"], 2),
        numbers(("energy", "to done", "kWh"), shown.energy.value(found["energy_J"]), 2),
        numbers(("per", "water", unit), per_water, 1 if unit == "kWh/kg" else 0),
        numbers(("", "cost", runs.currency or ""), found["cost"], 2),
        numbers(("energy", "of run", "kWh"), shown.energy.value(found["run_energy_J"]), 2),
        numbers(("highest", "power", "W"), found["peak_heater_W"], 0),
    ]
    groups = (way, end, _reduction_columns(runs))
    return [[column for column in columns if set(column.cells) != {"-"}] for columns in groups]


def _load_columns(runs: Runs, told: Callable[[float], str]) -> list[Column]:
    """Return how many loads a batch takes and how long all of them, where one of the batches takes several."""
    count, all_s = runs.measures["loads"], runs.measures["all_loads_s"]
    if not (count > 1.0).any():
        return []
    return [
        Column(("", "", "loads"), ["-" if np.isnan(value) else f"{value:.0f}" for value in count]),
        Column(("", "", "in all"), ["-" if np.isnan(value) else told(value) for value in all_s]),
    ]


def _reduction_columns(runs: Runs) -> list[Column]:
    columns = []
    for key in organisms():
        above, below = _HEADINGS[key]
        low, mid = (runs.measures[f"{key}_{estimate}"] for estimate in ("counted", "best"))
        bands = [
            "-" if np.isnan(a) else "-".join(dict.fromkeys((_short(a), _short(b))))
            for a, b in zip(low, mid, strict=True)
        ]
        columns += [
            Column((above, below, "log"), bands),
            Column(("", "", "grade"), [grade_at(value) or "-" for value in runs.measures[f"{key}_grade"]]),
        ]
    return columns


def _short(reduction: float) -> str:
    return f"{reduction:.1f}" if reduction < COUNTABLE else f"{COUNTABLE:.0f}+"  # as `logs` does in words


def grade_at(place: float) -> str | None:
    """Return the grade at its place among the grades; None for nan, where a run has none."""
    return None if math.isnan(place) else GRADES[int(place)]


def _cut(head: Column, *groups: list[Column]) -> list[list[Column]]:
    """Return groups of columns, the head in front of each; those too wide for a screen in parts."""
    parts = []
    for columns in groups:
        parts.append([head])
        for column in columns:
            if max(map(len, aligned([*parts[-1], column]))) > WIDTH - 1:
                parts.append([head])
            parts[-1].append(column)
    return [part for part in parts if len(part) > 1]


def comparison_blocks(runs: Runs, units: str | None = None) -> tuple[list[Block], dict[str, list[Block]]]:
    """Return the first screen of runs side by side, and what is told on request by title."""
    details: dict[str, list[Block]] = {
        "all measures": [*comparison_tables(runs, units)],
        "verdicts": sentences(*comparison_sentences(runs, units)),
    }
    shown = units_of(runs, units)
    return [_short_table(runs, shown), *labelled({"SAFETY": _briefly_warned(runs, shown)})], details


def _short_table(runs: Runs, shown: Units) -> Table:
    found, weight = runs.measures, shown.weight
    low, mid = found["salmonella_counted"], found["salmonella_best"]
    bands = ["-" if np.isnan(a) else f"{_short(a)} - {_short(b)}" for a, b in zip(low, mid, strict=True)]
    head = "run" if isinstance(runs, Comparison) else runs.key.split(".")[-1]
    times = [("ready", "done_s"), ("from", "done_earliest_s"), ("to", "done_latest_s")]
    loads = _load_columns(runs, about)
    columns = [
        Column(("", "", head), list(labels(runs)), left=True),
        *(
            Column(("", "", below), ["-" if np.isnan(value) else about(value) for value in found[name]])
            for below, name in (times[:1] if loads else times)  # loads take the room
        ),
        *loads,
        Column(
            ("", "", "weight"),
            ["-" if np.isnan(value) else weight.text(value) for value in found["weight_kg"]],
        ),
        Column(("", "", "Salmonella log"), bands),
        Column(("", "", "log reduction"), [grade_at(value) or "-" for value in found["grade"]], left=True),
    ]
    room = WIDTH - max(map(len, aligned(columns[1:]))) - 2
    names = [cell if len(cell) <= room else f"{cell[: room - 3]}..." for cell in columns[0].cells]
    return Table([replace(columns[0], cells=names), *columns[1:]])


def _briefly_warned(runs: Runs, shown: Units) -> list[str]:
    """Return each warning once, in brief, with the runs it is for."""
    found: dict[tuple[str, str], list[tuple[str, str]]] = {}
    pairs = [] if isinstance(runs, Comparison) else list(runs.warnings)
    if isinstance(runs, Comparison):
        for label, one in zip(runs.labels, runs.runs, strict=True):
            pairs += [(label.partition(": ")[0], warning) for warning in one.lethality.warnings]
    for label, warning in pairs:
        text = brief(warning, shown.temperature.text)
        alike = re.sub(r"\d", "", text)  # but for their numbers
        found.setdefault((warning.key, alike), []).append((label, text))
    said = []
    for (key, _), told in found.items():
        names, texts = zip(*told, strict=True)
        others = "" if len(set(texts)) == 1 else f" ({names[0]}; the others with --details)"
        line = f"{'; '.join(names)}: {texts[0]}{others}."  # a title may hold commas
        said.append(Spare(line) if key in (*OF_THE_LIQUID, *SAID_ELSEWHERE) else line)
    return [*_to_do_first(runs, shown), *said, *_unmeasured(runs)]


def _judgements(runs: Runs) -> list[tuple[str, Lethality]]:
    """Return the judgement on each of the runs, by its name."""
    if isinstance(runs, Comparison):
        return [
            (label.partition(": ")[0], one.lethality)
            for label, one in zip(runs.labels, runs.runs, strict=True)
        ]
    pairs = zip(runs.values, runs.lethality, strict=True)
    return [(value, lethality) for value, lethality in pairs if lethality is not None]


def _to_do_first(runs: Runs, shown: Units) -> list[str]:
    """Return what to do first with each batch, those that are not met before the others."""
    told: dict[tuple[bool, str], list[str]] = {}
    for name, lethality in _judgements(runs):
        first = next((line for line in safety_lines(lethality, shown) if line.startswith("Do first")), None)
        if first is not None:
            told.setdefault((lethality.grade.startswith("met"), first), []).append(name)
    said = list[str]()
    for met, many in (
        (False, "'run' tells what to do first"),
        (True, "met as heated before; 'run' tells how"),
    ):
        alike = {text: names for (is_met, text), names in told.items() if is_met == met}
        if len(said) + len(alike) > _TOLD_HEATINGS:
            said.append(f"{'; '.join(name for names in alike.values() for name in names)}: {many}.")
        else:
            said += [f"{'; '.join(names)}: {text[0].lower()}{text[1:]}" for text, names in alike.items()]
    return said


def _unmeasured(runs: Runs) -> list[str]:
    """Return at which values the humidity counts as not measured, though the file says that it was."""
    if isinstance(runs, Comparison) or not runs.unmeasured:
        return []
    return [
        f"{'; '.join(runs.unmeasured)}: other air than was measured, so its humidity counts as not measured."
    ]


def comparison_sentences(runs: Runs, units: str | None = None) -> list[str]:
    """Return in words which run is done first and last, which takes least energy, and the log reductions."""
    done, names = runs.measures["done_s"], _names(runs)
    shown = units_of(runs, units)
    ran = np.isfinite(runs.measures["hottest_meat_K"])
    never = [names[number] for number in np.flatnonzero(ran & np.isnan(done))]
    text = []
    if np.isfinite(done).any():
        first, last = int(np.nanargmin(done)), int(np.nanargmax(done))
        text.append(f"Done first: {names[first]}, after {spoken(done[first])}.")
        if first != last:
            text.append(f"Done last: {names[last]}, after {spoken(done[last])}.")
    if never:
        text.append(f"Not done when the run ends: {', '.join(never)}.")
    energy, cost = runs.measures["energy_J"], runs.measures["cost"]
    if np.isfinite(energy).sum() > 1:
        least, most = int(np.nanargmin(energy)), int(np.nanargmax(energy))
        told = [
            f"{names[i]} with {shown.energy.text(energy[i])}{_cost(runs, cost[i])}" for i in (least, most)
        ]
        text.append(f"Least energy until done takes {told[0]}, most {told[1]}.")
        if isinstance(runs, Comparison):
            text.append(
                "Leaks and draughts are estimates: less than twice as much energy may be no difference."
            )
    said = [" ".join(text), f"{SPREAD} That would shift all of these times the same way."]
    return [*said, *_reduction_sentences(runs, shown)]


def _reduction_sentences(runs: Runs, shown: Units) -> list[str]:
    """Return the verdict on each batch; of a variation, which values get which verdict."""
    names = _names(runs)
    if isinstance(runs, Comparison):
        pairs = zip(names, runs.runs, strict=True)
        return [f"{name}: {verdict_line(one.lethality, shown)}" for name, one in pairs]
    text = [f"Warning, {value}: {sentence(one, shown.temperature.text)}." for value, one in runs.warnings]
    text += _unmeasured(runs)
    for place, grade in enumerate(GRADES):
        alike = [names[number] for number in np.flatnonzero(runs.measures["grade"] == place)]
        if alike:
            text.append(f"{HEADLINES[grade]}: {', '.join(alike)}.")
    return [" ".join([*text, *_checks(runs, shown), *_reduction_spans(runs)])]


def _checks(runs: Variation, shown: Units) -> list[str]:
    """Return what the federal table and the home advice say, each answer once, with the values it holds for."""
    said: dict[str, list[str]] = {}
    for value, one in zip(runs.values, runs.lethality, strict=True):
        line = beside_reached(one, shown) if one is not None else ""
        if line:
            said.setdefault(line.strip(), []).append(value)
    return [f"{line.removesuffix('.')} ({', '.join(values)})." for line, values in said.items()]


def _reduction_spans(runs: Runs) -> list[str]:
    """Return from where to where the log reduction of each organism goes."""
    found = []
    for key, name in organisms().items():
        low, mid = (runs.measures[f"{key}_{estimate}"] for estimate in ("counted", "best"))
        ends = [(logs(np.nanmin(values)), logs(np.nanmax(values))) for values in (low, mid)]
        spans = [a if a == b else f"{a} to {b}" for a, b in ends]
        found.append(f"{name}: {spans[0]} log (lower bound), {spans[1]} log (best estimate).")
    return found


def _cost(runs: Runs, cost: float) -> str:
    return "" if math.isnan(cost) else f" for {money(cost, runs.currency or '')}"


def _names(runs: Runs) -> list[str]:
    if isinstance(runs, Comparison):
        return [f"{number} ({label})" for number, label in enumerate(runs.labels, start=1)]
    return [f"{runs.key.split('.')[-1]} {value}" for value in runs.values]
