"""How well a batch is told between the points of a grid: measured at settings that are not in it, at times between the looks."""

from dataclasses import dataclass

import numpy as np

from dryingsim.engine.executors import Workers
from dryingsim.explore.followed import Followed, follow
from dryingsim.explore.settings import coordinate
from dryingsim.explore.slider_grid import SliderGrid, wet_bulb
from dryingsim.kernels.grid import node_shares

LEFT_OUT = 64  # settings
_FIRST_S = 60.0  # what comes hot out of a liquid cools by tens of degrees in the first minute


@dataclass(frozen=True)
class LeftOut:
    """What became of slices at `q` settings that are not in a grid.

    Attributes
    ----------
    settings : ndarray, shape (q, 4)
        In SI.
    progress : ndarray, shape (t,)
        When they were looked at, as shares of the time until ready; at every second look they were judged [-].
    judged : ndarray of int
        These looks.
    followed : Followed
    """

    settings: np.ndarray
    progress: np.ndarray
    judged: np.ndarray
    followed: Followed


@dataclass(frozen=True, kw_only=True)
class Errors:
    """How far what is told between the points is off, at most, at settings and times that were left out.

    Attributes
    ----------
    settings, looks : int
        How many settings, and at how many times of each.
    ready : float
        Of the time until ready, relative [-].
    profile : float
        Of moisture over the depth, root of the mean square, as a share of the moisture at the start [-].
    moisture : float
        Of moisture at any one depth, likewise [-].
    temperature_K, wet_bulb_K : float
        Of the meat's temperature at any depth, after the first minute, and of the wet bulb [K].
    bolder : int
        How many of the verdicts told are better than those of a run.
    """

    settings: int
    looks: int
    ready: float
    profile: float
    moisture: float
    temperature_K: float
    wet_bulb_K: float
    bolder: int


def leave_out(grid: SliderGrid, executor: Workers = None, count: int = LEFT_OUT) -> LeftOut:
    """Follow a batch at even settings that are not in the grid, at times half-way between its looks.

    Parameters
    ----------
    grid : SliderGrid
    executor
        See `engine.executors.each`.
    count : int
        Settings to try: a lattice of the roots of x^5 = x + 1.
    """
    root = 1.1673039782614187
    shares = (0.5 + np.arange(1, count + 1)[:, None] * root ** -np.arange(1.0, 5.0)) % 1.0
    columns = []
    for axis, share in zip(grid.axes, shares.T, strict=True):
        low, high = coordinate(axis.key, axis.nodes[[0, -1]])
        columns.append(axis.value(low + share * (high - low)))
    settings, looks = np.stack(columns, axis=1), np.sqrt(grid.progress)
    progress = np.unique(np.concatenate([[0.0, 1.0], (0.5 * (looks[1:] + looks[:-1])) ** 2]))
    judged = np.arange(1, progress.size, 2)
    return LeftOut(settings, progress, judged, follow(grid.batch, settings, progress, judged, executor))


def errors_of(grid: SliderGrid, left_out: LeftOut) -> Errors:
    """Return how far a grid is off.

    Parameters
    ----------
    grid : SliderGrid
    left_out : LeftOut
    """
    settings, true = left_out.settings, left_out.followed
    start, shares = true.moisture_db[0].max(), node_shares(grid.depth)
    off, bolder = np.zeros(3), 0
    for look, progress in enumerate(left_out.progress[1:], start=1):
        time = progress * true.ready_s
        told = grid.at(settings, time)
        wrong = (told.moisture_db - true.moisture_db[look].T) / start
        begun = (time > _FIRST_S)[:, None]
        warmer = np.abs(begun * (told.temperature_K - true.temperature_K[look].T)).max()
        off = np.maximum(off, [np.sqrt(wrong**2 @ shares).max(), np.abs(wrong).max(), warmer])
        if look in left_out.judged:
            bolder += int((told.grade > true.grade[left_out.judged == look]).sum())
    bulb = wet_bulb(grid.batch, settings[:, 1], settings[:, 2])
    return Errors(
        settings=len(settings),
        looks=left_out.progress.size - 1,
        ready=float(np.abs(told.ready_s / true.ready_s - 1.0).max()),
        profile=float(off[0]),
        moisture=float(off[1]),
        temperature_K=float(off[2]),
        wet_bulb_K=float(np.abs(told.wet_bulb_K - bulb).max()),
        bolder=bolder,
    )
