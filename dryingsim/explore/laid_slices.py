"""The slices of a sample, cut and laid on their trays: how each differs from those meant, and the air of every batch drawn."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

import numpy as np

from dryingsim.batch.catalog.drying_evidence import between_studies
from dryingsim.batch.schema import Batch
from dryingsim.batch.uncertainties import INPUTS
from dryingsim.batch.uncertainty import Uncertainty
from dryingsim.engine.deviations import airs_of_deviations, deviated, runs_for_air, shares_of_runs
from dryingsim.engine.executors import Workers, results_of_calls
from dryingsim.engine.segments import (
    Clock,
    Segment,
    by_the_clock,
    segments_in_appliance,
    segments_in_given_air,
)
from dryingsim.engine.slices import Differences, Slices, different_slices
from dryingsim.explore.sampling import Sample
from dryingsim.history import History
from dryingsim.judge.grades import Lethality
from dryingsim.judge.verdict import judge_batch_lethality
from dryingsim.model.build import with_ideal_thermostat


def kinds(batch: Batch, sample: Sample) -> np.ndarray:
    """Class of each of the slices drawn, shape (m,).

    Parameters
    ----------
    batch : Batch
    sample : Sample
    """
    number = np.array([cut.share / cut.thickness_m for cut in batch.meat.classes])  # slices, not weight
    edges = np.cumsum(number) / number.sum()
    return np.minimum(np.searchsorted(edges, sample.kind, side="right"), number.size - 1)


def _differences(batch: Batch, sample: Sample) -> Differences:
    """How the slices drawn differ from those of the batch."""
    drawn = sample.slices
    return Differences(
        kind=kinds(batch, sample),
        thickness=drawn["thickness_between"] * drawn["thickness_within"],
        diffusivity=_of_batch(sample)[sample.batch] * drawn["diffusivity_slices"],
        half_moisture=sample.of_slices("half_moisture"),
        film=sample.of_slices("film") * drawn["film_places"],
        marinade=drawn["marinade"],
        water=drawn["moisture"],
    )


def _of_batch(sample: Sample) -> np.ndarray:
    """Factor on the diffusivity of each batch drawn: that of its kitchen, its own, and what goes with its half moisture."""
    drawn = sample.batches
    along = drawn["half_moisture"] ** between_studies().along_half_moisture
    factor: np.ndarray = drawn["diffusivity"] * drawn["diffusivity_batches"] * along
    return factor


def slices_of_sample(batch: Batch, sample: Sample, trays: int, nodes: int) -> tuple[Slices, np.ndarray]:
    """Cut the slices of a sample.

    Parameters
    ----------
    batch : Batch
    sample : Sample
    trays : int
        That each batch drawn is laid on.
    nodes : int
        Across a slice.

    Returns
    -------
    tuple
        The slices, in column `b * trays + tray` of the segments' air; their thickness [m], shape (m,).
    """
    tray = np.minimum((sample.tray * trays).astype(int), trays - 1)
    return different_slices(batch, _differences(batch, sample), sample.batch * trays + tray, nodes)


def _deviations(sample: Sample) -> dict[str, np.ndarray]:
    """What is off in the batches drawn, as `engine.deviations` counts."""
    drawn = sample.batches | {"diffusivity": _of_batch(sample)}
    return {key: np.log(values) if INPUTS[key].factor else values for key, values in drawn.items()}


@dataclass(frozen=True)
class Laid:
    """Slices drawn, on their trays.

    Attributes
    ----------
    slices : Slices
        What dries.
    thickness_m : ndarray
        When laid on the trays [m].
    segments : tuple[Segment, ...]
        What they go through.
    judged : Lethality
        The judgement on the batch as it is meant; the log reduction of its `worst` organism is followed.
    """

    slices: Slices
    thickness_m: np.ndarray
    segments: tuple[Segment, ...]
    trays: int
    judged: Lethality


def lay(
    meant: History,
    clock: Clock,
    uncertainties: Mapping[str, Uncertainty],
    sample: Sample,
    nodes: int,
    executor: Workers,
    judged: Lethality | None = None,
) -> Laid:
    """Cut the slices drawn, and find the air of every batch drawn; judge the batch as it is meant.

    Parameters
    ----------
    meant : History
        Of the batch as it is meant.
    clock : Clock
    uncertainties, nodes, executor, judged
        See `spread`.
    sample : Sample
    """
    batch, drawn = meant.batch, _deviations(sample)
    judge = partial(judge_batch_lethality, meant) if judged is None else lambda: judged
    if batch.appliance is None:
        offsets = zip(drawn["setpoint"].tolist(), drawn["room_humidity"].tolist(), strict=True)
        batches = [
            deviated(batch, {"setpoint": kelvin, "room_humidity": humidity})[0]
            for kelvin, humidity in offsets
        ]
        slices, thickness = slices_of_sample(batch, sample, 1, nodes)
        return Laid(slices, thickness, segments_in_given_air(batches, clock), 1, judge())
    timed, trays = by_the_clock(batch, clock), int(meant.tray.max()) + 1
    sizes = {key: uncertainty.size for key, uncertainty in uncertainties.items()}
    sizes["diffusivity"] = math.hypot(sizes["diffusivity"], sizes["diffusivity_batches"])
    airs, (slices, thickness), as_meant = results_of_calls(
        [
            partial(airs_of_deviations, timed, [{}, *runs_for_air(sizes)]),
            partial(slices_of_sample, batch, sample, trays, nodes),
        ],
        executor,
        here=judge,
    )
    ideal = with_ideal_thermostat(timed)  # slices feel the mean of a cycle
    segments = segments_in_appliance(ideal, clock, airs, shares_of_runs(drawn, sizes))
    return Laid(slices, thickness, segments, trays, as_meant)
