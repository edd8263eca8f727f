"""Laws of shrinkage, slices of one temperature and faces that differ, through every way a batch is run."""

from dataclasses import dataclass, replace

import numpy as np
import pytest
from made_slab import CONSTANT

import dryingsim as ds
from dryingsim.batch.reading.batch_file import parse_batch
from dryingsim.properties.shrinkage import WATER_VOLUME
from dryingsim.show.report.sources import assumptions

TEXT = """
[meat]
cut = "beef eye of round"
weight = "500 g"
thickness = "3 mm"
length = "10 cm"
width = "8 cm"
temperature = "60 degC"
[room]
temperature = "21 degC"
humidity = "45 %"
[[stage]]
air = "60 degC"
speed = "1 m/s"
duration = "5 h"
"""


@dataclass(frozen=True)
class Bent:
    """A law of a user's own: pores open when little moisture is left."""

    def volume(self, moisture_db):
        return 1e-3 + 1.05e-3 * moisture_db + 5e-4 * np.exp(-2.0 * moisture_db)


@pytest.fixture(scope="module")
def batch():
    return parse_batch(TEXT, "b")


@pytest.fixture(scope="module")
def default(batch):
    return ds.run(batch, nodes=10)


def test_volumes_that_add_as_a_law_change_nothing(batch, default):
    solid = float(default.slabs.solid_volume[0])
    same = ds.Components(shrinkage=ds.LinearShrinkage(dry_m3_kg=solid, water_m3_kg=WATER_VOLUME))
    again = ds.run(batch, components=same, nodes=10)
    np.testing.assert_allclose(again.moisture_db, default.moisture_db, rtol=1e-12)
    np.testing.assert_allclose(again.thickness_m, default.thickness_m, rtol=1e-12)


def test_thickness_follows_the_law_at_every_depth(batch):
    history = ds.run(batch, components=ds.Components(shrinkage=Bent()))
    assert history.thickness_m[0, 0] == pytest.approx(3e-3, rel=1e-12)
    # finer than the nodes, which miss the bend between them
    mass = (np.arange(2000) + 0.5) / 2000.0
    x = np.interp(mass, history.slabs.nodes, history.moisture_db[60, :, 0])
    expected = history.slabs.dry_mass_kg_m2[0] * Bent().volume(x).mean()
    assert history.thickness_m[60, 0] == pytest.approx(expected, rel=2e-3)
    assert history.water_closure < 1e-9
    assert history.batch.components.replaced["shrinkage"] == "Bent()"
    rows = dict(assumptions(history))["How the meat dries"]
    assert any((row.value, row.source) == ("Bent()", "given in Python") for row in rows)


def test_it_goes_to_many_slices_and_over_a_map(batch):
    laws = ds.Components(diffusivity=replace(CONSTANT, convention="local"), shrinkage=Bent())
    stiff = replace(laws, shrinkage=ds.LinearShrinkage(dry_m3_kg=4e-3, water_m3_kg=0.0))
    axes = {"thickness_m": np.array([3e-3])}
    done = {}
    for name, own in (("bent", laws), ("stiff", stiff)):
        history = ds.run(batch, components=own, nodes=10)
        done[name] = ds.judge_batch(history).doneness.batch.expected_s or np.inf
        mapped = ds.map_over(batch, axes, organism=None, nodes=10, components=own)
        if np.isfinite(done[name]):
            assert mapped.numbers["done_s"][0] == pytest.approx(done[name], rel=5e-3)
        spread = ds.spread(batch, slices=64, nodes=8, components=own)
        assert spread.batch.components.shrinkage == own.shrinkage
        np.testing.assert_allclose(
            spread.thickness_m.mean(), 3e-3, rtol=0.2
        )  # cut as thick, whatever the law makes of it later
    assert done["bent"] < done["stiff"]  # less far to go


def test_constant_properties_are_those_of_the_exact_series(batch):
    # Crank (1975) eq. 4.18, as in test_held_surface, by the one switch: one diffusivity, no shrinking, held faces
    laws = ds.constant_properties(batch, 3e-10, ds.HeldSurface(0.1))
    history = ds.run(batch, components=laws)
    np.testing.assert_allclose(history.thickness_m, 3e-3, rtol=1e-12)
    n = np.arange(400)[:, None]
    root = (2 * n + 1) * np.pi / 2.0
    fourier = 3e-10 * history.time_s[1:] / 1.5e-3**2
    series = (2.0 / root**2 * np.exp(-(root**2) * fourier)).sum(axis=0)
    first = history.slabs.initial_moisture_db[0]
    ratio = (history.mean_moisture_db[1:, 0] - 0.1) / (first - 0.1)
    assert np.abs(ratio - series).max() < 3e-4


@pytest.fixture(scope="module")
def by_film(batch):
    """Water given off in the first minutes by slices of one temperature, by the films of the two faces."""
    stage = replace(batch.stages[0], duration_s=300.0)
    short = replace(batch, stages=(stage,))

    def given_off(film):
        laws = replace(ds.constant_properties(batch, 3e-10), film_W_m2K=film)
        return ds.run(short, components=laws, nodes=16, interval_s=10.0, tolerance=1e-5)

    return {film: given_off(film) for film in (10.0, 40.0, (10.0, 40.0), (10.0, 10.0))}


def test_an_isothermal_slice_keeps_its_temperature(by_film):
    for history in by_film.values():
        assert np.abs(history.temperature_K - 333.15).max() < 1e-9
        assert np.all(history.heat_J_m2 == 0.0)
        assert history.energy_closure < 1e-9
        assert history.vapour_kg_m2[-1, 0] > 0.1 * history.vapour_kg_m2[1, 0] > 0.0


def test_each_face_has_its_own_film(by_film):
    np.testing.assert_allclose(by_film[10.0, 10.0].moisture_db, by_film[10.0].moisture_db, rtol=1e-12)
    # as long as neither face feels the other, each gives off half of what a slice with two like it does
    water = {film: history.vapour_kg_m2[:, 0] for film, history in by_film.items()}
    np.testing.assert_allclose(water[10.0, 40.0][1:], 0.5 * (water[10.0] + water[40.0])[1:], rtol=2e-3)
    lower, upper = by_film[10.0, 40.0].moisture_db[-1, [0, -1], 0]
    assert lower > 1.5 * upper


def test_faces_held_at_two_moistures_end_in_a_straight_line(batch):
    laws = ds.constant_properties(batch, 2e-9, ds.HeldSurface((0.5, 1.5)))
    history = ds.run(batch, components=laws, nodes=12)
    straight = 0.5 + history.slabs.nodes
    np.testing.assert_allclose(history.moisture_db[-1, :, 0], straight, atol=2e-4)


@pytest.mark.parametrize(
    ("slip", "says"),
    [
        (lambda: ds.HeldSurface((0.1, 0.1, 0.1)), "one number, or two for the lower and the upper face"),
        (lambda: ds.Components(film_W_m2K=(10.0, 0.0)), "film_W_m2K = 0.0 is outside 0.1 to 1000"),
        (
            lambda: ds.Components(shrinkage=1e-3),
            "shrinkage: ds.LinearShrinkage(...), or an object with volume(X)",
        ),
        (lambda: ds.LinearShrinkage(dry_m3_kg=1.0, water_m3_kg=0.0), "m3 per kg of dry solid are expected"),
        (lambda: ds.LinearShrinkage(dry_m3_kg=1e-3, water_m3_kg=-1.0), "m3 per kg of water are expected"),
    ],
)
def test_slips_are_said_in_one_line(slip, says):
    with pytest.raises(ds.InputError) as caught:
        slip()
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)
