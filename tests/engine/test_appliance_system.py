"""Batches in appliances of one build as one system: where each stands, and which may stand beside each other."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from made_batch import warm_air

from dryingsim.batch.reading.appliance_file import appliance_of
from dryingsim.engine.appliance_system import ApplianceSystem, build_of
from dryingsim.errors import InputError
from dryingsim.model.build import build_slabs
from dryingsim.model.surroundings import ApplianceSurroundings


@pytest.fixture(scope="module")
def batch():
    demo = warm_air()
    appliance = appliance_of("appliance", {"use": "stacked dehydrator"}, Path())
    appliance = replace(appliance, heater=replace(appliance.heater, control="ideal"))
    return replace(demo, appliance=appliance, stages=(replace(demo.stages[0], until=None, duration_s=600.0),))


def thicker(batch, factor):
    classes = tuple(replace(kind, thickness_m=factor * kind.thickness_m) for kind in batch.meat.classes)
    return replace(batch, meat=replace(batch.meat, classes=classes, weight_kg=factor * batch.meat.weight_kg))


def test_slab_j_of_appliance_a_stands_at_j_times_copies_plus_a(batch):
    batches = [batch, thicker(batch, 1.1)]
    system = ApplianceSystem(batches, 6, 1e-3, np.array([1.0, 2.0]))
    for a, own in enumerate(batches):
        alone = ApplianceSurroundings(own, 6, 1e-3).slabs.slabs
        np.testing.assert_allclose(system.slabs.slabs.dry_mass_kg_m2[a::2], alone.dry_mass_kg_m2, rtol=1e-12)
    np.testing.assert_array_equal(system.slabs.slabs.diffusivity_factor[1::2], 2.0)


def test_all_of_them_change_at_the_rates_of_each_alone(batch):
    batches = [batch, thicker(batch, 1.1)]
    system = ApplianceSystem(batches, 6, 1e-3, np.ones(2))
    system.begin(system.merged_stage(0), 0.0)
    rates = system.loaded.rhs(np.zeros(2), system.initial()).reshape(-1, 2)
    for a, own in enumerate(batches):
        alone = ApplianceSurroundings(own, 6, 1e-3)
        alone.begin(own.stages[0], 0.0)
        wanted = alone.loaded.rhs(0.0, alone.initial())
        # sums over slabs and cells go in another order: round-off, against rates of up to a thousand W
        np.testing.assert_allclose(rates[:, a], wanted, rtol=1e-9, atol=1e-9)


def test_what_is_built_or_driven_otherwise_is_of_another_build(batch):
    def build(other):
        return build_of(other, build_slabs(other, 3))

    stage = batch.stages[0]
    assert build(replace(batch, stages=(replace(stage, duration_s=900.0),))) == build(batch)
    assert build(replace(batch, stages=(replace(stage, turn=True),))) != build(batch)
    assert build(replace(batch, rotate_every_s=600.0)) != build(batch)
    assert build(replace(batch, meat=replace(batch.meat, weight_kg=0.1))) != build(batch)  # fewer trays
    with pytest.raises(InputError, match=r"the slices need .* trays"):
        build(replace(batch, meat=replace(batch.meat, weight_kg=50.0)))
