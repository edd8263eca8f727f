"""The drying rate over the moisture: the periods of drying as a textbook draws them."""

import numpy as np
from matplotlib.axes import Axes

from dryingsim.batch.units import from_si
from dryingsim.history import History
from dryingsim.judge.taking_off import leaving_times
from dryingsim.properties.solutions import SALT_SATURATION
from dryingsim.show.core.quantities import Units, class_name, spoken
from dryingsim.show.core.style import BLACK, GREY, INKS, LINE_COLOURS, PAPER, ink, new_axes, open_frame
from dryingsim.show.run.depth_pictures import target_moisture_db
from dryingsim.typing import Array

STEADY = 0.9  # of the highest rate: what still counts as drying at a steady rate; estimate

_FLASH_S = 600.0  # in which slices that were heated first flash as they come into the air


def fluxes(history: History) -> tuple[Array, Array]:
    """Return the mean moisture [kg/kg] and the vapour given off per open face area [kg/(m2 s)] between the records.

    Both of shape (t - 1, m). What leaves through the long edges of narrow strips counts with the faces.
    """
    open_faces = history.slabs.vapour_open.sum(axis=0)
    rate = np.diff(history.vapour_kg_m2, axis=0) / np.diff(history.time_s)[:, None] / open_faces
    return 0.5 * (history.mean_moisture_db[1:] + history.mean_moisture_db[:-1]), rate


def in_first_stage(history: History) -> Array:
    """Return which of `fluxes` belong to the first drying stage, without the flash of slices that come hot into the air."""
    begin = history.batch.first_drying
    first: Array = history.stage[1:] == begin
    if begin:
        first &= history.time_s[1:] > history.stage_end_s[begin - 1] + left_out_s(history)
    return first


def left_out_s(history: History) -> float:
    """Return for how long slices that come hot into the air flash, which is left out of `in_first_stage` [s]; 0 of others."""
    begin, ends = history.batch.first_drying, history.stage_end_s
    return min(_FLASH_S, max(0.5 * float(ends[begin]) - float(ends[begin - 1]), 0.0)) if begin else 0.0


def steady_share(history: History, slab: int) -> float:
    """Return the share of the water given off in the first drying stage that left at `STEADY` of the highest rate or more."""
    _, rate = fluxes(history)
    first = in_first_stage(history)
    gone = (rate[:, slab] * np.diff(history.time_s))[first]
    return float(gone[rate[first, slab] >= STEADY * rate[first, slab].max()].sum() / gone.sum())


def rate_unit(shown: Units) -> tuple[float, str]:
    """Return the factor from kg/(m2 s) to the unit a drying rate is printed in, and that unit."""
    side = "ft" if shown.bulk.name == "lb" else "m"
    factor = 3600.0 * float(shown.bulk.value(1.0)) / float(from_si(1.0, side, "length")) ** 2
    return factor, f"{shown.bulk.symbol}/({side}² h)"


def drying_rate(history: History, axes: Axes | None = None, units: str | None = None) -> Axes:
    """Draw what each open face gives off over the mean moisture, for every thickness; time runs to the left.

    Warming up, the rate rises; were the face to stay wet it would hold (the constant-rate period); once the inside
    no longer brings up the water as fast as the air could take it, it falls (the falling-rate period). Of each class the
    slices on the first tray, until they are taken off. Later stages are dashed; what leaves while slices are heated first,
    and in the first ten minutes after that, is left out, as the title says. Where the faces of salted meat come down to
    saturated brine is marked: while the salt crystallises, the rate has a shoulder that is no period of drying.

    Parameters
    ----------
    history : History
    axes : matplotlib Axes, optional
        Where to draw; a new figure if left out.
    units : str, optional
        "metric" or "us"; as the batch file says if left out.

    Returns
    -------
    matplotlib Axes
    """
    shown, axes = Units(history, units), axes or new_axes()
    per, unit = rate_unit(shown)
    (moisture, rate), first = fluxes(history), in_first_stage(history)
    drawn = np.arange(first.size) >= int(np.argmax(first))
    target = target_moisture_db(history)
    axes.axvline(target, color=GREY, linewidth=1.0)
    slabs = [int(np.flatnonzero(history.kind == kind)[0]) for kind in range(len(history.batch.meat.classes))]
    leaves_s = leaving_times(history)
    for number, k in enumerate(slabs):
        here = drawn & (history.time_s[1:] <= leaves_s[k])
        x, y = moisture[here, k], per * rate[here, k]
        name = class_name(shown, history.batch.meat.classes[history.kind[k]])
        # on the line, one name behind the other
        named_at = (0.38 + 0.4 * (number + 0.5) / len(slabs)) * float(x[0])
        _draw_rate(axes, (x, y), first[here], LINE_COLOURS[number % len(LINE_COLOURS)], name, named_at)
    top = 1.12 * per * float(rate[first].max())
    axes.set_xlim(0.0, 1.04 * float(history.mean_moisture_db[0].max()))
    axes.set_ylim(
        min(0.0, 1.1 * per * float(rate[drawn].min())), max(top, 1.05 * per * float(rate[drawn].max()))
    )
    _annotate(axes, target)
    _mark_salt(axes, history, slabs[0], per * rate[:, slabs[0]])
    axes.set_xlabel(f"mean moisture ({shown.ratio}: water per dry solid)")
    axes.set_ylabel(f"drying rate of a face ({unit})")
    left_out = left_out_s(history)
    without = f" (without the first {spoken(left_out)} after heating)" if left_out else ""
    axes.set_title(f"Drying rate over moisture{without}", loc="left")
    open_frame(axes)
    return axes


def _draw_rate(
    axes: Axes, line: tuple[Array, Array], first: Array, colour: str, name: str, named_at: float
) -> None:
    """Draw the rate of one thickness, later stages dashed, its name where the moisture of the first stage is `named_at`."""
    x, y = line
    axes.plot(x[first], y[first], color=colour, linewidth=1.8, label=name)
    if not first.all():
        later = ~first
        axes.plot(x[later], y[later], color=colour, linewidth=1.0, linestyle="--", label=f"_{name} later")
    at = int(np.abs(x[first] - named_at).argmin())
    axes.annotate(
        name, (x[at], y[at]), ha="center", va="center", color=ink(colour), fontsize="small",
        bbox={"facecolor": PAPER, "linewidth": 0.0, "pad": 1.0},
    )  # fmt: skip


def _annotate(axes: Axes, target: float) -> None:
    """Name the line of the target, and say which way time runs."""
    axes.annotate(
        "target",
        (target, 0.02),
        (3.0, 0.0),
        xycoords=axes.get_xaxis_transform(),
        textcoords="offset points",
        color=INKS[GREY],
        fontsize="small",
    )
    axes.annotate(
        "time runs this way",
        (0.62, 0.96),
        (0.98, 0.96),
        xycoords="axes fraction",
        va="center",
        ha="right",
        fontsize="small",
        arrowprops={"arrowstyle": "->", "color": BLACK, "linewidth": 0.8},
    )


def _mark_salt(axes: Axes, history: History, slab: int, rate: Array) -> None:
    """Mark where the salt at the faces of a slab begins to crystallise, in the first stage."""
    activity = history.surface_water_activity[1:, :, slab].mean(axis=1)
    below = np.flatnonzero((activity < SALT_SATURATION) & in_first_stage(history))
    if history.batch.marinade.salt_kg_kg <= 0.0 or below.size == 0 or below[0] == 0:
        return
    moisture, _ = fluxes(history)
    at = float(moisture[below[0], slab]), float(rate[below[0]])
    axes.plot(*at, "o", color=BLACK, markersize=3.5, label="_salt")
    axes.annotate(
        "salt crystallises\nat the faces", at, (-12.0, 0.0), textcoords="offset points", ha="right", va="center",
        fontsize="small", arrowprops={"arrowstyle": "-", "color": GREY, "linewidth": 0.8},
    )  # fmt: skip
