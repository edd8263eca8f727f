"""The tables of a run: over time, and in an appliance by tray."""

from collections.abc import Callable, Iterable

import numpy as np

from dryingsim.answer import Answer
from dryingsim.history import History
from dryingsim.judge.doneness import HOUR_S
from dryingsim.judge.taking_off import held_activity, held_weight, leaving_times
from dryingsim.judge.trays import AirState, TrayDone
from dryingsim.model.build import recipe_of
from dryingsim.show.core.quantities import SHORT_S, Units, at_least, clock, slices, slowest
from dryingsim.show.core.tables import Column, Table, clock_or_dash
from dryingsim.typing import Array

_ROWS = 12  # about as many even times as the table may have
_STEPS_MIN = (1, 2, 3, 5, 10, 15, 20, 30, 60, 90, 120, 180, 240, 360, 720, 1440)


def table_rows(history: History) -> list[int]:
    """Return the indices of the records worth a row: start, even times, one early, the end of each stage."""
    minutes = history.time_s[-1] / 60.0
    step = 60.0 * next((s for s in _STEPS_MIN if minutes / s <= _ROWS), _STEPS_MIN[-1])
    ends = [int(np.abs(history.time_s - end).argmin()) for end in history.stage_end_s]
    even = np.append(0.5 * step, np.arange(0.0, history.time_s[-1], step))
    # an even time next to the end of a stage would only repeat it
    told = [t for t in even if t == 0.0 or np.min(np.abs(history.stage_end_s - t)) > 0.3 * step]
    return sorted({int(np.abs(history.time_s - t).argmin()) for t in told} | set(ends))


def table_columns(history: History, units: str | None = None) -> list[Column]:
    """Return the columns of the table: the whole batch, then the slowest slices while they are in, and their air."""
    shown, k, rows = Units(history, units), slowest(history), table_rows(history)
    weight, dry = held_weight(history), float(history.dry_mass_kg.sum())
    moisture, leaves_s = weight / dry - 1.0, float(leaving_times(history)[k])

    def column(heading: tuple[str, str, str], values: Array, decimals: int) -> Column:
        return Column(heading, [f"{value:.{decimals}f}" for value in values[rows]])

    def while_in(heading: tuple[str, str, str], values: Array, number: Callable[[float], str]) -> Column:
        return Column(heading, [number(values[i]) if history.time_s[i] <= leaves_s else "-" for i in rows])

    def degrees(above: str, below: str, kelvin: Array) -> Column:
        return while_in((above, below, shown.temperature.symbol), kelvin, shown.temperature.number)

    return [
        Column(("", "time", "h:min"), [clock(history.time_s[i]) for i in rows]),
        Column(("", "weight", shown.weight.symbol), [shown.weight.number(weight[i]) for i in rows]),
        column(("", "loss", "%"), 100.0 * (1.0 - weight / (weight[0] * history.batch.washing)), 1),
        column(("dry", "basis", shown.ratio), moisture, 2),
        column(("wet", "basis", "%"), 100.0 * moisture / (1.0 + moisture), 1),
        column(("", "MPR", shown.ratio), moisture / recipe_of(history.batch)[0].protein, 2),
        column(("a_w", "equil.", "-"), held_activity(history)[:, k], 2),
        while_in(("a_w", "surf.", "-"), history.surface_water_activity[:, 1, k], "{:.2f}".format),
        degrees("", "core", history.core_temperature_K[:, k]),
        degrees("", "surf.", history.surface_temperature_K[:, 1, k]),
        degrees("", "air", history.air_temperature_K[:, k]),
        degrees("wet", "bulb", history.air_wet_bulb_K[:, k]),
    ]


def table_notes(history: History, units: str | None = None) -> list[str]:
    """Return what the table's short headings mean, and where its stages end."""
    name = slices(history, Units(history, units), slowest(history))
    ends = zip(history.stage_end_s, history.batch.stages, strict=True)
    leaves = leaving_times(history)
    off = f"Slices that are ready are taken off from {clock(leaves.min())} on and weighed with the others"
    gone = f"; all are off at {clock(leaves.max())}" if leaves.max() < history.time_s[-1] else ""
    washed = (
        " Weights are without the salt and sugar that the water takes; the loss counts them."
        if history.batch.washed
        else ""
    )
    return [
        "Whole batch: weight, weight loss, moisture on dry and wet basis, moisture-protein "
        f"ratio (MPR). The {name} (the thickest, so the slowest): equilibrated water activity (a_w, as it will be once "
        "moisture has evened out), and at the upper surface; temperature of core and upper surface; the air there and its "
        f"wet bulb.{washed}",
        "Stages end at "
        + ", ".join(f"{clock(end) if end > SHORT_S else at_least(end)} ({stage.name})" for end, stage in ends)
        + ".",
        *(
            [f"{off}{gone}. In history.csv they are followed to the end."]
            if leaves.min() < history.time_s[-1]
            else []
        ),
    ]


def tables(answer: Answer, units: str | None = None) -> list[Table]:
    """Return all tables of a run: over time, and in an appliance by tray."""
    history = answer.history
    rows = table_rows(history)
    ends = {rows.index(int(np.abs(history.time_s - end).argmin())) for end in history.stage_end_s}
    first = Table(table_columns(history, units), table_notes(history, units), ends)
    return [first, *_tray_tables(answer, Units(history, units))]


def look_table(answer: Answer, units: str | None = None) -> list[Table]:
    """Return the table of regular looks: when, what the batch should then weigh, what share is ready; none without a look."""
    looks, shown = answer.regular_looks, Units(answer.batch, units)
    if not looks:
        return []
    shares = [
        (look.ready, *look.ready_range)
        for look in looks
        if look.ready is not None and look.ready_range is not None
    ]

    def percent(shares: Iterable[float]) -> list[str]:
        return [f"{100.0 * share:.0f}" for share in shares]

    columns = [
        Column(("", "time", "h:min"), [clock(look.time_s) for look in looks]),
        Column(("", "weight", shown.weight.symbol), [shown.weight.number(look.weight_kg) for look in looks]),
        Column(("to take", "off", "%"), percent(likely for likely, _, _ in shares)),
        Column(("", "from", "%"), percent(low for _, low, _ in shares)),
        Column(("", "to", "%"), percent(high for _, _, high in shares)),
    ]
    return [Table(columns, [_LOOK_NOTE])]


_LOOK_NOTE = (
    "Weight as computed, slices taken off among it. To take off: the likely share of the slices, by weight, that is surely dry, "
    "down to its stop weight; nine times in ten between the last two, as kitchens, batches and slices differ. Before that, "
    "slices are ready as computed."
)


def _tray_tables(answer: Answer, shown: Units) -> list[Table]:
    air, trays, history = answer.tray_air, answer.trays, answer.history
    if air is None or trays is None:
        return []
    times = _tray_times(answer)
    told = [(i, tray) for i in times for tray in range(trays.used)]

    def numbers(heading: tuple[str, str, str], values: Array) -> Column:
        return Column(heading, [f"{values[one]:.1f}" for one in told])

    def of(side: str, state: AirState) -> list[Column]:
        unit, degrees = shown.temperature.symbol, shown.temperature.value
        return [
            numbers((side, "air", unit), degrees(state.temperature_K)),
            numbers((side, "RH", "%"), 100.0 * state.relative_humidity),
            numbers((side, "wet", unit), degrees(state.wet_bulb_K)),
            numbers((side, "dew", unit), degrees(state.dew_point_K)),
        ]

    activity = held_activity(history)
    wettest = [f"{activity[i, history.tray == tray].max():.2f}" for i, tray in told]
    columns = [
        Column(("", "time", "h:min"), [clock(history.time_s[i]) for i, _ in told]),
        Column(("", "tray", "no."), [str(tray + 1) for _, tray in told]),
        *of("in", air.entering),
        *of("out", air.leaving),
        Column(("a_w", "equil.", "-"), wettest),
    ]
    ends = {trays.used * (number + 1) - 1 for number in range(len(times))}
    found = [Table(columns, [_tray_note(history)], ends)]
    if trays.used > 1:
        found.append(Table(_done_columns(trays.done), [_DONE_NOTE]))
    return found


_DONE_NOTE = (
    "When the first of a tray's slices are done, when all are, and the likely range of that (nine times in ten); - is not "
    "in this run."
)


def _tray_note(history: History) -> str:
    moved = "" if history.batch.rotate_every_s is None else " (each is followed as it changes places)"
    return (
        f"Tray by tray, numbered along the air's way at the start{moved}: air coming in and going out, its "
        "relative humidity (RH), wet bulb and dew point; equilibrated water activity of the wettest slices."
    )


def _tray_times(answer: Answer) -> list[int]:
    """Return the records to tell of the trays: after an hour, and when done, or else at the end."""
    done = answer.doneness.batch.expected_s
    last = answer.end_s if done is None else done
    times = [HOUR_S, last] if last > 1.2 * HOUR_S else [last]
    return [int(np.abs(answer.history.time_s - time).argmin()) for time in times]


def _done_columns(done: tuple[TrayDone, ...]) -> list[Column]:
    windows = [one.all_done for one in done]
    return [
        Column(("", "tray", "no."), [str(number) for number in range(1, len(done) + 1)]),
        Column(("first", "done", "h:min"), [clock_or_dash(one.first_s) for one in done]),
        Column(("all", "done", "h:min"), [clock_or_dash(one.expected_s) for one in windows]),
        Column(("", "from", "h:min"), [clock_or_dash(one.earliest_s) for one in windows]),
        Column(("", "to", "h:min"), [clock_or_dash(one.latest_s) for one in windows]),
    ]
