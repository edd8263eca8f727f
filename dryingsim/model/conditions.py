"""When a stage that does not end by the clock ends: the same rule for one batch and for many side by side.

A stage ends with the first of its conditions: weight lost by all slices together, the core of the slices farthest
behind, the water activity of the wettest once moisture has evened out.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from dryingsim.batch.schema import Batch, Until
from dryingsim.kernels.grid import middle_weights, node_shares
from dryingsim.model.system import SlabSystem
from dryingsim.properties.water_activity import REFERENCE_TEMPERATURE


@dataclass(frozen=True, slots=True)
class Limits:
    """What stages of several batches wait for; infinite where a batch does not ask for it.

    Attributes
    ----------
    weight_loss, core_K, water_activity : ndarray, shape (batches,)
        Share of the weight laid on, temperature [K], water activity; the last is -inf where not asked for.
    """

    weight_loss: np.ndarray
    core_K: np.ndarray
    water_activity: np.ndarray

    @classmethod
    def of(cls, untils: Sequence[Until | None]) -> "Limits":
        """Return the limits of one stage, batch by batch; None: that batch's stage ends by the clock."""

        def column(name: str, never: float) -> np.ndarray:
            asked = [None if until is None else getattr(until, name) for until in untils]
            return np.array([never if value is None else value for value in asked])

        return cls(
            column("weight_loss", np.inf),
            column("core_temperature_K", np.inf),
            column("water_activity", -np.inf),
        )

    def margins(self, lost: np.ndarray, core_K: np.ndarray, water_activity: np.ndarray) -> np.ndarray:
        """Return numbers that turn positive where each of the conditions is met, shape (3, ..., batches).

        Parameters
        ----------
        lost : ndarray, shape (..., batches)
            Share of the weight laid on that all slices have lost.
        core_K : ndarray, shape (..., batches)
            Core of the slices farthest behind [K].
        water_activity : ndarray, shape (..., batches)
            Of the wettest slices once moisture has evened out.
        """
        return np.stack([lost - self.weight_loss, core_K - self.core_K, self.water_activity - water_activity])

    def margin(self, lost: np.ndarray, core_K: np.ndarray, water_activity: np.ndarray) -> np.ndarray:
        """Return numbers that turn positive where the first of the conditions is met, shape (..., batches).

        Parameters
        ----------
        lost, core_K, water_activity : ndarray, shape (..., batches)
            See `margins`.

        Examples
        --------
        >>> limits = Limits.of([Until(weight_loss=0.5), None])
        >>> limits.margin(np.array([0.6, 0.6]), np.full(2, 300.0), np.full(2, 0.9)).round(3)
        array([ 0.1, -inf])
        """
        return self.margins(lost, core_K, water_activity).max(axis=0)


def told_by_slabs(batch: Batch, until: Until | None) -> Until | None:
    """Return a condition in what slabs lose: a scale also misses the salt and sugar that water has taken from them.

    Parameters
    ----------
    batch : Batch
    until : Until or None
        A condition of a stage of it.

    Returns
    -------
    Until or None
        The same where no water takes any.

    Examples
    --------
    >>> from dryingsim import demo_batch
    >>> batch = demo_batch()  # 15 g of salt and 12 g of sugar to a kg, heated in marinade
    >>> in_water = replace(batch, stages=(replace(batch.stages[0], kind="water"), *batch.stages[1:]))
    >>> told_by_slabs(batch, Until(weight_loss=0.5)).weight_loss
    0.5
    >>> round(told_by_slabs(in_water, Until(weight_loss=0.5)).weight_loss, 4)
    0.4865
    """
    if until is None or until.weight_loss is None or not batch.washed:
        return until
    return replace(until, weight_loss=max(1.0 - (1.0 - until.weight_loss) * batch.washing, 0.0))


def weight_lost(solids: np.ndarray, laid_on_db: np.ndarray, moisture_db: np.ndarray) -> np.ndarray:
    """Return the share of the weight laid on that all slices of a batch have lost together, shape (...).

    Parameters
    ----------
    solids : ndarray, shape (slices, ...)
        Dry solid of each slice, all in one unit [kg] or [kg/m2].
    laid_on_db, moisture_db : ndarray, shape (slices, ...)
        Mean moisture when laid on the trays and now [kg/kg].

    Returns
    -------
    ndarray, shape (...)
        Share [-].

    Examples
    --------
    >>> float(weight_lost(np.ones(2), np.array([3.0, 3.0]), np.array([1.0, 2.0])))  # 3 kg of 8
    0.375
    """
    return (solids * (laid_on_db - moisture_db)).sum(axis=0) / (solids * (1.0 + laid_on_db)).sum(axis=0)


class EndOfStage:
    """The margins of a stage's conditions on states of a system of slabs.

    Slab j of batch a stands at j * batches + a, as everywhere where appliances go side by side.
    """

    def __init__(self, untils: Sequence[Until | None], system: SlabSystem, area_m2: np.ndarray) -> None:
        self._system, self._limits, self._batches = system, Limits.of(untils), len(untils)
        slabs = system.slabs
        self._share, self._middle = node_shares(slabs.nodes), middle_weights(slabs.nodes)
        self._reference = np.full(system.m, REFERENCE_TEMPERATURE)
        self._solids = self._grouped(area_m2.reshape(-1) * slabs.dry_mass_kg_m2)
        self._laid_on_db = self._grouped(slabs.initial_moisture_db)

    def _grouped(self, by_slab: np.ndarray) -> np.ndarray:
        return by_slab.reshape(-1, self._batches)

    def margin(self, y: np.ndarray) -> np.ndarray:
        """Return numbers that turn positive where the stage of a batch ends, shape (batches,).

        Parameters
        ----------
        y : ndarray
            The slabs' part of a state.
        """
        slabs, limits = self._system.slabs, self._limits
        x, h, _ = self._system.split(y)
        mean = self._share @ x
        lost = weight_lost(self._solids, self._laid_on_db, self._grouped(mean))
        core, activity = np.full(self._batches, -np.inf), np.full(self._batches, np.inf)
        if np.isfinite(limits.core_K).any():  # what nobody asks for is not worked out at every step
            t = slabs.temperature(x, h)
            core = self._grouped(slabs.core(self._middle @ t, t[0])).min(axis=0)
        if np.isfinite(limits.water_activity).any():
            log_activity = slabs.sorption.log_activity(mean, self._reference, slabs.recipe)
            activity = np.exp(self._grouped(log_activity).max(axis=0))
        return limits.margin(lost, core, activity)
