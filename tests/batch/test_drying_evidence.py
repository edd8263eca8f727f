"""What the published evidence says of drying, as the package reads it."""

from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air, warm_air_text
from scipy.special import ndtri, stdtrit

import dryingsim as ds
from dryingsim.batch.catalog.drying_evidence import activity_error, between_studies, student
from dryingsim.batch.uncertainties import activity_error_of


def test_student_is_that_of_scipy():
    u = np.linspace(0.01, 0.99, 99)
    degrees = between_studies().degrees_of_freedom
    np.testing.assert_allclose(student(ndtri(u), degrees), stdtrit(degrees, u), rtol=1e-3, atol=1e-12)


def test_a_new_kitchen_differs_as_much_as_the_fit_says():
    between = between_studies()
    time = 0.9 * np.hypot(
        between.kitchens * stdtrit(between.degrees_of_freedom, 0.95), 1.6448536 * between.batches
    )
    assert np.exp(time) == pytest.approx(between.factor_new_batch, rel=1e-3)  # the accuracy of `student`


def test_the_kind_of_product_decides_how_well_its_water_activity_is_known():
    batch = warm_air()
    assert activity_error_of(batch) == activity_error("known")
    guessed = replace(batch, marinade=replace(batch.marinade, known=False))
    assert activity_error_of(guessed) == activity_error("no_recipe")
    minced = replace(guessed, meat=replace(batch.meat, form="minced"))
    assert activity_error_of(minced) == activity_error("formed")
    assert activity_error("known").half_width < 0.05 < 0.15 < activity_error("no_recipe").half_width


def test_what_is_not_yes_or_no_is_refused():
    with pytest.raises(ds.InputError, match="Marinade, known = 'no': True or False"):
        ds.Marinade(known="no")
    text = warm_air_text()
    with pytest.raises(ds.InputError, match=r"\[marinade\], known = 1: true or false is expected"):
        ds.parse_batch(text.replace("# known = false", "known = 1"), "b.toml")
    assert not ds.parse_batch(text.replace("# known = false", "known = false"), "b.toml").marinade.known
