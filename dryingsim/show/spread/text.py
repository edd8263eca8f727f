"""A spread as text and as files: sentences, a table over time, `spread.csv`, `spread.json`, `slices.npz`."""

import io
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np

from dryingsim.batch.catalog import organisms
from dryingsim.batch.uncertainties import INPUTS, WORDS
from dryingsim.batch.uncertainty import Uncertainty
from dryingsim.engine.own_heating import Heating
from dryingsim.explore.effect_shares import Effects
from dryingsim.explore.spread_result import FEW, Chance, Spread
from dryingsim.history.provenance import attributes, inputs_of, versions
from dryingsim.judge.relied_air import air_unshown
from dryingsim.judge.remedies import BOIL_S
from dryingsim.show.core.document import Document, Spare, labelled, screen
from dryingsim.show.core.quantities import Units, about, at_least, logs, percent, spoken
from dryingsim.show.core.tables import CAUTION, Column, Table, clock_or_dash
from dryingsim.show.core.writing import csv_text, json_text, write_result
from dryingsim.show.lethality.brief import safety_lines
from dryingsim.show.lethality.federal_text import check_values
from dryingsim.show.lethality.finding_words import sentence
from dryingsim.show.lethality.text import HEADLINES, beside_reached, warning_lines
from dryingsim.show.run.laying_text import LYING
from dryingsim.show.run.text import what_comes_off

SHARES = (0.05, 0.25, 0.5, 0.75, 0.95)
_STATES = ("under_dried", "in_window", "over_dried")
_NAMED = 5  # influences told
_LEAST = 0.05  # a weaker correlation is not worth a word
_ROWS = 12
_CHOSEN = {"class": "which thickness it was cut to"}  # beside the inputs


_LONGER_IS_LESS = (
    "Up to a minute, longer heating may show a little less of thin slices: of quick heat a fraction of the bacteria is counted "
    "to survive, and slices out of a longer one dry sooner. From there on it shows more. It is no reason to heat for less."
)


def spread_document(spread: Spread, units: str | None = None) -> Document:
    """Return what is told of a spread."""
    answers = labelled(
        {
            "SAFETY": safety_of_all(spread, safety_lines(spread.judged, Units(spread.batch, units))),
            "READY": _ready(spread),
            "LOOK": [_look(spread)],
            "CAUSES": [Spare(_most(spread))],
        }
    )
    return screen(
        f"{spread.batch.name}: {spread.thickness_m.size} slices drawn",
        answers,
        {
            "over time": [spread_table(spread, units)],
            "effects": [effect_table(spread.effects)] if spread.effects else [],
            "all answers": spread_sentences(spread, units),
        },
        lambda: summary(spread),
    )


def safety_of_all(spread: Spread, as_meant: Sequence[str]) -> list[str]:
    """Return the safety lines of a batch `as_meant`, their verdict first, with what holds of the slices of all kitchens."""
    misses = spread.reduction_misses()
    missed = percent(misses.value).removesuffix(" %").replace("less than", "under")
    target = f"{spread.target_log10:g} log"
    kitchens, (verdict, *rest) = f"n {missed} of 100 kitchens some slice stays below", as_meant
    rest = [type(line)(line.replace("test: met.", "test: met as planned.")) for line in rest]
    advice = spread.judged.advice
    short = advice is not None and advice.heated_first and advice.heated_s < BOIL_S
    if spread.grade != spread.judged.grade and short:
        rest.insert(1, f"Better: boil or steam them for {spoken(BOIL_S)} (ways: 'run --remedies').")
    if spread.grade == spread.judged.grade:
        return [verdict, f"I{kitchens} {target} (lower bound).", *rest]
    planned = f"as planned {spread.judged.grade} ({logs(spread.judged.worst.counted)} of {target})"
    if misses.value > FEW:
        return [f"NOT SHOWN for all slices: {planned}, but i{kitchens} (lower bound).", *rest]
    most, drawn = round(100.0 * (misses.value + misses.error)), spread.sample.batches["setpoint"].size
    few = f"of {drawn} kitchens drawn, {most} in 100 may have a slice below"
    return [f"NOT SHOWN for all slices: {planned}, but {few}; more --slices tell.", *rest]


def _ready(spread: Spread) -> list[str]:
    early, half, late = (
        "beyond the run" if time is None else f"at {about(time)}"
        for time in map(spread.done_quantile, (0.05, 0.5, 0.95))
    )
    moist, ready, brittle = map(percent, _planned_shares(spread))
    return [
        f"5 % of the slices {early}, half {half}, 95 % {late}.",
        Spare(
            f"{_left_in(spread)} the planned end, {about(spread.planned_s)}: {moist} too moist, {ready} ready and "
            f"pliable, {brittle} brittle."
        ),
    ]


def _planned_shares(spread: Spread) -> list[float]:
    """Return the shares that are too moist, ready and brittle at the planned end."""
    return [float(np.interp(spread.planned_s, spread.times_s, row)) for row in spread.states()]


def _left_in(spread: Spread) -> str:
    """Return how slices come to be still there: left in, though they are to be taken off as ready, or by the plan."""
    return "Left in to" if spread.batch.take_off == "as ready" else "At"


def _look(spread: Spread) -> str:
    if spread.first_look_s is None:
        return "No slice is ready within the run."
    return f"First at {about(spread.first_look_s)}, then every {about(spread.look_again_s)}; {what_comes_off(spread.batch)}."


def _most(spread: Spread) -> str:
    named = [key for key, value in spread.influences().items() if abs(value) >= _least(spread, key)][:1]
    return f"The time differs most with {''.join(WORDS[key] for key in named) or 'nothing in particular'}."


def spread_sentences(spread: Spread, units: str | None = None) -> list[str]:
    """Return the answers as sentences."""
    return [
        _when(spread),
        *_laid(spread),
        _planned(spread),
        _misses(spread),
        _looks(spread),
        *_reduction(spread, units),
        _causes(spread),
    ]


def _when(spread: Spread) -> str:
    target, end = spread.batch.targets.water_activity, spoken(float(spread.times_s[-1]))
    early, half, late = (spread.done_quantile(share) for share in (0.05, 0.5, 0.95))
    told = ["a time beyond the run" if time is None else spoken(time) for time in (early, half, late)]
    return (
        f"{spread.drawn}. Of all slices, 5 % are done (equilibrated water activity {target:g}) by {told[0]}, half by "
        f"{told[1]}, 95 % by {told[2]}. They were followed for {end}. Shares are by number here, by weight in 'run' and in the "
        "batch file."
    )


def _laid(spread: Spread) -> list[str]:
    """Return when slices that overlap or lie on a sheet are done."""
    flat, said = spread.done_quantile(0.5, "flat"), []
    for lies, (which, advice) in LYING.items():
        if spread.lying(lies).any():
            half = spread.done_quantile(0.5, lies)
            done = "half is not done within the run" if half is None else f"half is done by {spoken(half)}"
            beside = "" if flat is None else f", of what lies flat by {spoken(flat)}"
            said.append(f"Of the meat {which} {done}{beside}: {advice}.")
    return said


def _planned(spread: Spread) -> str:
    under, inside, over = map(percent, _planned_shares(spread))
    return (
        f"{_left_in(spread)} the end of drying by the plan, after {spoken(spread.planned_s)}, {under} are under-dried, {inside} "
        f"ready and pliable, {over} over-dried and brittle."
    )


def _misses(spread: Spread) -> str:
    return (
        f"Of a batch's {spread.in_batch} slices, the slowest is then not done with a chance of "
        f"{_chance(spread.slowest_misses())}."
    )


def _looks(spread: Spread) -> str:
    if spread.first_look_s is None:
        return "No slice is ready within the run: there is no time to look first."
    return (
        f"Look first after {spoken(spread.first_look_s)}, when the first slices may be ready; then every "
        f"{spoken(spread.look_again_s)}, and {what_comes_off(spread.batch)}."
    )


def _reduction(spread: Spread, units: str | None) -> list[str]:
    name = organisms.organisms()[spread.organism]
    lower, best = _chance(spread.reduction_misses("lower")), _chance(spread.reduction_misses("best"))
    place = "at the faces" if spread.batch.meat.form == "sliced" else "at the faces or in the middle"
    unsure, of_all = "", ""
    if air_unshown(spread.batch) and spread.judged.grade != "met":  # else that does not hang on humid air
        unsure = (
            " They hold in air as humid as it is computed to be, which was not measured: no log reduction by humid air is "
            "shown."
        )
    if spread.grade != spread.judged.grade:
        of_all = "; for all slices that is not shown"
    return [
        *warning_lines(spread.judged, Units(spread.batch, units)),
        f"{HEADLINES[spread.judged.grade]} in the batch as it is meant{of_all}."
        + beside_reached(spread.judged, Units(spread.batch, units)),
        f"{name}, {place}: the chance that the log reduction on the least-reduced of the slices is below "
        f"{spread.target_log10:g} is {lower} by the lower bound (95 %), which decides, {best} by the best estimate (± one "
        f"standard error over the kitchens drawn; {percent(FEW)} and more, error and all, is not shown). It is "
        f"the organism that limits in the batch as it is meant; others are not followed here.{unsure}",
        *_own_heating(spread, units),
    ]


def _own_heating(spread: Spread, units: str | None) -> list[str]:
    """Return for how long the slices are heated first, where a temperature inside ends that."""
    advice = spread.judged.advice
    if advice is None or advice.least_s is None or advice.until_K is None:
        return []
    hot, heating = Units(spread.batch, units).temperature.text(advice.until_K), spread.heating
    told = f"Each kitchen heats its slices for {at_least(advice.least_s)} or more, until the thickest of them is at {hot} inside"
    if heating is not None:
        half, most = (at_least(float(np.quantile(heating.heated_s, share))) for share in (0.5, 0.95))
        told += f": half of them for {half} or more, one in twenty for {most}"
        if not heating.inside.all():
            sooner = percent(1.0 - float(heating.inside.mean()))
            told += (
                f"; in {sooner} of them it ends sooner, by the clock or after eight times as long as meant"
            )
    return [f"{told}. {_LONGER_IS_LESS}"]


def _causes(spread: Spread) -> str:
    return (
        f"What goes with the time a slice takes (rank correlation): {causes(spread, spread.influences())}. "
        f"{percent(spread.between_batches())} of the variance lies between batches, the rest between the slices of one. With "
        f"the log reduction goes: {causes(spread, spread.reduction_influences(), 2)}."
    )


def causes(spread: Spread, influences: Mapping[str, float], most: int = _NAMED) -> str:
    """Return the strongest rank correlations in words; those hardly there, or by chance, are left out."""
    told = {key: value for key, value in influences.items() if abs(value) >= _least(spread, key)}
    named = list(told.items())[:most]
    return "; ".join(f"{WORDS[key]} ({value:+.2f})" for key, value in named) or "nothing in particular"


def _least(spread: Spread, key: str) -> float:
    return max(_LEAST, spread.chance_correlation(key))


def _chance(chance: Chance) -> str:
    return f"{percent(chance.value)} (± {100.0 * chance.error:.0f} %)"


def spread_table(spread: Spread, units: str | None = None) -> Table:
    """Return the table over time: bands of the water activity, and the shares of the slices."""
    end = float(spread.times_s[-1])
    step = next(
        s for s in (600.0, 900.0, 1800.0, 3600.0, 7200.0, 14400.0, 28800.0, np.inf) if end / s <= _ROWS
    )
    rows = [int(np.abs(spread.times_s - t).argmin()) for t in np.arange(step, end + 1.0, step)] or [-1]
    bands, states = spread.bands("water_activity"), spread.states()
    core = spread.bands("core_K", (0.05,))[0]
    shown = Units(spread.batch, units)
    columns = [Column(("", "time", "h"), [clock_or_dash(float(spread.times_s[i])) for i in rows])]
    for name, band in (("driest", bands[0]), ("middle", bands[2]), ("wettest", bands[4])):
        columns.append(Column(("a_w", name, "-"), [f"{band[i]:.2f}" for i in rows]))
    degrees = shown.temperature
    columns.append(Column(("core", "coldest", degrees.symbol), [degrees.number(core[i]) for i in rows]))
    for name, share in zip(("moist", "ready", "brittle"), states, strict=True):
        columns.append(Column(("slices", name, "%"), [f"{100.0 * share[i]:.0f}" for i in rows]))
    notes = [
        "a_w: equilibrated water activity of the driest and the wettest 5 % of all slices and of those in the "
        "middle; coldest: the 5 % with the coldest middle. Ready: down to the target and pliable. "
        "All as left in to the end."
    ]
    return Table(columns, notes)


def effect_table(effects: Effects) -> Table:
    """Return the table of first-order and total effects, on the time first."""
    keys, columns = list(effects.of_time), []
    for outcome, found in (("time", effects.of_time), ("log reduction", effects.of_reduction)):
        of = [found[key] for key in keys]
        alone = [f"{round(100.0 * one.first)} ± {round(100.0 * one.first_error)}" for one in of]
        in_all = [f"{round(100.0 * one.total)} ± {round(100.0 * one.total_error)}" for one in of]
        columns += [Column((outcome, "alone", "%"), alone), Column((outcome, "in all", "%"), in_all)]
    names = [" with ".join((WORDS | _CHOSEN)[key] for key in name.split(" + ")) for name in keys]
    notes = [
        "Share of the variance of the ranks that goes with each thing: alone (first order), and in all (total), with what "
        f"it does through others; ± one standard error, from {effects.rows} rows of points ({effects.slices} slices, seed "
        f"{effects.seed})."
    ]
    return Table([*columns, Column(("", "what differs", ""), names)], notes)


def spread_csv(spread: Spread) -> str:
    """Return one line per noted time, in SI: time_s, bands of each quantity by per cent, and the three shares."""
    columns = {"time_s": spread.times_s}
    for name in ("water_activity", "moisture_db", "core_K", "face_K"):
        for share, band in zip(SHARES, spread.bands(name, SHARES), strict=True):
            columns[f"{name}_p{100 * share:02.0f}"] = band
    columns |= dict(zip(_STATES, spread.states(), strict=True))
    rows = zip(*columns.values(), strict=True)
    return csv_text(columns, ([f"{value:.8g}" for value in row] for row in rows))


def summary(spread: Spread) -> dict[str, Any]:
    """Return the answers as plain values in SI; null where something lies beyond the run."""
    return {
        "batch": spread.batch.name,
        "caution": CAUTION,
        "slices": spread.thickness_m.size,
        "batches": spread.sample.batches["setpoint"].size,
        "seed": spread.seed,
        "slices_in_batch": spread.in_batch,
        "uncertainties": {key: _stated(one) for key, one in spread.uncertainties.items()},
        "correlations": [list(pair) for pair in spread.correlations],
        "points": spread.points,
        "stage_end_s": list(spread.clock.ends_s),
        "planned_end_s": spread.planned_s,
        "followed_s": float(spread.times_s[-1]),
        "done_s": {f"p{100 * share:02.0f}": spread.done_quantile(share) for share in SHARES},
        "shares_at_planned_end": dict(zip(_STATES, _planned_shares(spread), strict=True)),
        "first_look_s": spread.first_look_s,
        "look_again_s": spread.look_again_s,
        "slowest_not_done": asdict(spread.slowest_misses()),
        "reduction": {
            "grade": spread.grade,
            "grade_as_meant": spread.judged.grade,
            **check_values(spread.judged),
            "warnings": [sentence(one) for one in spread.judged.warnings],
            "humidity_shown": not air_unshown(spread.batch),
            "organism": spread.organism,
            "target_log10": spread.target_log10,
            "misses_lower": asdict(spread.reduction_misses("lower")),
            "misses_best": asdict(spread.reduction_misses("best")),
        },
        "heating": None if spread.heating is None else _heating(spread.heating),
        "influences": spread.influences(),
        "reduction_influences": spread.reduction_influences(),
        "between_batches": spread.between_batches(),
        **({"effects": asdict(spread.effects)} if spread.effects else {}),
        "inputs": inputs_of(spread.batch),
        "components": spread.batch.components.replaced or None,
        "versions": versions(),
        **({"workers": spread.workers} if spread.workers else {}),
    }


def _heating(heating: Heating) -> dict[str, Any]:
    """Return for how long kitchens heat their slices first [s], and in how many the thickest gets hot inside."""
    times = {f"p{100 * share:02.0f}": float(np.quantile(heating.heated_s, share)) for share in SHARES}
    return {"heated_s": times, "hot_inside": float(heating.inside.mean())}


def _made(spread: Spread) -> dict[str, Any]:
    return attributes(spread.batch, spread.title, seed=spread.seed, workers=spread.workers)


def _stated(uncertainty: Uncertainty) -> dict[str, Any]:
    stated: dict[str, Any] = {"shape": uncertainty.shape, "size": uncertainty.size}
    return stated | ({"parameters": dict(uncertainty.parameters)} if uncertainty.parameters else {})


def slices_npz(spread: Spread) -> bytes:
    """Return what was drawn for every slice and what came of it, as arrays in numpy's NPZ format; `provenance` is JSON text."""
    arrays: dict[str, Any] = {
        "batch": spread.sample.batch,
        "tray": spread.tray,
        "thickness_m": spread.thickness_m,
        **{f"input_{key}": spread.sample.of_slices(key) for key in INPUTS},
        **spread.reported,
        **({} if spread.heating is None else {"heated_s": spread.heating.heated_s}),
        "provenance": np.array(json_text(_made(spread))),
    }
    content = io.BytesIO()
    np.savez(content, **arrays)
    return content.getvalue()


def write_spread(
    spread: Spread, directory: Path, units: str | None = None, *, pictures: str = "png"
) -> list[Path]:
    """Write the data and the picture, all or none; files of the same names are replaced.

    Parameters
    ----------
    spread : Spread
    directory : Path
        Made if it is missing.
    units : str, optional
        "metric" or "us", for the picture; as the batch file says if left out.
    pictures : str, optional
        Kind of the picture: "png" or "svg".
    """
    from dryingsim.show.spread.pictures import spread_figure  # slow to import

    data = {
        "spread.csv": spread_csv(spread).encode(),
        "spread.json": json_text(summary(spread)).encode(),
        "slices.npz": slices_npz(spread),
    }
    sheets = {"spread": lambda: spread_figure(spread, units)}
    return write_result(Path(directory), data, sheets, _made(spread), pictures)
