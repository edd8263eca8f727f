"""What was measured of one probed slice and estimated from it, for a record: sentences, a picture, a table over time."""

from typing import Any

import numpy as np

from dryingsim.batch.catalog.critical_limits import CriticalLimits
from dryingsim.judge.grades import Lethality
from dryingsim.judge.thermometer_log import ThermometerLog
from dryingsim.learn.logged_estimate import LoggedEstimate
from dryingsim.show.core.document import Block, Form, Heading, Picture, form, sentences
from dryingsim.show.core.quantities import Units, count_of, logs, spoken
from dryingsim.show.lethality.federal_text import table_line
from dryingsim.show.lethality.text import HEADLINES
from dryingsim.show.record.pictures import draw_readings
from dryingsim.show.thermometer.estimate_text import bands
from dryingsim.show.thermometer.text import best_cells, what_was_read
from dryingsim.typing import Array

_MOST_ROWS = 48  # a page: a logger may have thousands of readings


def come_up_s(log: ThermometerLog, limits: CriticalLimits) -> float:
    """Return how long the meat stood where bacteria grow, by its readings [s]; an interval with one end there counts half."""
    low, high = limits.come_up_K
    within = ((log.temperature_K >= low) & (log.temperature_K <= high)).astype(float)
    return float(np.sum(np.diff(log.time_s) * 0.5 * (within[1:] + within[:-1])))


def place_of(estimate: LoggedEstimate, units: Units) -> str:
    """Return which slice a log is of: "log.csv, in a 5 mm slice on tray 2"."""
    of = estimate.of
    thick = units.length.text(of.batch.meat.classes[of.fitted.piece.kind].thickness_m)
    tray = f" on tray {int(of.meant.tray[of.slab]) + 1}" if of.meant.tray.max() else ""
    return f"{of.log.name}, in a {thick} slice{tray}"


def measured(estimate: LoggedEstimate, limits: CriticalLimits, units: Units) -> list[Block]:
    """Return what one log tells."""
    whole, table = estimate.of.heated.whole, estimate.of.judged_log.compliance
    degrees, spent = units.temperature, come_up_s(whole, limits)
    lines = [
        *what_was_read(whole),
        f"{whole.time_s.size} readings in {spoken(float(whole.time_s[-1]))}. Of the meat from "
        f"{degrees.text(whole.temperature_K.min())} to {degrees.text(whole.temperature_K.max())}; {limits.reading.text} "
        f"({limits.reading.source}).",
        f"Come-up: {spoken(spent)} in all between the two temperatures, of {spoken(limits.come_up_s)} that are allowed.",
        table_line(table, degrees) if table else "Humidity: not logged, so no humidity option was met.",
        f"Estimated in this slice: {reductions(estimate.probed_lethality.lethality, relied=not estimate.of.objections)}",
        *_dryness(whole),
        *_weighed(estimate),
        *_left_out(estimate),
    ]
    return [
        Heading(place_of(estimate, units)),
        *sentences(*lines),
        _picture(whole, limits, units),
        _over_time(estimate, units),
    ]


def reductions(lethality: Lethality, *, relied: bool) -> str:
    """Return the log reductions of a judgement in a sentence; without best estimates where the log is not relied on."""
    entries = lethality.organisms
    each = "; ".join(
        f"{entry.name} lower bound {logs(entry.counted)}, best estimate {best}, required {entry.target:.1f} log"
        for entry, best in zip(entries, best_cells(entries, relied=relied), strict=True)
    )
    doubted = "" if relied else " The log is in doubt, so no best estimate is told (-)."
    return f"{each}. {HEADLINES[lethality.grade]}.{doubted}"


def _dryness(log: ThermometerLog) -> list[str]:
    """Return the water activity at the probe, where it was measured."""
    if log.water_activity is None:
        return []
    ends = f"from {log.water_activity.max():.2f} to {log.water_activity.min():.2f}"
    return [f"Water activity as logged at the probe: {ends}."]


def _weighed(estimate: LoggedEstimate) -> list[str]:
    """Return the weights over the first one, at most a dozen of them."""
    weights = estimate.of.weights
    if weights is None:
        return []
    rows = np.unique(np.linspace(0, weights.time_s.size - 1, 12).round().astype(int))
    each = ", ".join(f"{weights.share[i]:.0%} after {spoken(float(weights.time_s[i]))}" for i in rows)
    return [f"Weight, of that when laid in: {each}."]


def _picture(log: ThermometerLog, limits: CriticalLimits, units: Units) -> Picture:
    def draw(axes: Any) -> None:
        draw_readings(axes, log, limits, units)

    title = "Readings, and the temperatures between which the meat may stand only so long"
    span = spoken(float(log.time_s[-1]))
    message = f"{log.time_s.size} readings of the meat and the air beside it over {span}"
    return Picture("readings", title, message, draw)


def _rows(estimate: LoggedEstimate) -> Array:
    """Return which readings on the trays the table shows: all of them where a page holds them, else some, evenly spread."""
    count = estimate.of.log.time_s.size
    return np.unique(np.linspace(0, count - 1, min(count, _MOST_ROWS)).round().astype(int))


def _left_out(estimate: LoggedEstimate) -> list[str]:
    """Return how many readings the table does not show, and why."""
    count, shown = estimate.of.log.time_s.size, _rows(estimate).size
    before = estimate.of.heated.whole.time_s.size - count
    why = [
        *([f"{count_of(before, 'reading')} from before the slices lay on the trays"] if before else []),
        *(
            [f"{count - shown} between those it shows, evenly spread, for want of room"]
            if shown < count
            else []
        ),
    ]
    return [f"The table leaves out {' and '.join(why)}; the picture has all."] if why else []


def _over_time(estimate: LoggedEstimate, units: Units) -> Form:
    log, rows = estimate.of.log, _rows(estimate)
    times = log.time_s[rows]
    surface = bands(estimate.surface(), estimate.time_s, times)
    assert log.air_temperature_K is not None
    rh = log.relative_humidity
    told = units.temperature.text
    lines = (
        (
            spoken(float(times[k])),
            told(float(log.temperature_K[i])),
            told(float(log.air_temperature_K[i])),
            "not logged" if rh is None else f"{rh[i]:.0%}",
            f"{surface[1, k]:.2f} ({surface[0, k]:.2f} to {surface[2, k]:.2f})",
        )
        for k, i in enumerate(rows.tolist())
    )
    begun = "time on the trays" if estimate.of.heated.ends_s else "time"
    columns = {begun: 1.0, "meat": 1.0, "air": 1.0, "relative humidity": 1.0}
    return form(columns | {"water activity at the surface, estimated": 2.0}, lines)
