"""What a plan must reach, and by how much numbers miss it."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from dryingsim.plan.requirements import Aim
from dryingsim.plan.trial import Trial, log_of_reduction

WET_MARGIN = 0.002  # water activity: how well the end of a stage by a condition is met
SETTING_MARGIN_K = 2.0  # a setting counts as reached within this: a thermostat's own error (estimate)
# what counts as one when shortfalls are added up, so that none drowns the others
_SCALES = {"reduction": 1.0, "dry": 0.05, "window": 0.2, "setting": 10.0, "possible": 1.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class Needs:
    """What is asked for.

    Attributes
    ----------
    target_log10 : float
        Log10 reduction of the organism the quick model follows.
    beyond : float
        Log10 reduction beyond every target.
    water_activity : float
        Of the wettest slices.
    in_window : float
        Share of the slices; 0: not asked for.
    spare_reduction, spare_window : float
        What the search keeps on top, for what the verifying run may find.
    """

    target_log10: float
    beyond: float
    water_activity: float
    in_window: float = 0.0
    spare_reduction: float = 0.0
    spare_window: float = 0.0

    def bare(self) -> "Needs":
        """Return the needs without what is kept on top."""
        return replace(self, spare_reduction=0.0, spare_window=0.0)

    def shortfalls(self, numbers: Mapping[str, np.ndarray]) -> dict[str, np.ndarray]:
        """Return by how much each need is missed (positive) or exceeded, in its own unit; log reductions on their scale.

        Parameters
        ----------
        numbers : mapping of ndarray
            By the names of the quick model.
        """
        required = log_of_reduction(self.target_log10 + self.beyond + self.spare_reduction)
        shortfalls = {
            "reduction": required - numbers["log_of_reduction"],
            "dry": numbers["water_activity"] - self.water_activity - WET_MARGIN,
            "setting": -SETTING_MARGIN_K - numbers["setting_K"],
        }
        if self.in_window > 0.0:
            shortfalls["window"] = self.in_window + self.spare_window - numbers["in_window"]
        if "possible" in numbers:
            shortfalls["possible"] = 0.5 - numbers["possible"]
        return shortfalls

    def missed(self, numbers: Mapping[str, np.ndarray]) -> np.ndarray:
        """Return what is missed in all, 0 where nothing is."""
        return sum(
            (np.maximum(short, 0.0) / _SCALES[key] for key, short in self.shortfalls(numbers).items()),
            np.zeros(()),
        )


def numbers_of(trial: Trial, needs: Needs) -> dict[str, float]:
    """Return the numbers of a trial by the names of the quick model, as far as it has them.

    Parameters
    ----------
    trial : Trial
    needs : Needs
        Whose organism's target the log10 reduction beyond every target is added to.
    """
    return {
        "log_time": math.log(max(trial.end_s, 1.0)),
        # the organism that decides here may be another: what counts is how far it is from its own target
        "log_of_reduction": log_of_reduction(needs.target_log10 + trial.beyond),
        "water_activity": trial.water_activity,
        "setting_K": trial.setting_K,
    }


def cost(aim: Aim, numbers: Mapping[str, np.ndarray]) -> np.ndarray:
    """Return what is to be least, in no unit: only its order counts.

    Parameters
    ----------
    aim : str
        "time", "energy" or "evenness".
    numbers : mapping of ndarray
        By the names of the quick model.

    Examples
    --------
    >>> float(cost("time", {"log_time": np.array(9.5)}))
    9.5
    """
    if aim == "energy":
        return numbers["log_energy"]
    if aim == "evenness":
        return numbers["apart"] + 1e-3 * numbers["log_time"]  # of two as even, the shorter
    return numbers["log_time"]
