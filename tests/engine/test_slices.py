"""Slices laid: what they keep of their batch, and what differs between them."""

from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air

import dryingsim as ds
from dryingsim.engine.slices import SALT_LEVELS, salted, slices_of_batches
from dryingsim.model.build import build_slabs


@pytest.fixture(scope="module")
def batch():
    return warm_air()


def test_salt_is_sampled_at_a_few_levels_close_to_what_was_drawn(batch):
    amount = np.exp(0.15 * np.random.default_rng(1).standard_normal(1024))
    level, solid, sorption = salted(batch, amount)
    assert np.all(np.bincount(level) >= 1024 // SALT_LEVELS)
    middles = np.array([np.median(amount[level == k]) for k in range(SALT_LEVELS)])
    assert np.all(np.diff(middles) > 0.0)
    # nine in ten slices are within 2 % of their level: a fifth of what the default leaves in doubt
    assert np.quantile(np.abs(amount / middles[level] - 1.0), 0.9) < 0.02
    for k in (0, SALT_LEVELS - 1):
        marinade = replace(
            batch.marinade,
            salt_kg_kg=batch.marinade.salt_kg_kg * middles[k],
            sugar_kg_kg=batch.marinade.sugar_kg_kg * middles[k],
        )
        own = build_slabs(replace(batch, marinade=marinade), 3)
        assert solid.specific_volume[k] == pytest.approx(own.solid_volume[0], rel=1e-12)
        here, there = np.array([1.0]), np.array([310.0])
        row = np.array([k])
        assert sorption.log_activity(here, there, row) == pytest.approx(
            own.sorption.log_activity(here, there, 0), rel=1e-12
        )


def test_slices_of_batches_stand_batch_by_batch_tray_by_tray(batch):
    thick = replace(
        batch, meat=replace(batch.meat, classes=(ds.ThicknessClass(thickness_m=7e-3, share=1.0),))
    )
    thin = replace(thick, meat=replace(thick.meat, classes=(ds.ThicknessClass(thickness_m=3e-3, share=1.0),)))
    slices = slices_of_batches(
        [thick, thin], 2, 6, diffusivity=np.array([1.0, 2.0]), film=np.array([0.5, 1.5])
    )
    assert slices.column.tolist() == [0, 1, 2, 3]
    np.testing.assert_allclose(
        slices.slabs.thickness(slices.slabs.initial_moisture_db), [7e-3, 7e-3, 3e-3, 3e-3], rtol=1e-12
    )
    assert slices.slabs.diffusivity_factor.tolist() == [1.0, 1.0, 2.0, 2.0]
    assert slices.film_factor.tolist() == [0.5, 0.5, 1.5, 1.5]


def test_another_moisture_leaves_the_thickness_as_laid(batch):
    ones = np.ones(1)
    wetter = slices_of_batches([batch], 1, 6, diffusivity=ones, film=ones, moisture_db=np.array([3.3])).slabs
    np.testing.assert_allclose(wetter.initial_moisture_db, 3.3)
    thickness = [cut.thickness_m for cut in batch.meat.classes]
    np.testing.assert_allclose(wetter.thickness(wetter.initial_moisture_db), thickness, rtol=1e-12)


def test_thicker_slices_hold_more_dry_solid_of_the_same_meat(batch):
    ones = np.ones(1)
    slices = slices_of_batches([batch], 1, 6, diffusivity=ones, film=ones)
    thicker = slices.thicker(np.full(len(slices), 1.2)).slabs
    wet = slices.slabs.initial_moisture_db
    np.testing.assert_allclose(thicker.thickness(wet), 1.2 * slices.slabs.thickness(wet), rtol=1e-12)
