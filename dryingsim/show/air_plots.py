"""The air on a psychrometric chart: from the room, warmed, past the meat; and the meat's face in the same chart."""

from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes

from dryingsim.history import History
from dryingsim.judge.doneness import HOUR_S, judge_batch
from dryingsim.properties import moist_air
from dryingsim.properties.water import saturation_pressure
from dryingsim.show.quantities import Units, slowest, spoken
from dryingsim.show.style import BLACK, BLUE, GREY, INKS, ORANGE, RED, new_axes, open_frame
from dryingsim.typing import Array

_HUMIDITIES = (0.1, 0.3, 1.0)  # relative; lines of the chart
_GRAINS = 7000.0  # in a pound, exactly: the measure of US psychrometric charts
_BOILING_SHARE = 0.6  # of the total pressure: beyond, lines of relative humidity leave any chart


@dataclass(frozen=True, slots=True)
class Moment:
    """The air at one time: on its way (temperature [K], humidity ratio [kg/kg]) and what that moment is called."""

    name: str
    temperature_K: Array
    humidity_ratio: Array


def moments(history: History) -> list[Moment]:
    """Return the way of the air at a few times.

    In an appliance after one hour, and when done, or else at the end: before the trays and after each place. In given air in
    every stage, at its end.
    """
    pressure, k = history.batch.room.pressure_Pa, slowest(history)
    if history.chamber is None:
        rows = [int(np.abs(history.time_s - end).argmin()) for end in history.stage_end_s]
        names = [stage.name for stage in history.batch.stages]
        ways = [(history.air_temperature_K[[i], k], history.air_vapour_pressure_Pa[[i], k]) for i in rows]
        return [
            Moment(name, t, moist_air.humidity_ratio(p, pressure))
            for name, (t, p) in zip(names, ways, strict=True)
        ]
    done = judge_batch(history).doneness.batch.expected_s or float(history.time_s[-1])
    times = [HOUR_S, done] if done > 1.2 * HOUR_S else [done]
    rows = [int(np.abs(history.time_s - time).argmin()) for time in times]
    chamber = history.chamber
    return [
        Moment(
            f"after {spoken(float(history.time_s[i]))}",
            chamber.cell_temperature_K[i],
            chamber.cell_humidity_ratio[i],
        )
        for i in rows
    ]


def air_path(history: History, axes: Axes | None = None, units: str | None = None) -> Axes:
    """Draw the air's way on a psychrometric chart, and where the upper face of the slowest slices went on it.

    The face is drawn as the air that touches it: at its temperature, with the vapour that its water activity holds.
    While it is wet it lies on the line of 100 % relative humidity, near the wet bulb; as it dries it leaves that line for
    the state of the air.

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
    shown, axes, k = Units(history, units), axes or new_axes(), slowest(history)
    us, room = shown.bulk.name == "lb", history.batch.room
    scale = _GRAINS if us else 1000.0
    told = shown.temperature.value
    room_w = float(
        moist_air.humidity_ratio(
            moist_air.vapour_pressure_from_relative_humidity(room.relative_humidity, room.temperature_K),
            room.pressure_Pa,
        )
    )
    ways = moments(history)
    face_t, face_w = _face(history, k)
    top = _top(history, ways, face_w)
    hottest = max(float(way.temperature_K.max()) for way in ways)
    span = hottest - room.temperature_K
    coldest = min(273.15, room.temperature_K, float(face_t.min()))
    _chart(axes, history, shown, (coldest, hottest + 4.0), top, scale)
    for number, way in enumerate(ways):
        colour = (RED, ORANGE)[number % 2]
        supply = float(way.temperature_K[0]), float(way.humidity_ratio[0])
        # below names of states so near that the words would cover each other
        near = sum(
            abs(other.temperature_K[0] - supply[0]) < 0.15 * span
            and abs(other.humidity_ratio[0] - supply[1]) < 0.06 * top
            for other in ways[:number]
        )
        axes.plot(
            told(np.array([room.temperature_K, supply[0]])),
            scale * np.array([room_w, supply[1]]),
            color=GREY,
            linestyle=":",
            linewidth=1.2,
        )
        wet_t, wet_w = _wet_bulb_line(supply, room.pressure_Pa)
        axes.plot(told(wet_t), scale * wet_w, color=BLUE, linestyle="--", linewidth=1.2)
        axes.annotate(
            shown.temperature.text(float(wet_t[-1])),
            (float(told(wet_t[-1])), scale * float(wet_w[-1])), (-4.0, 2.0), textcoords="offset points",
            ha="right", va="bottom", color=INKS[BLUE], fontsize="small",
        )  # fmt: skip
        axes.plot(
            told(way.temperature_K),
            scale * way.humidity_ratio,
            "o-",
            color=colour,
            markersize=4.5,
            linewidth=1.8,
        )
        axes.annotate(
            way.name,
            (float(told(supply[0])), scale * supply[1]),
            (0.0, -7.0 - 12.0 * near),
            textcoords="offset points",
            ha="right" if supply[0] > hottest - 0.25 * span else "center",
            va="top",
            color=INKS[colour],
            parse_math=False,  # a person named the stage
        )
    axes.plot(told(face_t), scale * face_w, color=BLACK, linewidth=1.8, label="face of the meat")
    peak = int(face_w.argmax())
    axes.annotate(
        "face of the meat",
        (float(told(face_t[peak])), scale * float(face_w[peak])),
        (6.0, 6.0),
        textcoords="offset points",
    )
    axes.plot(told(room.temperature_K), scale * room_w, "s", color=BLACK, markersize=5.0)
    axes.annotate(
        "room",
        (float(told(room.temperature_K)), scale * room_w),
        (0.0, -6.0),
        textcoords="offset points",
        ha="center",
        va="top",
    )
    axes.set_title("The air's way and the meat's face\n(dashed: to the air's wet bulb)", loc="left")
    return axes


def _face(history: History, k: int) -> tuple[Array, Array]:
    """Temperature [K] and humidity ratio [kg/kg] at the upper face of a slab."""
    t = history.surface_temperature_K[:, 1, k]
    vapour = history.surface_water_activity[:, 1, k] * saturation_pressure(t)
    pressure = history.batch.room.pressure_Pa
    return t, moist_air.humidity_ratio(np.minimum(vapour, _BOILING_SHARE * pressure), pressure)


def _top(history: History, ways: list[Moment], face: Array) -> float:
    """Humidity ratio at the top of the chart [kg/kg]."""
    pressure = history.batch.room.pressure_Pa
    wet = [
        float(_wet_bulb_line((float(w.temperature_K[0]), float(w.humidity_ratio[0])), pressure)[1][-1])
        for w in ways
    ]
    return 1.12 * max(float(face.max()), *wet, *(float(way.humidity_ratio.max()) for way in ways))


def _wet_bulb_line(supply: tuple[float, float], pressure: float) -> tuple[Array, Array]:
    """Temperature [K] and humidity ratio from a state of air to saturation, at its wet bulb."""
    t, w = supply
    wet = float(moist_air.wet_bulb(t, moist_air.vapour_pressure(w, pressure), pressure))
    temperatures = np.linspace(t, wet, 30)
    vapour = moist_air.vapour_pressure_from_wet_bulb(temperatures, wet, pressure)
    return temperatures, moist_air.humidity_ratio(vapour, pressure)


def _chart(
    axes: Axes, history: History, shown: Units, span_K: tuple[float, float], top: float, scale: float
) -> None:
    """Draw lines of relative humidity, each named where it leaves the chart."""
    t = np.linspace(*span_K, 240)
    pressure = history.batch.room.pressure_Pa
    told = shown.temperature.value
    for share in _HUMIDITIES:
        vapour = share * saturation_pressure(t)
        w = moist_air.humidity_ratio(np.minimum(vapour, _BOILING_SHARE * pressure), pressure)
        inside = w <= top
        axes.plot(told(t[inside]), scale * w[inside], color=GREY, linewidth=1.3 if share == 1.0 else 0.7)
        at = int(np.flatnonzero(inside)[-1])
        axes.annotate(
            f"{100.0 * share:.0f} %",
            (float(told(t[at])), scale * float(w[at])),
            (-2.0, 2.0),
            textcoords="offset points",
            ha="right",
            va="bottom",
            color=INKS[GREY],
            fontsize="small",
        )
    axes.set_xlim(float(told(span_K[0])), float(told(span_K[1])))
    axes.set_ylim(0.0, 1.06 * scale * top)
    axes.set_xlabel(f"temperature ({shown.temperature.symbol})")
    us = scale == _GRAINS
    axes.set_ylabel(f"water in the air ({'grains per lb' if us else 'g per kg'} dry air)")
    open_frame(axes)
