"""What more of one thing costs a plan: the curves of least time as tables."""

from dryingsim.judge.grades import COUNTABLE
from dryingsim.plan.planner import Plan
from dryingsim.plan.relaxing import TradeOff
from dryingsim.plan.requirements import Variable
from dryingsim.show.plan_text import value_text
from dryingsim.show.quantities import Units
from dryingsim.show.tables import Column, Table, clock_or_dash


def trade_off_tables(plan: Plan, units: str | None = None) -> list[Table]:
    """Return the curves of least time as tables: over the kill, and over evenness."""
    shown, tables = Units(plan.planned, units), []
    notes = {
        "kill": "What the kill costs: least time for a kill (cautious estimate) beyond the target, of the organism that "
        "decides; below 0 it misses.",
        "evenness": "What evenness costs: least time for slices less apart, all else asked for being kept; apart: "
        "difference in water activity between the wettest and the driest twentieth.",
    }
    for over, note in notes.items():
        rows = [one for one in plan.trade_offs if one.over == over]
        if len(rows) < 2:
            continue
        columns = [
            Column(("", "takes", "h:min"), [clock_or_dash(one.trial.end_s) for one in rows]),
            Column(("kill", "beyond", "log"), [_beyond(one) for one in rows]),
            Column(("", "apart", "-"), [f"{one.apart:.2f}" for one in rows]),
        ]
        if plan.planned.appliance is not None:
            cells = [shown.energy.number(one.trial.energy_J) for one in rows]
            columns.append(Column(("", "energy", shown.energy.symbol), cells))
        for k, variable in enumerate(plan.template.variables):
            cells = [value_text(variable, one.values[k], shown) for one in rows]
            columns.append(Column((*_heading(variable), ""), cells))
        tables.append(Table(columns, [note], set()))
    return tables


def _beyond(one: TradeOff) -> str:
    return f"{one.trial.beyond:+.1f}" if one.trial.beyond <= COUNTABLE else f"> {COUNTABLE:.0f}"


def _heading(variable: Variable) -> tuple[str, str]:
    parts = variable.key.split(".")
    if parts[0] == "stage":
        words = {"duration": "length", "water_activity": "a_w", "relative": "RH", "door_gap": "gap"}
        return f"{parts[1]}.", words.get(parts[-1], parts[-1].replace("_", " "))
    return "", {"meat.thickness": "thick", "appliance.door.gap": "gap"}[variable.key]
