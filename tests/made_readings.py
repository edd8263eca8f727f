"""Logs as a thermometer in a simulated slice would write them: the probe lags, its readings are noisy and rounded."""

from dataclasses import dataclass
from functools import cache

import numpy as np

from dryingsim.batch.reading.batch_file import parse_batch
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.history import History
from dryingsim.properties.water import saturation_pressure
from dryingsim.simulate import run

_MEAT = """
title = "readings"
[meat]
cut = "beef eye of round"
form = "sliced"
thickness = "{thickness}"
length = "120 mm"
width = "50 mm"
weight = "0.7 kg"
temperature = "{start}"
[room]
temperature = "21 degC"
humidity = "{room}"
"""
_STAGE = '[[stage]]\nname = "{0}"\nair = "{1}"\nspeed = "{2}"\nduration = "{3}"\n'


def stage(name, air, speed, duration, humidity=None):
    """Return a stage of a schedule as text."""
    held = f"humidity = {humidity}\n" if humidity else ""
    return _STAGE.format(name, air, speed, duration) + held


DRY = stage("drying", "68 degC", "1.0 m/s", "6 h")
COOL = stage("drying", "57 degC", "0.5 m/s", "8 h")
HUMID = stage("humid", "68 degC", "1.0 m/s", "75 min", '{ wet_bulb = "64 degC" }')
STEAMY = stage("humid", "76.7 degC", "1.5 m/s", "1 h", '{ wet_bulb = "68 degC" }')
FINISH = stage("finish", "110 degC", "1.0 m/s", "6 min")
SCHEDULES = {
    "dry": DRY,
    "cool": COOL,
    "humid, then dry": HUMID + DRY,
    "steamy, then dry": STEAMY + DRY,
    "dry, then an oven": DRY + FINISH,
}


@cache
def simulated(schedule: str, thickness: str = "5 mm", start: str = "4 degC", room: str = "45 %") -> History:
    """Return a slice through a schedule."""
    text = _MEAT.format(thickness=thickness, start=start, room=room) + SCHEDULES[schedule]
    return run(parse_batch(text, schedule), nodes=10)


@dataclass(frozen=True, kw_only=True)
class Probe:
    """How the readings are taken."""

    every_s: float = 120.0
    lag_s: float = 20.0
    noise_K: float = 0.5
    seed: int = 1
    fahrenheit: bool = False
    columns: tuple[str, ...] = ("water_activity",)


def log_text(history: History, probe: Probe) -> str:
    """Return the log of a probe in the middle of the slice, as CSV text."""
    time = np.arange(0.0, history.time_s[-1], probe.every_s)
    fine = np.arange(0.0, history.time_s[-1] + 1.0, 5.0)
    middle = history.temperature_K.shape[1] // 2
    meat = np.interp(fine, history.time_s, history.temperature_K[:, middle, 0])
    for i in range(1, fine.size):
        meat[i] = meat[i - 1] + (meat[i] - meat[i - 1]) * -np.expm1(-5.0 / probe.lag_s)
    rng = np.random.default_rng(probe.seed)
    read = np.interp(time, fine, meat) + rng.normal(0.0, probe.noise_K, time.size) - ZERO_CELSIUS
    air = np.interp(time, history.time_s, history.air_temperature_K[:, 0])
    vapour = np.interp(time, history.time_s, history.air_vapour_pressure_Pa[:, 0])
    values = {
        "water_activity": np.interp(time, history.time_s, history.water_activity[:, middle, 0]).round(3),
        "relative_humidity [%]": (100.0 * vapour / saturation_pressure(air)).clip(0.0, 100.0).round(0),
        "air [degC]": (air - ZERO_CELSIUS + rng.normal(0.0, 0.5, time.size)).round(1),
    }
    unit, shown = ("degF", 1.8 * read + 32.0) if probe.fahrenheit else ("degC", read)
    names = [name for name in values if name.split(" ")[0] in probe.columns]
    rows = zip(time / 60.0, shown.round(1), *(values[name] for name in names), strict=True)
    lines = [", ".join(f"{value:g}" for value in row) for row in rows]
    return "\n".join([", ".join(["time [min]", f"meat [{unit}]", *names]), *lines, ""])
