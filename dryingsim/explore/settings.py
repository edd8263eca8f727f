"""Four settings that a person may slide: how thick slices are, and the air they lie in; nodes between which is interpolated.

Along each setting a polynomial goes through the nodes, in the coordinate in which drying is nearly a straight line: the
logarithm of a thickness or a speed, the inverse of an absolute temperature. The nodes are those of Chebyshev, closer together
near both ends, so that the polynomial does not swing there.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from dryingsim.batch.schema import Air, Batch, Humidity, Stage, ThicknessClass, Until
from dryingsim.errors import InputError
from dryingsim.model.air import vapour_pressure
from dryingsim.properties.water import saturation_pressure

Key = Literal["thickness_m", "air_K", "relative_humidity", "speed_m_s"]
Scale = Literal["log", "inverse", "even"]
SCALES: dict[Key, Scale] = {
    "thickness_m": "log",
    "air_K": "inverse",
    "relative_humidity": "even",
    "speed_m_s": "log",
}
# slices and air of home dryers (common practice, no source); the thickness goes by the batch too
_RANGES: dict[Key, tuple[float, float]] = {
    "thickness_m": (3e-3, 9e-3),
    "air_K": (323.15, 348.15),
    "relative_humidity": (0.03, 0.6),
    "speed_m_s": (0.2, 2.0),
}
_COUNTS = (4, 5, 7, 3)  # nodes: profiles then come out within 2 % between them
_WIDE = 4.0  # thicknesses that differ by more than this factor need a node more
_MOISTEST = 0.7  # share of the target's water activity: in moister air slices hardly get there
LONGEST_S = 60.0 * 86400.0  # what dries for longer is told as an error


@dataclass(frozen=True)
class Axis:
    """The nodes of one setting, rising, in SI, and the coordinate in which a polynomial goes through them.

    Attributes
    ----------
    key : Key
        Of the setting.
    """

    key: Key
    nodes: np.ndarray

    def weights(self, values: np.ndarray) -> np.ndarray:
        """Return how much each node counts at some values, shape (values, nodes); they sum to one.

        Parameters
        ----------
        values : ndarray
            In SI.
        """
        x, at = (
            coordinate(self.key, np.asarray(values, dtype=float))[:, None],
            coordinate(self.key, self.nodes),
        )
        columns = []
        for i, node in enumerate(at):
            others = np.delete(at, i)
            columns.append(np.prod((x - others) / (node - others), axis=1))
        return np.stack(columns, axis=1)

    def around(self, values: np.ndarray) -> np.ndarray:
        """Return which nodes are next to some values: that below and that above, or the node met; shape (values, nodes).

        Parameters
        ----------
        values : ndarray
            In SI; beyond the nodes the last one is next.
        """
        inside = np.clip(np.asarray(values, dtype=float), self.nodes[0], self.nodes[-1])
        above = np.searchsorted(self.nodes, inside, side="left")
        below = np.searchsorted(self.nodes, inside, side="right") - 1
        number = np.arange(self.nodes.size)
        return (number == above[:, None]) | (number == below[:, None])

    def value(self, at: np.ndarray) -> np.ndarray:
        """Return the values [SI] at some coordinates, see `coordinate`."""
        return _value(self.key, at)


def coordinate(key: Key, values: np.ndarray) -> np.ndarray:
    """Return values of a setting in the coordinate of its polynomial.

    Parameters
    ----------
    key : str
        One of `SCALES`.
    values : ndarray
        In SI.
    """
    scale = SCALES[key]
    return np.log(values) if scale == "log" else 1.0 / values if scale == "inverse" else values


def axes_of(batch: Batch) -> tuple[Axis, ...]:
    """Return the settings of a batch with their nodes.

    Parameters
    ----------
    batch : Batch
        Its thicknesses are within the range, and its target is below what the moistest air holds meat at.
    """
    ranges = dict(_RANGES)
    thickness = [each.thickness_m for each in batch.meat.classes]
    low, high = ranges["thickness_m"]
    ranges["thickness_m"] = min(low, *thickness), max(high, *thickness)
    driest, moistest = ranges["relative_humidity"]
    moistest = min(moistest, _MOISTEST * batch.targets.water_activity)
    ranges["relative_humidity"] = min(driest, 0.3 * moistest), moistest
    low, high = ranges["thickness_m"]
    counts = (_COUNTS[0] + (high > _WIDE * low), *_COUNTS[1:])
    return tuple(
        Axis(key, _chebyshev(key, *ranges[key], count)) for key, count in zip(SCALES, counts, strict=True)
    )


def _chebyshev(key: Key, low: float, high: float, count: int) -> np.ndarray:
    begin, end = coordinate(key, np.array([low, high]))
    share = 0.5 - 0.5 * np.cos(np.pi * np.arange(count) / (count - 1))
    at = begin + (end - begin) * share
    nodes = _value(key, at)
    nodes[[0, -1]] = low, high
    return nodes


def _value(key: Key, at: np.ndarray) -> np.ndarray:
    """Return the values in SI at some coordinates."""
    scale = SCALES[key]
    return np.exp(at) if scale == "log" else 1.0 / at if scale == "inverse" else at


def as_set(batch: Batch, settings: Sequence[float]) -> Batch:
    """Return a batch of one thickness that dries in one air until it is dry, heated before as the batch is.

    Parameters
    ----------
    batch : Batch
    settings : sequence of float
        Thickness [m], temperature of the air [K], its relative humidity [-], its speed [m/s].

    Returns
    -------
    Batch
        In place of all its stages from the first in drying air on, and of an appliance, it has that air at the slices; all
        slices lie flat, one deep.
    """
    thickness, temperature, humidity, speed = (float(value) for value in settings)
    if batch.components.surface is not None:
        raise InputError(
            f"{batch.name}: with a held surface the air does not count, so there is nothing to slide"
        )
    air = Air(temperature_K=temperature, humidity=Humidity(kind="relative", value=humidity), speed_m_s=speed)
    drying = Stage(name="drying", air=air, duration_s=LONGEST_S)
    return replace(
        batch,
        meat=replace(batch.meat, classes=(ThicknessClass(thickness_m=thickness, share=1.0),)),
        stages=(*batch.stages[: batch.first_drying], drying),
        appliance=None,
        trays=None,
        rotate_every_s=None,
    )


def settings_of(batch: Batch, axes: Sequence[Axis]) -> np.ndarray:
    """Return the settings nearest to a batch as it stands: its mean thickness, the air of its first drying stage.

    Parameters
    ----------
    batch : Batch
    axes : sequence of Axis
        Their ranges are kept to.
    """
    air = batch.stages[batch.first_drying].air
    humidity = vapour_pressure(air, batch.room) / float(saturation_pressure(air.temperature_K))
    speed = batch.appliance.trays.speed_m_s if batch.appliance else air.speed_m_s
    meant = (batch.meat.mean_thickness_m, air.temperature_K, humidity, speed)
    return np.array(
        [np.clip(value, axis.nodes[0], axis.nodes[-1]) for value, axis in zip(meant, axes, strict=True)]
    )


def at_start(batch: Batch, axes: Sequence[Axis]) -> Batch:
    """Return a batch as set to the settings nearest to its own, dried until its target is met.

    Parameters
    ----------
    batch : Batch
    axes : sequence of Axis
    """
    begun = as_set(batch, settings_of(batch, axes).tolist())
    until = Until(water_activity=batch.targets.water_activity)
    return replace(begun, stages=(*begun.stages[:-1], replace(begun.stages[-1], until=until)))
