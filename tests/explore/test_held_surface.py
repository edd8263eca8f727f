"""Faces held at a moisture: Crank's series for a slab of constant diffusivity, met at the default nodes through `ds.run`."""

from dataclasses import replace

import numpy as np
import pytest
from made_slab import CONSTANT

import dryingsim as ds
from dryingsim.batch.reading.batch_file import parse_batch

TEXT = """
[meat]
cut = "beef eye of round"
weight = "500 g"
thickness = "3 mm"
length = "10 cm"
width = "3 cm"
temperature = "4 degC"
[room]
temperature = "21 degC"
humidity = "45 %"
[[stage]]
air = "60 degC"
speed = "1 m/s"
duration = "5 h"
"""
HELD_DB = 0.1


def laid(support="mesh"):
    """Return a batch of constant diffusivity, its faces held, in meat as warm as its air (which is of no matter)."""
    batch = parse_batch(TEXT, "crank")
    laws = ds.Components(diffusivity=CONSTANT, surface=ds.HeldSurface(HELD_DB))
    return replace(batch, support=support, components=laws, meat=replace(batch.meat, temperature_K=333.15))


def crank(fourier, place=None):
    """Moisture ratio of a slab whose faces are held, Crank (1975) eqs. 4.18 (mean) and 4.17 (at z from its middle)."""
    n = np.arange(400)[:, None]
    root = (2 * n + 1) * np.pi / 2.0
    decay = np.exp(-(root**2) * fourier)
    if place is None:
        return (2.0 / root**2 * decay).sum(axis=0)
    return (2.0 * (-1.0) ** n / root * np.cos(root * place) * decay).sum(axis=0)


def fourier_of(history, support):
    slabs = history.slabs
    path = slabs.dry_mass_kg_m2[0] * (
        0.5 if support == "mesh" else 1.0
    )  # dry mass from the still plane to a face
    return CONSTANT.reference_m2_s * slabs.initial_dry_density[0] ** 2 * history.time_s[1:] / path**2


@pytest.mark.parametrize("support", ["mesh", "sheet"])
def test_cranks_series_is_met_at_the_default_nodes(support):
    history = ds.run(laid(support))
    fourier = fourier_of(history, support)
    assert fourier[0] < 0.01  # a minute after the jump
    assert fourier[-1] > 0.5
    first = history.slabs.initial_moisture_db[0]
    mean = (history.mean_moisture_db[1:, 0] - HELD_DB) / (first - HELD_DB)
    assert np.abs(mean - crank(fourier)).max() < 3e-4
    # at the nodes too, once the layer that dries is wider than they are apart
    places = 2.0 * history.slabs.nodes - 1.0 if support == "mesh" else history.slabs.nodes
    late = fourier > 0.02
    for node, place in enumerate(places):
        ratio = (history.moisture_db[1:, node, 0] - HELD_DB) / (first - HELD_DB)
        assert np.abs(ratio - crank(fourier, place))[late].max() < 1e-3


def test_nothing_warms_or_cools_and_the_balances_close():
    history = ds.run(laid())
    assert np.abs(history.temperature_K - 333.15).max() < 1e-9
    assert np.all(history.heat_J_m2 == 0.0)
    assert history.water_closure < 1e-9
    assert history.energy_closure < 1e-9
    assert ds.judge_batch(history).doneness.batch.expected_s is not None


def test_it_goes_over_a_map_and_to_many_slices():
    batch = laid()
    thick = np.array([2e-3, 3e-3])
    done = ds.map_over(batch, {"thickness_m": thick}, organism=None).numbers["done_s"]
    # the same moisture ratio at the same Fourier number
    assert done[1] / done[0] == pytest.approx((thick[1] / thick[0]) ** 2, rel=2e-3)
    found = ds.spread(batch, slices=64, nodes=8)
    assert found.batch.components.surface == ds.HeldSurface(HELD_DB)
    assert np.abs(found.numbers["peak_K"] - 333.15).max() < 1e-6


@pytest.mark.parametrize(
    ("slip", "says"),
    [
        (lambda: ds.HeldSurface(-0.1), "HeldSurface, moisture_db = -0.1 is outside 0.0001 to 20"),
        (
            lambda: ds.Components(surface=0.1),
            "surface: ds.HeldSurface(...) or ds.IsothermalSurface() is expected, not float",
        ),
        (
            lambda: replace(ds.demo_batch(), components=laid().components),
            "a held or an isothermal surface needs air as the stages state it",
        ),
    ],
)
def test_slips_are_said_in_one_line(slip, says):
    with pytest.raises(ds.InputError) as caught:
        slip()
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)
