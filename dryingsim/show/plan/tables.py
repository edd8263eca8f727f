"""What more of one thing costs a plan: the curves of least time as tables."""

from dryingsim.judge.heat_resistance import COUNTABLE
from dryingsim.plan.outcome import Plan
from dryingsim.plan.relaxing import TradeOff
from dryingsim.plan.requirements import Variable
from dryingsim.show.core.quantities import Units
from dryingsim.show.core.tables import Column, Table, clock_or_dash
from dryingsim.show.plan.text import value_text


def trade_off_tables(plan: Plan, units: str | None = None) -> list[Table]:
    """Return the curves of least time as tables: over the log reduction, and over evenness."""
    shown, tables = Units(plan.planned, units), []
    notes = {
        "reduction": "What log reduction costs: least time for a log reduction (lower bound) beyond the target, of the organism "
        "that decides; below 0 it misses.",
        "evenness": "What evenness costs: least time for slices less apart, all else asked for being kept; apart: "
        "difference in water activity between the wettest and the driest twentieth.",
    }
    for over, note in notes.items():
        rows = [point for point in plan.trade_offs if point.over == over]
        if len(rows) < 2:
            continue
        columns = [
            Column(("", "takes", "h:min"), [clock_or_dash(point.trial.end_s) for point in rows]),
            Column(("reduction", "beyond", "log"), [_beyond(point) for point in rows]),
            Column(("", "apart", "-"), [f"{point.apart:.2f}" for point in rows]),
        ]
        if plan.planned.appliance is not None:
            cells = [shown.energy.number(point.trial.energy_J) for point in rows]
            columns.append(Column(("", "energy", shown.energy.symbol), cells))
        for k, variable in enumerate(plan.template.variables):
            cells = [value_text(variable, point.values[k], shown) for point in rows]
            columns.append(Column((*_heading(variable), ""), cells))
        tables.append(Table(columns, [note]))
    return tables


def _beyond(point: TradeOff) -> str:
    return f"{point.trial.beyond:+.1f}" if point.trial.beyond <= COUNTABLE else f"{COUNTABLE:.0f}+"


def _heading(variable: Variable) -> tuple[str, str]:
    parts = variable.key.split(".")
    if parts[0] == "stage":
        words = {"duration": "length", "water_activity": "a_w", "relative": "RH", "door_gap": "gap"}
        return f"{parts[1]}.", words.get(parts[-1], parts[-1].replace("_", " "))
    return "", {"meat.thickness": "thick", "appliance.door.gap": "gap"}[variable.key]
