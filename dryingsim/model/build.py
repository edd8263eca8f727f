"""From the batch as described to the slabs the equations know."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Annotated

import numpy as np

from dryingsim.batch.components import Components, IsothermalSurface, Surface
from dryingsim.batch.learned import diffusivity_factor
from dryingsim.batch.schema import Batch
from dryingsim.evidence import Evidence
from dryingsim.kernels.grid import clustered_nodes
from dryingsim.model.laying import lying, slab_thickness
from dryingsim.model.slab import Slabs
from dryingsim.properties.diffusivity import LEAN_MEAT, Diffusivity, DiffusivityLaw, multiplied
from dryingsim.properties.meat import DrySolids, dry_solids
from dryingsim.properties.shrinkage import LinearShrinkage, volume_of
from dryingsim.properties.sorption import Curve, OwnSorption, Sorption
from dryingsim.properties.water_activity import Recipe, SorptionTable

EMISSIVITY: Annotated[
    float,
    Evidence(
        "-",
        "published",
        "as water; drying slabs in textbooks (Geankoplis 9.8-1, Treybal 12.4, Cengel 14.13)",
        (0.92, 0.95),
    ),
] = 0.95


def recipe_of(batch: Batch) -> tuple[Recipe, float, float]:
    """What a kg of raw meat holds when it begins to dry.

    Returns
    -------
    tuple
        The recipe of its dry solid; dry solid and water [kg per kg of raw meat].
    """
    raw, kept = batch.meat.composition, batch.seasoning
    solids = 1.0 - raw.water + kept.salt_kg_kg + kept.sugar_kg_kg
    recipe = Recipe(
        protein=raw.protein / solids, salt=kept.salt_kg_kg / solids, sugar=kept.sugar_kg_kg / solids
    )
    return recipe, solids, raw.water + kept.water_kg_kg


def law_of(batch: Batch) -> DiffusivityLaw:
    """Return the diffusivity of a batch before what was learned of this kitchen's meat."""
    return batch.components.diffusivity or LEAN_MEAT


def sorption_of(batch: Batch, recipes: Sequence[Recipe]) -> Sorption:
    """Return the sorption of a batch's meat with some recipes, a row of the answer each.

    Parameters
    ----------
    batch : Batch
    recipes : sequence of Recipe

    Returns
    -------
    Sorption
    """
    own = batch.components.sorption
    return SorptionTable(list(recipes)) if own is None else OwnSorption(own)


def curve_of(batch: Batch) -> Curve:
    """Return the sorption of a batch's meat as it is meant, both ways."""
    return Curve(recipe_of(batch)[0], batch.components.sorption)


def _dry_solid(batch: Batch, solids: float) -> DrySolids:
    """Properties of the dry solid, of which a kg of raw meat once marinated holds so much [kg/kg]."""
    raw, kept = batch.meat.composition, batch.seasoning
    return dry_solids(
        raw.protein / solids,
        raw.fat / solids,
        raw.carbohydrate / solids,
        raw.ash / solids,
        kept.salt_kg_kg / solids,
        kept.sugar_kg_kg / solids,
    )


def constant_properties(batch: Batch, diffusivity_m2_s: float, surface: Surface | None = None) -> Components:
    """Return laws for a lesson: one diffusivity, no shrinking, one temperature.

    With the surface held they are those of the exact series for a slab; as it is left out, vapour passes the film of the air.

    Parameters
    ----------
    batch : Batch
        Its slices keep the volume they are laid on the trays with, and the temperature.
    diffusivity_m2_s : float
        Of water in them, whatever their moisture and temperature [m2/s].
    surface : HeldSurface or IsothermalSurface, optional

    Returns
    -------
    Components
        To `run` it with; sorption and film are those of the batch.

    Examples
    --------
    >>> from dryingsim import HeldSurface, demo_batch
    >>> laws = constant_properties(demo_batch(), 3e-10, HeldSurface(0.1))
    >>> laws.diffusivity.reference_m2_s, laws.shrinkage.water_m3_kg
    (3e-10, 0.0)
    """
    _, solids, water = recipe_of(batch)
    raw = volume_of(batch.components.shrinkage, _dry_solid(batch, solids).specific_volume, water / solids)
    return replace(
        batch.components,
        diffusivity=Diffusivity(
            reference_m2_s=diffusivity_m2_s,
            temperature_K=batch.meat.temperature_K,
            moisture_db=1.0,
            activation_energy_J_mol=0.0,
            half_moisture_db=0.0,
            convention="local",
        ),
        shrinkage=LinearShrinkage(dry_m3_kg=float(raw), water_m3_kg=0.0),
        surface=surface or IsothermalSurface(),
    )


def build_slabs(batch: Batch, nodes: int) -> Slabs:
    """Slabs of a batch, one per thickness class, see `model.laying`.

    Parameters
    ----------
    batch : Batch
    nodes : int
        Nodes across a slice.

    Returns
    -------
    Slabs
    """
    meat, surface = batch.meat, batch.components.surface
    recipe, solids, water = recipe_of(batch)
    thickness, lies = slab_thickness(batch), lying(batch)
    ones = np.ones_like(thickness)
    solid = _dry_solid(batch, solids)
    moisture, shrinkage = water / solids, batch.components.shrinkage
    return Slabs(
        nodes=clustered_nodes(nodes),
        dry_mass_kg_m2=thickness / volume_of(shrinkage, solid.specific_volume, moisture),
        initial_moisture_db=moisture * ones,
        solid_specific_heat=solid.specific_heat * ones,
        solid_volume=solid.specific_volume * ones,
        solid_conductivity=solid.conductivity * ones,
        diffusivity=multiplied(law_of(batch), diffusivity_factor(batch)),
        diffusivity_factor=ones,
        half_moisture_factor=ones,
        sorption=sorption_of(batch, [recipe]),
        recipe=np.zeros(thickness.size, dtype=np.intp),
        emissivity=EMISSIVITY,
        vapour_open=np.stack([lies.vapour_below, ones]),
        heat_open=np.stack([lies.heat_below, ones]),
        edge_length_m=(0.5 * meat.width_m if surface is None else np.inf) * ones,
        surface=surface,
        shrinkage=shrinkage,
    )


def moistened(slabs: Slabs, moisture_db: np.ndarray) -> Slabs:
    """Return slabs as thick as they are, laid on the tray with another moisture.

    Parameters
    ----------
    slabs : Slabs
    moisture_db : ndarray, shape (m,)
        As laid on the tray [kg/kg].

    Returns
    -------
    Slabs
    """
    mass = slabs.thickness(slabs.initial_moisture_db) / slabs.volume(moisture_db)
    return replace(slabs, initial_moisture_db=moisture_db, dry_mass_kg_m2=mass)


def with_ideal_thermostat(batch: Batch) -> Batch:
    """Return the batch with the mean of its thermostat's cycle: slices feel nothing of the swings."""
    if batch.appliance is None:
        return batch
    heater = replace(batch.appliance.heater, control="ideal")
    return replace(batch, appliance=replace(batch.appliance, heater=heater))


def slice_area(batch: Batch, slabs: Slabs) -> np.ndarray:
    """Area of one face of the slabs of all slices of each class [m2], shape (m,).

    Parameters
    ----------
    batch : Batch
    slabs : Slabs
        The batch's own.

    Returns
    -------
    ndarray, shape (m,)
        [m2].
    """
    _, solids, _ = recipe_of(batch)
    share = np.array([c.share for c in batch.meat.classes])
    return batch.meat.weight_kg * solids * share / slabs.dry_mass_kg_m2


def slice_count(batch: Batch, area_m2: float) -> int:
    """Return how many slices have an area of one face in all; at least one.

    Parameters
    ----------
    batch : Batch
    area_m2 : float
        Of one face of all of them [m2].

    Returns
    -------
    int
    """
    return max(round(area_m2 / (batch.meat.length_m * batch.meat.width_m)), 1)
