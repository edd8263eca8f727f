"""Loaded appliances side by side: batches that differ in their numbers alone, as one system for `kernels.own_steps`."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from dryingsim.batch.schema import Batch, Stage
from dryingsim.engine.slices import slabs_of
from dryingsim.kernels.blocks import BlockElimination
from dryingsim.model.build import slice_area
from dryingsim.model.laying import tray_area
from dryingsim.model.load import side_by_side
from dryingsim.model.slab import OF_SLABS, Slabs
from dryingsim.model.surroundings import ApplianceSurroundings, trays_used
from dryingsim.model.system import SlabSystem


def build_of(batch: Batch, slabs: Slabs) -> tuple[Any, ...]:
    """Return what must be the same of batches whose appliances go side by side; raise where the slices do not fit.

    Parameters
    ----------
    batch : Batch
        In an appliance.
    slabs : Slabs
        Its own.
    """
    assert batch.appliance is not None
    used, stack = batch.appliance, batch.appliance.trays
    return (
        trays_used(batch, float(tray_area(batch, slice_area(batch, slabs)).sum())),
        tuple(one.lies for one in batch.meat.classes),
        stack.flow,
        used.heater.control,
        used.heater.sensor,
        used.door and used.door.hinge,
        used.moisture.pan_area_m2 > 0.0,
        batch.support,
        batch.rotate_every_s,
        tuple(
            (stage.kind, stage.air.humidity.kind, stage.turn, stage.door_gap_m is None)
            for stage in batch.stages
        ),
    )


class ApplianceSystem(ApplianceSurroundings):
    """Batches of one `build_of`, each in its own appliance: slab j of appliance a stands at j * copies + a.

    Parameters
    ----------
    batches : sequence of Batch
    nodes : int
        Across a slice.
    tolerance : float
        Of the steps, see `dryingsim.run`.
    diffusivity_factor : ndarray, shape (copies,)
        Multiplies the diffusivity in each.
    """

    def __init__(
        self, batches: Sequence[Batch], nodes: int, tolerance: float, diffusivity_factor: np.ndarray
    ) -> None:
        slabs_by_batch, table, row = slabs_of(batches, nodes)
        pairs = zip(batches, slabs_by_batch, strict=True)
        area = np.stack([slice_area(batch, own) for batch, own in pairs], axis=1)
        trays = trays_used(batches[0], float(tray_area(batches[0], area[:, 0]).sum()))
        merged: dict[str, Any] = {}
        for name in OF_SLABS:
            by_copy = np.stack(
                [getattr(own, name) for own in slabs_by_batch], axis=-1
            )  # (..., kinds, copies)
            if name == "diffusivity_factor":
                by_copy = by_copy * diffusivity_factor
            on_trays = np.concatenate([by_copy] * trays, axis=-2)
            merged[name] = on_trays.reshape(*on_trays.shape[:-2], -1)
        recipe = np.tile(row, merged["dry_mass_kg_m2"].size // row.size)
        slabs = replace(slabs_by_batch[0], sorption=table, recipe=recipe, **merged)
        system = SlabSystem(slabs, None, tolerance, BlockElimination)
        self._set_up(_nameless(batches), trays, area, system, tolerance)

    def merged_stage(self, index: int) -> Stage:
        """Return a stage of all of them."""
        return self._batch.stages[index]


def _nameless(batches: Sequence[Batch]) -> Batch:
    """Return the batches as one whose numbers are arrays; names are the first's."""
    first = batches[0]
    assert first.appliance is not None
    alike = []
    for batch in batches:
        assert batch.appliance is not None
        stages = tuple(
            replace(stage, name=like.name, until=None)
            for stage, like in zip(batch.stages, first.stages, strict=True)
        )
        appliance = replace(
            batch.appliance,
            name=first.appliance.name,
            heater=replace(batch.appliance.heater, highest_K=None),
        )
        meat = replace(batch.meat, name=first.meat.name)
        alike.append(
            replace(batch, name=first.name, stages=stages, appliance=appliance, meat=meat, uncertainties={})
        )
    merged: Batch = side_by_side(alike)
    return merged
