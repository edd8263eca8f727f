"""What a plan came to: the settings found, what they reach, and what limits them."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from dryingsim.answer import Answer
from dryingsim.batch.catalog import growth_limits
from dryingsim.batch.schema import Batch
from dryingsim.explore.spread_result import Spread
from dryingsim.history import History
from dryingsim.judge.remedies import Remedy, RemedyName
from dryingsim.judge.taking_off import ready_levels
from dryingsim.plan.needs import Needs
from dryingsim.plan.relaxing import Relaxed, TradeOff
from dryingsim.plan.requirements import Requirements
from dryingsim.plan.schedules import Values
from dryingsim.plan.settings import Template
from dryingsim.plan.trial import Trial


@dataclass(frozen=True)
class Plan:
    """What a plan came to.

    Attributes
    ----------
    file : Batch
        As the file has it.
    batch : Batch
        What the search began with: the file's, with heating put first where `added` says so.
    requirements : Requirements
    template : Template
    needs : Needs
    values : tuple of float
        Of the variables, each in its unit.
    document : dict
        The planned batch file.
    planned : Batch
    trial, tight : Trial
        The planned batch by the full model, and by the verifying run.
    answer : Answer
        The judgements on the planned batch, or a load of it, as `dryingsim run` simulates it.
    reached : bool
        Nothing is missed, by neither run nor by the slices, in air as humid as computed.
    shown : bool
        The log reduction is not missed either with what can be relied on alone: the verdict of `dryingsim run` is "met".
    missed : dict of float
        What is missed, by need, in its unit (log reduction in log10): the worse of both runs.
    before : Trial
        The file as it stands.
    added : str or None
        The heating before drying that was put into the file, a `RemedyName`: without it nothing within the bounds would do.
    without : Trial or None
        The nearest without that heating.
    in_window, apart : float
        Share of the slices in the window when drying ends, and the difference in water activity between the wettest
        and the driest twentieth, of slices that differ as [spread] says within one batch.
    with_uncertainties : Spread
        Slices with all uncertainties, those of the whole batch too.
    trade_offs : tuple of TradeOff
    relaxed : tuple of Relaxed
    evener : tuple of (str, float)
        Share of the slices in the window if they differed less, and how; empty where enough are in it.
    remedies : tuple of Remedy
        Changes to the planned batch, simulated, where the log reduction is missed or not shown; the plan itself first.
    simulated : int
        Schedules tried.
    seed : int
    """

    file: Batch
    batch: Batch
    requirements: Requirements
    template: Template
    needs: Needs
    values: Values
    document: dict[str, Any]
    planned: Batch
    trial: Trial
    tight: Trial
    answer: Answer
    reached: bool
    shown: bool
    missed: dict[str, float]
    before: Trial
    added: RemedyName | None
    without: Trial | None
    in_window: float
    apart: float
    with_uncertainties: Spread
    trade_offs: tuple[TradeOff, ...]
    relaxed: tuple[Relaxed, ...]
    evener: tuple[tuple[str, float], ...]
    remedies: tuple[Remedy, ...]
    simulated: int
    seed: int

    @property
    def history(self) -> History:
        """The planned batch, or a load of it, as `dryingsim run` simulates it."""
        return self.answer.history


def share_in_window(slices: Spread) -> float:
    """Return the share of the slices that are down to the target and not brittle when drying ends.

    Slices that are taken off as ready are not brittle yet, and stay as they are.
    """
    done, brittle = slices.done_s <= slices.planned_s + 1.0, slices.brittle_s <= slices.planned_s
    if ready_levels([slices.batch])[0] > growth_limits.texture().brittle:
        return float(done.mean())
    return float((done & ~brittle).mean())


def apart(slices: Spread) -> float:
    """Return the difference in water activity between the wettest and the driest twentieth when drying ends."""
    bands = slices.bands("water_activity", (0.05, 0.95))
    ready = ready_levels([slices.batch])[0]  # none is drier once it is off
    low, high = (max(float(np.interp(slices.planned_s, slices.times_s, band)), ready) for band in bands)
    return high - low
