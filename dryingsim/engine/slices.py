"""Slices that dry independently: cut from one batch with differences between them, or from many batches."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from dryingsim.batch.schema import Batch
from dryingsim.judge.taking_off import ready_levels
from dryingsim.model.build import build_slabs, moistened, recipe_of, sorption_of
from dryingsim.model.laying import slab_thickness
from dryingsim.model.slab import OF_SLABS, Slabs, taken
from dryingsim.properties.meat import DrySolids, dry_solids
from dryingsim.properties.shrinkage import volume_of
from dryingsim.properties.sorption import Sorption
from dryingsim.properties.water_activity import REFERENCE_TEMPERATURE

SALT_LEVELS = 33  # the sorption curve is tabulated for so many of the amounts of salt and sugar
_DRIEST, _WETTEST = 0.2, 0.95  # raw meat, kg water per kg: beyond, it is no meat
_LEAST_DB, _LEAST_ACTIVITY = 1e-3, 1e-3  # the driest at which slices are taken off, kg/kg and -
_HALVINGS = 40  # of the interval that holds that moisture: to its last digit or so


@dataclass(frozen=True)
class Slices:
    """Slices: what they are made of and where they lie.

    Attributes
    ----------
    slabs : Slabs
    column : ndarray of int, shape (m,)
        Of the segments' air.
    film_factor : ndarray, shape (m,)
        Multiplies the film coefficients.
    ready : ndarray, shape (m,), or None
        Water activity, evened out, at which each is taken off [-]: nothing reduces bacteria after that. 0 or None: it stays.
    """

    slabs: Slabs
    column: np.ndarray
    film_factor: np.ndarray
    ready: np.ndarray | None = None

    def __len__(self) -> int:
        return self.column.size

    def take(self, index: np.ndarray | slice) -> "Slices":
        """Return some of them, or some of them several times."""
        ready = None if self.ready is None else self.ready[index]
        return Slices(taken(self.slabs, index), self.column[index], self.film_factor[index], ready)

    def thicker(self, factor: np.ndarray) -> "Slices":
        """Return slices of the same meat whose thickness is multiplied by a factor, shape (m,)."""
        mass = self.slabs.dry_mass_kg_m2 * factor
        return replace(self, slabs=replace(self.slabs, dry_mass_kg_m2=mass))

    def ready_moisture(self) -> np.ndarray:
        """Return the mean moisture at which each slice is taken off [kg/kg], shape (m,); 0 where it stays."""
        m, slabs = len(self), self.slabs
        if self.ready is None:
            return np.zeros(m)
        even, level = np.full(m, REFERENCE_TEMPERATURE), np.log(np.maximum(self.ready, _LEAST_ACTIVITY))
        low, high = np.full(m, np.log(_LEAST_DB)), np.log(slabs.initial_moisture_db)
        for _ in range(_HALVINGS):
            middle = 0.5 * (low + high)
            wetter = slabs.sorption.log_activity(np.exp(middle), even, slabs.recipe) > level
            low, high = np.where(wetter, low, middle), np.where(wetter, middle, high)
        return np.where(self.ready > 0.0, np.exp(low), 0.0)


@dataclass(frozen=True, kw_only=True)
class Differences:
    """How `m` slices differ from those of a batch as it is meant.

    Attributes
    ----------
    kind : ndarray of int, shape (m,)
        Thickness class of each.
    thickness, diffusivity, half_moisture, film, marinade : ndarray, shape (m,)
        Factors: on the thickness, the diffusivity, the half moisture of its fall, the film coefficients, the salt and sugar
        taken up.
    water : ndarray, shape (m,)
        Added to the water in the raw meat [kg/kg].
    """

    kind: np.ndarray
    thickness: np.ndarray
    diffusivity: np.ndarray
    half_moisture: np.ndarray
    film: np.ndarray
    marinade: np.ndarray
    water: np.ndarray


def slabs_of(batches: Sequence[Batch], nodes: int) -> tuple[list[Slabs], Sorption, np.ndarray]:
    """Build the slabs of batches.

    Parameters
    ----------
    batches : sequence of Batch
    nodes : int
        Across a slice.

    Returns
    -------
    tuple
        The slabs of each batch; the sorption curves of all, and the row of each batch in them.
    """
    made: dict[Any, Slabs] = {}
    recipes: dict[Any, int] = {}
    by_batch, rows = [], []
    for batch in batches:
        key = (replace(batch.meat, weight_kg=1.0), batch.seasoning, batch.support, batch.components)
        if key not in made:  # what differs between batches is often not the meat, and tables take time
            made[key] = build_slabs(batch, nodes)
        by_batch.append(made[key])
        rows.append(recipes.setdefault(recipe_of(batch)[0], len(recipes)))
    table = sorption_of(batches[0], list(recipes)) if len(recipes) > 1 else by_batch[0].sorption
    return by_batch, table, np.array(rows, dtype=np.intp)


def slices_of_batches(
    batches: Sequence[Batch],
    trays: int,
    nodes: int,
    *,
    diffusivity: np.ndarray,
    film: np.ndarray,
    moisture_db: np.ndarray | None = None,
) -> Slices:
    """Lay the slices of batches: batch by batch, tray by tray, class by class.

    Parameters
    ----------
    batches : sequence of Batch
        As many thickness classes in each.
    trays : int
        That each is laid on.
    nodes : int
        Across a slice.
    diffusivity, film : ndarray, shape (batches,)
        Multiply the diffusivity and the film coefficients.
    moisture_db : ndarray, shape (batches,), optional
        Of the slices when laid on the trays [kg/kg]; as the recipe gives it if left out.

    Returns
    -------
    Slices
        Column `batch * trays + tray`.
    """
    by_batch, table, row = slabs_of(batches, nodes)
    count, classes = len(by_batch), by_batch[0].dry_mass_kg_m2.size

    def of_all(name: str) -> np.ndarray:
        values = np.stack([getattr(slabs, name) for slabs in by_batch], axis=-2)  # (..., batches, classes)
        values = np.repeat(values[..., None, :], trays, axis=-2)
        return values.reshape(*values.shape[:-3], -1)

    arrays: dict[str, Any] = {name: of_all(name) for name in OF_SLABS}
    batch = np.repeat(np.arange(count), trays * classes)
    slabs: Slabs = replace(by_batch[0], sorption=table, recipe=row[batch], **arrays)
    if moisture_db is not None:
        slabs = moistened(slabs, moisture_db[batch])
    slabs = replace(slabs, diffusivity_factor=diffusivity[batch])
    column = np.repeat(np.arange(count * trays), classes)
    return Slices(slabs, column, film[batch], ready_levels(batches)[batch])


def different_slices(
    batch: Batch, differences: Differences, column: np.ndarray, nodes: int
) -> tuple[Slices, np.ndarray]:
    """Cut slices like those of a batch, with differences between them.

    Parameters
    ----------
    batch : Batch
    differences : Differences
    column : ndarray of int, shape (m,)
        Of the segments' air, for each slice.
    nodes : int
        Across a slice.

    Returns
    -------
    tuple
        The slices, and their thickness when laid on the trays [m], shape (m,).

    Notes
    -----
    Salt and sugar go together, at `SALT_LEVELS` levels of what there is per dry solid.
    """
    meat, marinade = batch.meat, batch.seasoning
    as_cut = slab_thickness(batch)[differences.kind]
    thickness = as_cut * differences.thickness
    water = np.clip(meat.composition.water + differences.water, _DRIEST, _WETTEST)
    solids = 1.0 - water + differences.marinade * (marinade.salt_kg_kg + marinade.sugar_kg_kg)
    moisture = (water + marinade.water_kg_kg) / solids
    level, solid, sorption = salted(batch, differences.marinade * recipe_of(batch)[1] / solids)
    volume = solid.specific_volume[level]
    slabs = replace(
        taken(build_slabs(batch, nodes), differences.kind),
        dry_mass_kg_m2=thickness / volume_of(batch.components.shrinkage, volume, moisture),
        initial_moisture_db=moisture,
        solid_specific_heat=solid.specific_heat[level],
        solid_volume=volume,
        solid_conductivity=solid.conductivity[level],
        diffusivity_factor=differences.diffusivity,
        half_moisture_factor=differences.half_moisture,
        sorption=sorption,
        recipe=level,
    )
    ready = np.full(column.size, ready_levels([batch])[0])
    return Slices(slabs, column, differences.film, ready), thickness


def salted(batch: Batch, amount: np.ndarray) -> tuple[np.ndarray, DrySolids, Sorption]:
    """Put slices that hold different amounts of salt and sugar at a few levels.

    Parameters
    ----------
    batch : Batch
    amount : ndarray, shape (m,)
        Of salt and sugar per dry solid; 1: as the batch has it.

    Returns
    -------
    tuple
        Level of each slice; the solids of each level; sorption curve of each level.

    Notes
    -----
    Levels hold equal numbers of slices; each stands at their median.
    """
    m, raw, marinade = amount.size, batch.meat.composition, batch.seasoning
    count = min(SALT_LEVELS, m) if np.ptp(amount) > 0.0 and marinade.seasoned else 1
    level = np.empty(m, dtype=np.intp)
    level[np.argsort(amount, kind="stable")] = np.arange(m) * count // m
    middle = np.array([np.median(amount[level == k]) for k in range(count)]) if count > 1 else np.ones(1)
    salt, sugar = marinade.salt_kg_kg * middle, marinade.sugar_kg_kg * middle
    marinades = [
        replace(marinade, salt_kg_kg=salt_here, sugar_kg_kg=sugar_here)
        for salt_here, sugar_here in zip(salt.tolist(), sugar.tolist(), strict=True)
    ]
    recipes, solids, _ = zip(*(recipe_of(replace(batch, marinade=own)) for own in marinades), strict=True)
    per = np.array(solids)
    solid = dry_solids(
        raw.protein / per, raw.fat / per, raw.carbohydrate / per, raw.ash / per, salt / per, sugar / per
    )
    return level, solid, sorption_of(batch, recipes)
