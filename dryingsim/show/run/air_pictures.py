"""The air on a psychrometric chart: from the room, warmed, past the meat; and the meat's face in the same chart."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes

from dryingsim.history import History
from dryingsim.judge.doneness import HOUR_S, judge_batch
from dryingsim.properties import moist_air
from dryingsim.properties.water import saturation_pressure
from dryingsim.show.core.quantities import Units, slowest, spoken
from dryingsim.show.core.style import BLACK, BLUE, GREY, INKS, ORANGE, RED, new_axes, open_frame
from dryingsim.typing import Array

_HUMIDITIES = (0.1, 0.3, 1.0)  # relative; lines of the chart
_PER = 1000.0  # of dry air, by weight
_BOILING_SHARE = 0.6  # of the total pressure: beyond, lines of relative humidity leave any chart


@dataclass(frozen=True, slots=True)
class Moment:
    """The air at one time: on its way (temperature [K], humidity ratio [kg/kg]) and what that moment is called.

    Attributes
    ----------
    name : str
        What it is called.
    temperature_K : Array
        [K].
    humidity_ratio : Array
        [kg/kg].
    """

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
    shown, axes = Units(history, units), axes or new_axes()
    pressure, room = history.batch.room.pressure_Pa, _room(history)
    ways = moments(history)
    face_t, face_w = _face(history, slowest(history))
    top = _top(history, ways, face_w)
    hottest = max(float(way.temperature_K.max()) for way in ways)
    coldest = min(273.15, room[0], float(face_t.min()))
    chart = _Chart(axes, shown, _PER)
    chart.humidities(pressure, (coldest, hottest + 4.0), top)
    span = hottest - room[0]
    for number, way in enumerate(ways):
        colour, supply = (RED, ORANGE)[number % 2], _supply(way)
        # below names of states so near that the words would cover each other
        near = sum(
            abs(other.temperature_K[0] - supply[0]) < 0.15 * span
            and abs(other.humidity_ratio[0] - supply[1]) < 0.06 * top
            for other in ways[:number]
        )
        chart.line(np.array([room[0], supply[0]]), np.array([room[1], supply[1]]), GREY, ":", 1.2)
        wet_t, wet_w = _wet_bulb_line(supply, pressure)
        chart.line(wet_t, wet_w, BLUE, "--", 1.2)
        wet = float(wet_t[-1]), float(wet_w[-1])
        aside = {"ha": "right", "va": "bottom", "color": INKS[BLUE], "fontsize": "small"}
        chart.name(shown.temperature.text(wet[0]), wet, (-4.0, 2.0), **aside)
        chart.line(way.temperature_K, way.humidity_ratio, colour, "-", 1.8, marker="o", markersize=4.5)
        side = "right" if supply[0] > hottest - 0.25 * span else "center"
        # parse_math: a person named the stage
        below = {"ha": side, "va": "top", "color": INKS[colour], "parse_math": False}
        chart.name(way.name, supply, (0.0, -7.0 - 12.0 * near), **below)
    chart.line(face_t, face_w, BLACK, "-", 1.8, label="face of the meat")
    peak = int(face_w.argmax())
    chart.name("face of the meat", (float(face_t[peak]), float(face_w[peak])), (6.0, 6.0))
    chart.line(np.array(room[:1]), np.array(room[1:]), BLACK, "none", 1.5, marker="s", markersize=5.0)
    chart.name("room", room, (0.0, -6.0), ha="center", va="top")
    axes.set_title("The air's way and the meat's face\n(dashed: to the air's wet bulb)", loc="left")
    return axes


@dataclass(frozen=True, slots=True)
class _Chart:
    """Axes of humidity ratio over temperature, both given in SI; `scale` is what the ratio is drawn in."""

    axes: Axes
    shown: Units
    scale: float

    def line(
        self, temperature_K: Array, ratio: Array, colour: str, style: str, width: float, **how: Any
    ) -> None:
        x, y = self.shown.temperature.value(temperature_K), self.scale * ratio
        self.axes.plot(x, y, color=colour, linestyle=style, linewidth=width, **how)

    def name(self, text: str, state: tuple[float, float], away: tuple[float, float], **how: Any) -> None:
        at = float(self.shown.temperature.value(state[0])), self.scale * state[1]
        self.axes.annotate(text, at, away, textcoords="offset points", **how)

    def humidities(self, pressure: float, span_K: tuple[float, float], top: float) -> None:
        """Draw lines of relative humidity, each named where it leaves the chart, and label the axes."""
        t = np.linspace(*span_K, 240)
        for share in _HUMIDITIES:
            vapour = share * saturation_pressure(t)
            w = moist_air.humidity_ratio(np.minimum(vapour, _BOILING_SHARE * pressure), pressure)
            inside = w <= top
            self.line(t[inside], w[inside], GREY, "-", 1.3 if share == 1.0 else 0.7)
            at = int(np.flatnonzero(inside)[-1])
            aside = {"ha": "right", "va": "bottom", "color": INKS[GREY], "fontsize": "small"}
            self.name(f"{100.0 * share:.0f} %", (float(t[at]), float(w[at])), (-2.0, 2.0), **aside)
        left, right = (float(self.shown.temperature.value(end)) for end in span_K)
        self.axes.set_xlim(left, right)
        self.axes.set_ylim(0.0, 1.06 * self.scale * top)
        self.axes.set_xlabel(f"temperature ({self.shown.temperature.symbol})")
        unit = "lb per 1000 lb" if self.shown.bulk.name == "lb" else "g per kg"
        self.axes.set_ylabel(f"water in the air ({unit} dry air)")
        open_frame(self.axes)


def _room(history: History) -> tuple[float, float]:
    """Temperature [K] and humidity ratio [kg/kg] of the room."""
    room = history.batch.room
    vapour = moist_air.vapour_pressure_from_relative_humidity(room.relative_humidity, room.temperature_K)
    return room.temperature_K, float(moist_air.humidity_ratio(vapour, room.pressure_Pa))


def _supply(way: Moment) -> tuple[float, float]:
    """Temperature [K] and humidity ratio [kg/kg] of the air before the trays."""
    return float(way.temperature_K[0]), float(way.humidity_ratio[0])


def _face(history: History, k: int) -> tuple[Array, Array]:
    """Temperature [K] and humidity ratio [kg/kg] at the upper face of a slab."""
    t = history.surface_temperature_K[:, 1, k]
    vapour = history.surface_water_activity[:, 1, k] * saturation_pressure(t)
    pressure = history.batch.room.pressure_Pa
    return t, moist_air.humidity_ratio(np.minimum(vapour, _BOILING_SHARE * pressure), pressure)


def _top(history: History, ways: list[Moment], face: Array) -> float:
    """Humidity ratio at the top of the chart [kg/kg]."""
    pressure = history.batch.room.pressure_Pa
    wet = [float(_wet_bulb_line(_supply(way), pressure)[1][-1]) for way in ways]
    return 1.12 * max(float(face.max()), *wet, *(float(way.humidity_ratio.max()) for way in ways))


def _wet_bulb_line(supply: tuple[float, float], pressure: float) -> tuple[Array, Array]:
    """Temperature [K] and humidity ratio from a state of air to saturation, at its wet bulb."""
    t, w = supply
    wet = float(moist_air.wet_bulb(t, moist_air.vapour_pressure(w, pressure), pressure))
    temperatures = np.linspace(t, wet, 30)
    vapour = moist_air.vapour_pressure_from_wet_bulb(temperatures, wet, pressure)
    return temperatures, moist_air.humidity_ratio(vapour, pressure)
