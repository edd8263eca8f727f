"""A plan as a picture: its course, and what more log reduction and more even slices would cost in time."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from dryingsim.judge.heat_resistance import COUNTABLE
from dryingsim.plan.outcome import Plan
from dryingsim.plan.relaxing import TradeOff
from dryingsim.show.core.quantities import spoken
from dryingsim.show.core.style import BLUE, GREY, INKS, PURPLE, RED, open_frame
from dryingsim.show.run.pictures import caution, temperatures, water_activity


def plan_figure(plan: Plan, units: str | None = None) -> Figure:
    """Draw four panels on one sheet: temperatures and dryness of the planned batch, and the two curves.

    Parameters
    ----------
    plan : Plan
    units : str, optional
        "metric" or "us"; as the batch says if left out.
    """
    sheet = Figure(figsize=(11.0, 7.2), layout="constrained")
    panels = sheet.subplot_mosaic([["warm", "dry"], ["reduction", "even"]])
    temperatures(plan.history, panels["warm"], units)
    water_activity(plan.history, panels["dry"], units)
    reduction_curve(plan, panels["reduction"])
    evenness_curve(plan, panels["even"])
    grade = plan.answer.lethality.grade
    verdict = "" if plan.shown and plan.reached else f" - {grade}" if plan.reached else " - not enough"
    sheet.suptitle(
        f"{plan.planned.name}: plan, {spoken(plan.trial.end_s)}{verdict}",
        x=0.01,
        ha="left",
        fontweight="bold",
    )
    caution(sheet)
    return sheet


def reduction_curve(plan: Plan, axes: Axes) -> Axes:
    """Draw the least time over the log reduction beyond the target."""
    rows = [one for one in plan.trade_offs if one.over == "reduction"]
    worth = [min(one.trial.beyond, COUNTABLE) for one in rows]
    axes.axvline(0.0, color=GREY, linewidth=1.0)
    axes.annotate(
        "target", (0.0, 1.0), (3.0, -3.0), xycoords=("data", "axes fraction"), textcoords="offset points", va="top",
        color=INKS[GREY], fontsize="small",
    )  # fmt: skip
    _curve(plan, axes, rows, worth, RED, min(plan.trial.beyond, COUNTABLE))
    axes.set_xlabel("log reduction beyond the target, lower bound (log10)")
    axes.set_title("What the log reduction costs", loc="left")
    return axes


def evenness_curve(plan: Plan, axes: Axes) -> Axes:
    """Draw the least time over how far the slices are apart."""
    rows = [one for one in plan.trade_offs if one.over == "evenness"]
    own = next((one.apart for one in rows if one.values == plan.values), plan.apart)
    _curve(plan, axes, rows, [one.apart for one in rows], PURPLE, own)
    axes.invert_xaxis()
    axes.set_xlabel("water activity between wettest and driest twentieth")
    axes.set_title("What evenness costs (more even to the right)", loc="left")
    return axes


def _curve(plan: Plan, axes: Axes, rows: list[TradeOff], worth: list[float], colour: str, own: float) -> None:
    hours = np.array([one.trial.end_s for one in rows]) / 3600.0
    if len(rows) > 1:
        axes.plot(worth, hours, color=colour, marker="o", markersize=4.0, linewidth=1.4)
    else:
        axes.text(
            0.5, 0.9, "no schedule within the bounds does otherwise", transform=axes.transAxes, ha="center",
            color=INKS[GREY], fontsize="small",
        )  # fmt: skip
    axes.plot(
        [own], [plan.trial.end_s / 3600.0], marker="D", markersize=8.0, color=BLUE, linestyle="none", zorder=3
    )
    axes.annotate(
        "the plan",
        (own, plan.trial.end_s / 3600.0),
        (8.0, -10.0),
        textcoords="offset points",
        color=INKS[BLUE],
    )
    axes.set_ylabel("least time (h)")
    open_frame(axes)
