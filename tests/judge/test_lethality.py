"""F values against textbook examples, and what guidelines require."""

import itertools

import numpy as np
import pytest

from dryingsim.batch.catalog import organisms as catalog
from dryingsim.errors import InputError
from dryingsim.judge.lethality import equivalent_time, lethal_rate

ORGANISMS = tuple(catalog.organisms())


def kelvin(fahrenheit):
    return (np.asarray(fahrenheit, dtype=float) + 459.67) / 1.8


def test_targets():
    assert catalog.target("salmonella", "beef").log10 == 5.0
    assert catalog.target("salmonella", "poultry").log10 == 7.0
    assert "381.150" in catalog.target("salmonella", "poultry").guideline
    assert catalog.target("e_coli", "beef").log10 == 5.0
    assert catalog.target("listeria", "game").log10 == 3.0
    for organism, species in itertools.product(ORGANISMS, catalog.SPECIES):
        assert catalog.target(organism, species).guideline


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: catalog.target("salmonela", "beef"), "did you mean 'salmonella'"),
        (lambda: catalog.target("e_coli", "beaf"), "did you mean 'beef'"),
    ],
)
def test_unknown_names(call, message):
    with pytest.raises(InputError, match=message):
        call()


# --- F values: textbook examples --------------------
# T1-T3: Geankoplis, Transport Processes and Unit Operations, 3rd ed., examples 9.12-1 to 9.12-3.

T2_MIN = np.array([0.0, 15.0, 25.0, 30.0, 40.0, 50.0, 64.0])
T2_F = np.array([80.0, 165.0, 201.0, 212.5, 225.0, 230.5, 235.0])


def test_t1_three_constant_stages():
    time = np.array([0.0, 20.0, 20.0, 40.0, 40.0, 73.0])
    t = np.array([160.0, 160.0, 210.0, 210.0, 230.0, 230.0])
    assert equivalent_time(time, t, 250.0, 18.0)[-1] == pytest.approx(2.68, abs=0.005)  # printed to 0.01
    si = equivalent_time(time, kelvin(t), kelvin(250.0), 10.0)[-1]
    assert si == pytest.approx(2.68, abs=0.005)


def test_t2_the_rule_of_integration_decides():
    rate = lethal_rate(T2_F, 250.0, 18.0)
    trapezoid = float(np.trapezoid(rate, T2_MIN))
    exact = equivalent_time(T2_MIN, T2_F, 250.0, 18.0)[-1]
    assert trapezoid == pytest.approx(2.5027, abs=5e-4)
    assert exact == pytest.approx(2.3845, abs=5e-4)  # temperature linear between readings
    assert exact < 2.45 < trapezoid  # 2.45 min is needed: the verdict flips


def test_t3_reductions_from_f_and_d():
    f = equivalent_time(np.array([0.0, 9.0]), np.array([150.0, 150.0]), 150.0, 10.0)[-1]
    assert 10 ** (f / 0.6) == pytest.approx(1e15, rel=1e-9)


def test_t10_twelve_minutes_at_60_degc_by_two_d_values():
    f = equivalent_time(np.array([0.0, 12.0]), np.array([60.0, 60.0]), 60.0, 5.56)[-1]
    assert 6.5 <= f / 1.72 <= 7.0  # the federal table's own D
    assert f / 3.17 == pytest.approx(3.8, abs=0.05)  # E. coli in ground beef: the table is not universal
