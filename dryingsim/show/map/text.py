"""A map as text and as files: tables, sentences, `map.csv` and `map.json`; pictures are in `map.pictures`."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from dryingsim.batch.catalog import organisms
from dryingsim.batch.units import to_si
from dryingsim.explore.maps import Map
from dryingsim.history.provenance import attributes, inputs_of, versions
from dryingsim.judge.grades import Lethality
from dryingsim.judge.heat_resistance import COUNTABLE
from dryingsim.judge.relied_air import air_unshown
from dryingsim.show.core.document import Document, labelled, screen
from dryingsim.show.core.quantities import KitchenUnits, Unit, Units, clock, place_words, spoken
from dryingsim.show.core.tables import CAUTION, SPREAD, Column, Table
from dryingsim.show.core.writing import csv_text, json_text, write_result
from dryingsim.show.lethality.brief import brief_sentences
from dryingsim.show.lethality.federal_text import check_values, checks_line
from dryingsim.show.lethality.finding_words import sentence
from dryingsim.show.lethality.text import warning_lines

_ACROSS, _DOWN = 6, 12  # values of a table; more are left out evenly, but not in the files


def map_tables(mapped: Map, units: str | None = None) -> list[Table]:
    """Return the tables: over one parameter a line for each value, over two a table for each answer."""
    if len(mapped.axes) == 1:
        return [_over_one(mapped, Units(mapped.batch, units))]
    done, reduction = mapped.numbers["done_s"], _reductions(mapped)
    tables = [_over_two(mapped, "done", np.vectorize(_time)(done), "h:min; -: not when drying ends.")]
    if reduction is not None:
        cells = np.vectorize("{} | {}".format)(*reduction)
        note = f"{_organism(mapped)}: log10 reduction, lower bound (95 %; it decides) | best estimate."
        tables.append(_over_two(mapped, "log reduction", cells, note))
    return tables


def _organism(mapped: Map) -> str:
    return str(organisms.organisms()[mapped.organism]) if mapped.organism else ""


def _time(seconds: float) -> str:
    return clock(seconds) if np.isfinite(seconds) else "-"


def _log(value: float) -> str:
    return "-" if np.isnan(value) else f"{value:.1f}" if value < COUNTABLE else f"{COUNTABLE:.0f}+"


def _reductions(mapped: Map) -> tuple[np.ndarray, np.ndarray] | None:
    if mapped.organism is None:
        return None
    lower, best = (np.vectorize(_log)(mapped.numbers[name]) for name in ("lower", "best"))
    return lower, best


def _some(count: int, most: int) -> np.ndarray:
    """Indices of at most so many of some values, evenly, with both ends."""
    return np.unique(np.linspace(0, count - 1, min(count, most)).round().astype(int))


def _number(value: float) -> str:
    return f"{value:.4g}"


def _over_one(mapped: Map, shown: Units) -> Table:
    (key,), (values,) = mapped.axes, mapped.axes.values()
    rows, numbers, reduction = _some(values.size, 2 * _DOWN), mapped.numbers, _reductions(mapped)
    columns = [
        Column((*_split(key), _symbol(mapped, key)), [_number(values[i]) for i in rows]),
        Column(("", "done", "h:min"), [_time(numbers["done_s"][i]) for i in rows]),
        Column(("first", "brittle", "h:min"), [_time(numbers["brittle_s"][i]) for i in rows]),
        Column(
            ("coldest", "reached", shown.temperature.symbol),
            [shown.temperature.number(numbers["peak_K"][i]) for i in rows],
        ),
    ]
    notes = [
        "Done: the wettest slices, equilibrated; brittle: the first. Coldest: the place that stays coldest."
    ]
    if reduction is not None:
        columns.append(Column(("reduction,", "lower", "log10"), [str(reduction[0][i]) for i in rows]))
        columns.append(Column(("reduction,", "best", "log10"), [str(reduction[1][i]) for i in rows]))
        notes.append(
            f"Log reduction of {_organism(mapped)}: lower bound (95 %), which decides, and best estimate."
        )
    return Table(columns, notes)


def _symbol(mapped: Map, key: str) -> str:
    """Return the unit of a parameter as it is printed."""
    return Unit("", mapped.units.get(key, "")).symbol


def _split(key: str) -> tuple[str, str]:
    before, _, last = key.rpartition(".")
    return before, last


def _over_two(mapped: Map, what: str, cells: np.ndarray, note: str) -> Table:
    (first, down), (second, across) = mapped.axes.items()
    rows, some = _some(down.size, _DOWN), _some(across.size, _ACROSS)
    columns = [Column((*_split(first), _symbol(mapped, first)), [_number(down[i]) for i in rows])]
    unit = _symbol(mapped, second)
    columns += [
        Column(("", "", f"{_number(across[j])} {unit}".strip()), [str(cells[i, j]) for i in rows])
        for j in some
    ]
    left_out = rows.size < down.size or some.size < across.size
    some_only = " Not every value stands here; --json and map.csv have all." if left_out else ""
    by = f"{place_words(first, mapped.batch)} (down) and {place_words(second, mapped.batch)} (across)"
    whole_note = f"{what.capitalize()} by {by}: {note}{some_only}"
    return Table(columns, [whole_note])


def map_document(mapped: Map, units: str | None = None) -> Document:
    """Return what is told of a map."""
    answers = labelled({"SAFETY": _safety(mapped, Units(mapped.batch, units)), "READY": [_done(mapped)]})
    over = " and ".join(place_words(key, mapped.batch) for key in mapped.axes)
    return screen(
        f"{mapped.batch.name}: over {over}",
        answers,
        {"tables": map_tables(mapped, units), "all answers": map_sentences(mapped, units)},
        lambda: summary(mapped),
    )


def _safety(mapped: Map, shown: Units) -> list[str]:
    if mapped.organism is None or mapped.target_log10 is None:
        return []
    enough, count = int((mapped.numbers["lower"] >= mapped.target_log10).sum()), mapped.numbers["lower"].size
    judged = _of_points(mapped)
    warnings = judged.warnings if judged else ()
    return [
        f"{mapped.target_log10:g} log of {_organism(mapped)} at {enough} of {count} points, as computed. A map does not judge "
        "what was measured, nor growth: run a point to have its verdict.",
        *_unmeasured(mapped),
        *brief_sentences(warnings, shown.temperature.text),
    ]


def _of_points(mapped: Map) -> Lethality | None:
    """Return the judgement on the batch as it stands, without what it counts on where that was measured at no point."""
    judged = mapped.judged
    if judged is None or mapped.unmeasured < mapped.numbers["lower"].size:
        return judged
    return replace(judged, warnings=tuple(one for one in judged.warnings if one.key != "humidity_measured"))


def _unmeasured(mapped: Map) -> list[str]:
    """Return at how many points the humidity counts as not measured, though the file says that it was."""
    count = mapped.numbers["lower"].size
    where = "all" if mapped.unmeasured == count else f"{mapped.unmeasured} of {count}"
    told = f"At {where} points the air is other than was measured: there its humidity counts as not measured."
    return [told] if mapped.unmeasured else []


def map_sentences(mapped: Map, units: str | None = None) -> list[str]:
    """Return the answers as sentences."""
    sentences = [_done(mapped)]
    if mapped.organism is not None:
        judged = _of_points(mapped)
        sentences += warning_lines(judged, Units(mapped.batch, units)) if judged else []
        sentences += _unmeasured(mapped)
        sentences.append(_reduced(mapped))
        sentences += _checks(mapped, units)
        sentences += _own_heating(mapped)
    sentences += [f"Left out: {remark}." for remark in mapped.remarks]
    return [*sentences, SPREAD]


def _own_heating(mapped: Map) -> list[str]:
    """Return how long the slices of a point are heated first, where a temperature inside ends that."""
    batch = mapped.batch
    untils = [stage.until for stage in batch.stages[: batch.first_drying] if not stage.dries]
    if not any(until is not None and until.core_temperature_K is not None for until in untils):
        return []
    return [
        "Each point heats its slices first until its own thickest is as hot inside as the file says: thin ones by themselves for "
        "seconds, which may be too short for bacteria, in a batch with thicker ones for longer."
    ]


def _done(mapped: Map) -> str:
    done, count = mapped.numbers["done_s"], mapped.numbers["done_s"].size
    finite = np.isfinite(done)
    if not finite.any():
        return "Nowhere on the map is the batch done when drying ends."
    low, high = (
        int(where(np.where(finite, done, fill)))
        for where, fill in ((np.argmin, np.inf), (np.argmax, -np.inf))
    )
    soonest, latest = (spoken(done.flat[point]) for point in (low, high))
    text = f"Done (water activity {mapped.batch.targets.water_activity:g}) after {soonest}"
    if soonest == latest:
        text += " everywhere." if finite.all() else " where it gets done."
    else:
        text += f" at {_place(mapped, low)} to {latest} at {_place(mapped, high)}."
    late = count - int(finite.sum())
    if late == 0:
        return text
    return (
        f"{text} At {late} of {count} points it is not done when drying ends (later stages are not counted)."
    )


def _place(mapped: Map, index: int) -> str:
    at = np.unravel_index(index, tuple(values.size for values in mapped.axes.values()))
    return " and ".join(
        f"{place_words(key, mapped.batch)} {_typed(mapped, key, values[i])}"
        for (key, values), i in zip(mapped.axes.items(), at, strict=True)
    )


def _typed(mapped: Map, key: str, value: float) -> str:
    """Return a value with its unit, inches as a ruler has them."""
    if mapped.units.get(key) == "inch":
        return KitchenUnits("us").length.text(to_si("", f"{value!r} inch", "length"))
    return f"{_number(value)} {_symbol(mapped, key)}".strip()


def _reduced(mapped: Map) -> str:
    target, count = mapped.target_log10, mapped.numbers["lower"].size
    assert target is not None
    enough = [int((mapped.numbers[name] >= target).sum()) for name in ("lower", "best")]
    verb = "are"
    if mapped.judged is not None and mapped.judged.warnings:
        verb = "are, as computed (read the warnings above),"
    in_humid_air = (
        mapped.judged is None or mapped.judged.grade != "met"
    )  # else the log reduction does not hang on it
    if mapped.unmeasured or (air_unshown(mapped.batch) and in_humid_air):
        verb = "would be, if the air is as humid as computed (that was not measured, so it is not shown),"
    return (
        f"{_organism(mapped)}, judged for the meat taken out when done or after the stages planned then: the {target:g} log "
        f"required {verb} met at {enough[0]} of {count} points by the lower bound, which decides, and at {enough[1]} "
        "by the best estimate. It is the organism that limits in the batch as it stands in the file; others are not judged "
        "here. A map does not judge what was measured, nor growth: run the batch of a point to have its verdict."
    )


def _checks(mapped: Map, units: str | None) -> list[str]:
    """Return what the federal table and the home advice say, where points meet what is required."""
    target = mapped.target_log10
    if target is None or not (mapped.numbers["lower"] >= target).any():
        return []
    if mapped.judged is None:
        return ["The federal table and the home advice were not looked at."]
    line = checks_line(mapped.judged, Units(mapped.batch, units).temperature)
    return [f"{line} That is the batch as it stands in the file."]


def map_csv(mapped: Map) -> str:
    """Return one line per point: the parameters as typed, their unit in the heading, then the numbers in SI."""
    grids = np.meshgrid(*mapped.axes.values(), indexing="ij")
    columns = {
        f"{key} [{mapped.units[key]}]" if mapped.units.get(key) else key: grid.reshape(-1)
        for key, grid in zip(mapped.axes, grids, strict=True)
    }
    columns |= {name: values.reshape(-1) for name, values in _numbers(mapped).items()}
    rows = zip(*columns.values(), strict=True)
    return csv_text(columns, (["" if not np.isfinite(v) else f"{v:.8g}" for v in row] for row in rows))


def _numbers(mapped: Map) -> dict[str, np.ndarray]:
    names = ("done_s", "brittle_s", "end_s", "peak_K", "lower", "best")
    numbers = mapped.reported
    return {name: numbers[name] for name in names if name in numbers}


def summary(mapped: Map) -> dict[str, Any]:
    """Return the map as plain values in SI, the parameters in their own unit; null where there is no such time."""
    judged = _of_points(mapped)

    def plain(values: np.ndarray) -> Any:
        known = values.astype(object)
        known[~np.isfinite(values)] = None
        return known.tolist()

    return {
        "batch": mapped.batch.name,
        "caution": CAUTION,
        "axes": [
            {"parameter": key, "unit": mapped.units.get(key, ""), "values": values.tolist()}
            for key, values in mapped.axes.items()
        ],
        "organism": mapped.organism,
        "target_log10": mapped.target_log10,
        "remarks": list(mapped.remarks),
        "warnings": [sentence(warning) for warning in judged.warnings] if judged else [],
        "grade_in_the_file": mapped.judged.grade if mapped.judged else None,
        "checks_in_the_file": check_values(mapped.judged) if mapped.judged else None,
        "humidity_shown": not mapped.unmeasured and not air_unshown(mapped.batch),
        **{name: plain(values) for name, values in _numbers(mapped).items()},
        "inputs": inputs_of(mapped.batch),
        "components": mapped.batch.components.replaced or None,
        "versions": versions(),
        **({"workers": mapped.workers} if mapped.workers else {}),
    }


def write_map(mapped: Map, directory: Path, *, pictures: str = "png") -> list[Path]:
    """Write the data and the picture, all or none; files of the same names are replaced.

    Parameters
    ----------
    mapped : Map
    directory : Path
        Made if it is missing.
    pictures : str, optional
        Kind of the picture: "png" or "svg".
    """
    from dryingsim.show.map.pictures import map_figure  # slow to import

    data = {"map.csv": map_csv(mapped).encode(), "map.json": json_text(summary(mapped)).encode()}
    made = attributes(mapped.batch, mapped.title, workers=mapped.workers)
    return write_result(Path(directory), data, {"map": lambda: map_figure(mapped)}, made, pictures)
