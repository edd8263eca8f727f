"""Where bacteria may sit in slabs, and what heat and drying do to them there."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Annotated

import numpy as np

from dryingsim.batch.checks import check_choice
from dryingsim.batch.schema import Batch, Form
from dryingsim.batch.uncertainties import activity_error_of
from dryingsim.evidence import Evidence
from dryingsim.judge.heat_model import Matrix, heat_resistance
from dryingsim.judge.heat_resistance import (
    HeatBefore,
    Reduction,
    accumulated,
    drying_share,
    reduction,
    straight_rate,
)
from dryingsim.judge.hot_liquid import InLiquid
from dryingsim.model.build import curve_of, recipe_of
from dryingsim.properties.water_activity import UNCERTAINTY
from dryingsim.typing import Array

MATRIX: dict[Form, Matrix] = {"sliced": "surface", "pounded": "whole", "minced": "ground"}
_DRIED: Annotated[
    float,
    Evidence(
        "-",
        "derived",
        "the curve of water activity was compared with measurements on meat about this dry, and drier",
    ),
] = 0.85


_NO_CREDIT_K: Annotated[
    float,
    Evidence(
        "K", "numerical", "below the coolest that is credited: a day there takes no thousandth of a log"
    ),
] = 20.0


def exposed_nodes(form: Form, node_count: int) -> Array:
    """Return the nodes where bacteria may sit: the faces of intact muscle, every depth of other forms.

    Parameters
    ----------
    form : str
        "sliced", "pounded" or "minced".
    node_count : int
        Nodes across a slice.

    Examples
    --------
    >>> exposed_nodes("sliced", 5).tolist(), exposed_nodes("minced", 3).tolist()
    ([0, 4], [0, 1, 2])
    """
    check_choice("form", form, ("sliced", "pounded", "minced"))
    return np.array([0, node_count - 1]) if form == "sliced" else np.arange(node_count)


def drier_side(water_activity: Array, error: float = UNCERTAINTY) -> Array:
    """Return the water activity less its error [-].

    The error was found on dried meat. Raw meat's water activity is known better, so from 0.85 upward the error is taken
    to shrink in proportion to the distance from 1 (estimate).

    Parameters
    ----------
    water_activity : float or ndarray
        As computed [-].
    error : float
        Half of its 90 % interval, by the kind of product [-]; that of whole muscle of known recipe if not given. Of a batch:
        `drier_by`.

    Examples
    --------
    >>> [round(float(drier_side(a)), 3) for a in (1.0, 0.98, 0.85, 0.6)]
    [1.0, 0.975, 0.81, 0.56]
    """
    a = np.asarray(water_activity, dtype=float)
    return np.maximum(a - error * np.clip((1.0 - a) / (1.0 - _DRIED), 0.0, 1.0), 0.0)


def drier_by(batch: Batch) -> float:
    """Return the error of a batch's water activity by which heat is counted at the drier side [-], see `drier_side`.

    Parameters
    ----------
    batch : Batch
        Where plain water takes its salt and sugar, how much of them is still in when the heat comes is not known: the error is
        then so large that raw slices count as dry as with all of it in, and dried ones as far drier still.
    """
    error = activity_error_of(batch).half_width
    if not batch.washed:
        return error
    in_marinade = [
        replace(stage, kind="marinade") if stage.kind == "water" else stage for stage in batch.stages
    ]
    kept = replace(batch, stages=tuple(in_marinade))
    deeper = _fall_of_raw(kept, error) / _fall_of_raw(batch, 0.0)
    return max(error, (deeper - 1.0) * (1.0 - _DRIED))


def _fall_of_raw(batch: Batch, activity_error: float) -> float:
    """Return how far below one the water activity of raw slices is at the drier side of an error [-]."""
    _, solids, water = recipe_of(batch)
    activity = curve_of(batch).water_activity(water / solids, batch.meat.temperature_K)
    return 1.0 - float(drier_side(activity, activity_error))


def as_if_open(lower: Array, upper: Array, covered: Array) -> Array:
    """Return the water activity of lower faces for heat: where one is covered, that of the drier of both faces.

    Parameters
    ----------
    lower, upper : ndarray, shape (..., m)
        Water activity of the faces as simulated [-].
    covered : ndarray of bool
        Where the lower face lies on a closed sheet or on another slice; it broadcasts.

    Examples
    --------
    >>> as_if_open(np.array([0.97, 0.97]), np.array([0.7, 0.7]), np.array([True, False]))
    array([0.7 , 0.97])
    """
    return np.where(covered, np.minimum(lower, upper), lower)


@dataclass(frozen=True, eq=False)
class Exposed:
    """A history where bacteria sit: arrays (t, place, slab), and what came before in liquid or steam.

    Time, (t,) or (t, 1, slab), and all else stand still for slabs that have been taken off the trays.

    Attributes
    ----------
    time : Array
        Since the slices came into drying air [s].
    a : Array
        Water activity.
    drier : Array
        The same at the drier side of its error.
    matrix : Matrix
        What the meat is to bacteria: whole muscle or ground.
    before : HeatBefore or None
        What hot liquid or steam did before; None: nothing.
    drying : bool
        Whether it is a history of drying, where that itself counts.
    from_cold : bool
        Whether the meat was cold at the beginning.
    """

    time: Array
    t: Array
    a: Array
    drier: Array
    matrix: Matrix
    before: HeatBefore | None
    drying: bool
    from_cold: bool = False

    @classmethod
    def of(
        cls,
        history: tuple[Array, Array, Array, Array],
        form: Form,
        *,
        drying: bool,
        in_liquid: InLiquid | None = None,
        from_cold: bool = False,
        leaves_s: Array | None = None,
    ) -> "Exposed":
        """Return the exposed places of a history.

        Parameters
        ----------
        history : tuple of ndarray
            Time (t,) [s], temperature [K], water activity and water activity for heat (t, node, slab) [-].
        form : str
        drying : bool
            Whether the drying term counts.
        in_liquid : InLiquid, optional
            What came before.
        from_cold : bool
            A place that starts hot earns nothing until it has been cooler than what is credited.
        leaves_s : ndarray, shape (slab,), optional
            When each slab is taken off [s]; at the end if left out.
        """
        time, *states = history
        nodes = exposed_nodes(form, states[0].shape[1])
        before = None if in_liquid is None else in_liquid.heat(form, nodes)
        t, a, drier = (values[:, nodes] for values in states)
        if leaves_s is not None and (leaves_s < time[-1]).any():
            last = np.searchsorted(time, leaves_s, side="right") - 1  # record before each leaves
            still = np.minimum(np.arange(time.size)[:, None, None], np.maximum(last, 0))
            t, a, drier = (np.take_along_axis(values, still, axis=0) for values in (t, a, drier))
            time = np.minimum(time[:, None, None], leaves_s)
        return cls(time, t, a, drier, MATRIX[form], before, drying, from_cold)

    @cached_property
    def sums(self) -> Array:
        """By heat, shared by all organisms."""
        return accumulated(self.time, self.credited, self.drier)

    @cached_property
    def _straight_sums(self) -> Array:
        """The same by another rule of integration."""
        return accumulated(self.time, self.credited, self.drier, rule=straight_rate)

    @cached_property
    def credited(self) -> Array:
        """The temperature that heat is counted at [K]."""
        if not self.from_cold:
            return self.t
        coolest = heat_resistance().coolest_K
        cooled = np.logical_or.accumulate(self.t < coolest, axis=0)
        return np.where(cooled, self.t, coolest - _NO_CREDIT_K)

    @cached_property
    def share(self) -> Array:
        """Of the drying term, at every place."""
        if not self.drying:
            return np.zeros(self.t.shape[1:])
        return drying_share(self.time, self.t, self.a)

    def reduction(self, organism: str, *, heat_alone: bool = False) -> Reduction:
        """Return what a new study would count at the least-reduced place.

        Parameters
        ----------
        organism : str
        heat_alone : bool
            Without the drying term.
        """
        drying = 0.0 if heat_alone else self.share
        return reduction(self.sums, organism, self.matrix, before=self.before, drying=drying)

    def if_heated_on(self, organism: str) -> Reduction:
        """Return what it would be if what came before in hot liquid had gone on for however long.

        Parameters
        ----------
        organism : str
        """
        assert self.before is not None
        endless = HeatBefore(np.full_like(self.before.sums, np.inf), np.full_like(self.before.hot_s, np.inf))
        return replace(self, before=endless).reduction(organism)

    def over_time(self, organism: str, records: Array) -> list[Reduction]:
        """Return the reduction at the least-reduced place after each of some records.

        Parameters
        ----------
        organism : str
        records : ndarray of int
        """
        return [self._after(organism, i) for i in records.tolist()]

    @cached_property
    def _running(self) -> tuple[Array, Array]:
        """The sums by heat, and the share of the drying term, at every record."""
        sums = accumulated(self.time, self.credited, self.drier, over_time=True)
        if not self.drying:
            return sums, np.zeros(self.t.shape)
        return sums, drying_share(self.time, self.t, self.a, over_time=True)

    def _after(self, organism: str, record: int) -> Reduction:
        sums, share = self._running
        return reduction(sums[:, record], organism, self.matrix, before=self.before, drying=share[record])

    def at(self, place: tuple[int, int]) -> "Exposed":
        """Return one place of it.

        Parameters
        ----------
        place : tuple of int
            Row among the exposed places, and slab.
        """
        row, slab = slice(place[0], place[0] + 1), slice(place[1], place[1] + 1)
        time = self.time if self.time.ndim == 1 else self.time[:, 0, place[1]]
        cut = [values[:, row, slab] for values in (self.t, self.a, self.drier)]
        before = self.before and HeatBefore(self.before.sums[:, row, slab], self.before.hot_s[row, slab])
        return Exposed(time, cut[0], cut[1], cut[2], self.matrix, before, self.drying, self.from_cold)

    def quadrature_spread(self, organism: str) -> float:
        """Return by how much the bound of the only place differs by another rule of integration [log10].

        Parameters
        ----------
        organism : str
        """
        other = self._straight_sums
        bound = reduction(other, organism, self.matrix, before=self.before, drying=self.share).lower
        return abs(bound - self.reduction(organism).lower)

    def samples_to(self, targets: Mapping[str, float]) -> int | None:
        """Return after how many samples the bound of every organism is at its target; None where it never is.

        Parameters
        ----------
        targets : mapping
            By organism [log10].
        """

        def met(samples: int) -> bool:
            return all(self._after(key, samples - 1).lower >= target for key, target in targets.items())

        if not met(self.t.shape[0]):
            return None
        low, high = 0, self.t.shape[0]
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if met(middle) else (middle, high)
        return high
