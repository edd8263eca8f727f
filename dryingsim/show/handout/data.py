"""What the page with sliders computes from: the grid, the sliders' stops and the words, as one JSON text."""

import base64
import json
from collections.abc import Sequence
from typing import Any

import numpy as np

from dryingsim.answer import Answer
from dryingsim.batch.catalog.organisms import organisms
from dryingsim.batch.units import from_si
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.explore.settings import SCALES, settings_of
from dryingsim.explore.slider_grid import Levels, SliderGrid
from dryingsim.judge.grades import GRADES
from dryingsim.judge.heat_resistance import COUNTABLE
from dryingsim.judge.stop_weight import ready_moisture
from dryingsim.kernels.grid import middle_weights, node_shares, weights_at
from dryingsim.model.build import curve_of
from dryingsim.properties import moist_air
from dryingsim.properties.water import log_saturation_pressure
from dryingsim.properties.water_activity import REFERENCE_TEMPERATURE
from dryingsim.show.core.quantities import Units
from dryingsim.show.handout.words import NAMES, cautions, dynamic

LONGEST_MIN = 24 * 60
_TIME_STOPS = 320
_STEPS = {"thickness_m": 1e-4, "air_K": 0.5, "relative_humidity": 0.01}  # of the sliders, in SI
_SPEEDS = 33  # stops of the air's speed, each about 7 % above the last
_EVEN = np.linspace(0.0, 1.0, 25)  # places that profiles are drawn through, besides the nodes
_CURVE = 64  # points of the curves of water activity and volume over moisture


def stops(grid: SliderGrid) -> dict[str, np.ndarray]:
    """Return the values that each slider stops at, in SI; of time, finer where it is short."""
    found: dict[str, np.ndarray] = {}
    for axis in grid.axes:
        low, high = axis.nodes[[0, -1]].tolist()
        if axis.key == "speed_m_s":
            found[axis.key] = np.unique(np.geomspace(low, high, _SPEEDS).round(2))
        else:
            step, zero = _STEPS[axis.key], ZERO_CELSIUS if axis.key == "air_K" else 0.0
            first, last = np.ceil((low - zero) / step - 1e-6), np.floor((high - zero) / step + 1e-6)
            found[axis.key] = np.clip(zero + step * np.arange(first, last + 1), low, high).round(6)
    minutes = LONGEST_MIN * np.linspace(0.0, 1.0, _TIME_STOPS) ** 2
    return {**found, "time_s": 60.0 * np.unique(minutes.round())}


def page_data(grid: SliderGrid, answer: Answer, units: str | None = None) -> str:
    """Return all that the page computes from, as JSON.

    The sliders start where `answer` is of, run until it is ready; `units` are what the page begins with.
    """
    told = {
        **_grid(grid),
        **_meat(grid, answer),
        **_air(grid),
        **_sliders(grid),
        "units": units or grid.batch.display,
        "systems": {system: _units(grid, system) for system in ("metric", "us")},
        "words": {**dynamic(), **_cautions(grid, answer)},
    }
    text = json.dumps(told, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return text.replace("<", "\\u003c")  # nothing in it ends the page's script


def _grid(grid: SliderGrid) -> dict[str, Any]:
    followed = grid.followed
    tenths = {
        name: np.floor(10.0 * values + 1e-9)
        for name, values in (("lower", followed.lower), ("best", followed.best))
    }
    verdicts = {"grade": followed.grade, "organism": followed.organism, "grown": followed.grown, **tenths}
    names = list(organisms().values())
    return {
        "axes": [
            {"key": axis.key, "scale": SCALES[axis.key], "nodes": _rounded(axis.nodes, 9)}
            for axis in grid.axes
        ],
        "progress": grid.progress.tolist(),
        "judged": grid.judged.tolist(),
        "depth": _rounded(grid.depth, 6),
        "shares": _rounded(node_shares(grid.depth), 8),
        "middle": _rounded(middle_weights(grid.depth), 8),
        "between": _rounded(weights_at(grid.depth, np.union1d(grid.depth, _EVEN)).T, 5),
        "ready": _rounded(followed.ready_s, 1),
        "moisture": _levels(grid.moisture_db),
        "temperature": _levels(grid.temperature_K),
        "verdicts": {name: _base64(np.minimum(values, 255)) for name, values in verdicts.items()},
        "organisms": [
            {"name": name, "target": float(goal)} for name, goal in zip(names, grid.goals, strict=True)
        ],
        "grades": list(GRADES),
        "countable": int(COUNTABLE),
    }


def _meat(grid: SliderGrid, answer: Answer) -> dict[str, Any]:
    slabs, batch, window = answer.history.slabs, answer.batch, answer.doneness.batch
    loaded, target = float(slabs.initial_moisture_db[0]), batch.targets.water_activity
    curve = curve_of(batch)
    moisture = np.geomspace(0.02, 1.3 * loaded, _CURVE)
    activity = curve.water_activity(moisture, REFERENCE_TEMPERATURE)
    stop, expected = ready_moisture(batch), window.expected_s or np.inf
    begun = float(answer.history.stage_end_s[batch.first_drying - 1]) if batch.first_drying else 0.0
    early, late = (
        None if t is None else float((t - begun) / (expected - begun))
        for t in (window.earliest_s, window.latest_s)
    )
    return {
        "loadedMoisture": loaded,
        "loadedKg": answer.loaded_kg,
        "targetActivity": target,
        "targetMoisture": float(curve.moisture(target, REFERENCE_TEMPERATURE)),
        "stopMoisture": stop,
        "stopShare": (1.0 + stop) / (1.0 + loaded),
        "window": [max(early or 0.0, 0.0), late],
        "curve": {
            "moisture": _rounded(moisture, 5),
            "activity": _rounded(activity, 4),
            "volume": _rounded(
                slabs.volume(moisture[:, None])[:, 0] / float(slabs.volume(slabs.initial_moisture_db)[0]), 5
            ),
        },
    }


def _air(grid: SliderGrid) -> dict[str, Any]:
    room, kelvin = grid.batch.room, np.arange(ZERO_CELSIUS + 10.0, ZERO_CELSIUS + 92.0, 2.0)
    vapour = moist_air.vapour_pressure_from_relative_humidity(room.relative_humidity, room.temperature_K)
    ratio = float(moist_air.humidity_ratio(vapour, room.pressure_Pa))
    return {
        "wetBulb": [_rounded(row, 3) for row in grid.wet_bulb_K],
        "saturation": {"kelvin": kelvin.tolist(), "ln": _rounded(log_saturation_pressure(kelvin), 5)},
        "pressure": room.pressure_Pa,
        "vapourRatio": ratio * (room.pressure_Pa - vapour) / vapour,
        "room": {"kelvin": room.temperature_K, "ratio": ratio},
    }


def _sliders(grid: SliderGrid) -> dict[str, Any]:
    at = stops(grid)
    begin = dict(zip(SCALES, settings_of(grid.batch, grid.axes).tolist(), strict=True))
    start = {key: int(np.abs(values - begin.get(key, 0.0)).argmin()) for key, values in at.items()}
    listed = [{"key": key, "name": NAMES[key], "stops": values.tolist()} for key, values in at.items()]
    return {"sliders": listed, "start": start}


def _units(grid: SliderGrid, system: str) -> dict[str, Any]:
    shown = Units(grid.batch, system)
    speed = ("ft/min", 0) if system == "us" else ("m/s", 2)
    kinds = {
        "temperature": (shown.temperature.value, shown.temperature.symbol, 0),
        "length": (shown.length.value, shown.length.symbol, 2 if system == "us" else 1),
        "weight": (shown.weight.value, shown.weight.symbol, {"g": 0, "oz": 1}.get(shown.weight.name, 2)),
        "speed": (lambda si: from_si(si, speed[0]), speed[0], speed[1]),
    }
    return {
        kind: {
            "factor": float(value(1.0)) - float(value(0.0)),
            "offset": float(value(0.0)),
            "symbol": symbol,
            "decimals": decimals,
        }
        for kind, (value, symbol, decimals) in kinds.items()
    }


def _cautions(grid: SliderGrid, answer: Answer) -> dict[str, dict[str, Sequence[str]]]:
    shown = {system: Units(grid.batch, system) for system in ("metric", "us")}
    return {
        name: {system: cautions(answer.lethality, units, met=met) for system, units in shown.items()}
        for name, met in (("cautionsMet", True), ("cautionsShort", False))
    }


def _levels(levels: Levels) -> dict[str, Any]:
    return {"low": _rounded(levels.low, 6), "step": _rounded(levels.step, 9), "level": _base64(levels.level)}


def _base64(values: np.ndarray) -> str:
    return base64.b64encode(np.ascontiguousarray(values, dtype=np.uint8).tobytes()).decode("ascii")


def _rounded(values: np.ndarray, decimals: int) -> list[float]:
    rounded: list[float] = np.round(np.asarray(values, dtype=float), decimals).tolist()
    return rounded
