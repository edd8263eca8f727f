"""Laws of a user's own: in one run, in many slices, over a map, on workers; the same answers for the same law."""

from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
import pytest

import dryingsim as ds
from dryingsim.batch.reading.batch_file import parse_batch
from dryingsim.model.build import recipe_of
from dryingsim.properties.diffusivity import LEAN_MEAT
from dryingsim.properties.water_activity import Recipe, water_activity

TEXT = """
[meat]
cut = "beef eye of round"
weight = "500 g"
thickness = "4 mm"
length = "10 cm"
width = "8 cm"
temperature = "4 degC"
[room]
temperature = "21 degC"
humidity = "45 %"
[[stage]]
air = "65 degC"
speed = "1 m/s"
duration = "8 h"
"""
OWN = dict(reference_m2_s=4e-10, energy_J_mol=25e3)


@dataclass(frozen=True)
class Rising:
    """A law in the form of textbooks, D0 exp(-E/RT), falling with X as meat's does."""

    reference_m2_s: float
    energy_J_mol: float
    half: float = 0.34
    convention: str = "dry_mass"

    def value(self, temperature, moisture_db):
        warm = np.exp(self.energy_J_mol / 8.314462618 * (1.0 / 333.15 - 1.0 / temperature))
        return self.reference_m2_s * (1.0 + self.half) * warm * moisture_db / (moisture_db + self.half)


def shipped(convention="dry_mass"):
    """Return the same law by the class that ships."""
    return replace(
        LEAN_MEAT,
        reference_m2_s=4e-10,
        activation_energy_J_mol=25e3,
        half_moisture_db=0.34,
        convention=convention,
    )


@pytest.fixture(scope="module")
def batch():
    return parse_batch(TEXT, "b")


# What differs between both is one derivative in the matrix of a W-method, by a difference: the steps, hardly.
@pytest.mark.parametrize("convention", ["dry_mass", "local"])
def test_the_same_law_dries_the_same(batch, convention):
    own = ds.run(batch, diffusivity=Rising(**OWN, convention=convention), nodes=8)
    same = ds.run(batch, diffusivity=shipped(convention), nodes=8)
    assert np.abs(own.mean_moisture_db - same.mean_moisture_db).max() < 1e-5
    assert np.abs(own.temperature_K - same.temperature_K).max() < 1e-3
    default = ds.run(batch, nodes=8)
    assert np.abs(own.mean_moisture_db - default.mean_moisture_db).max() > 0.02
    times = [ds.judge_batch(history).doneness.batch for history in (own, same)]
    assert times[0].expected_s == pytest.approx(times[1].expected_s, rel=1e-4)
    assert times[0].latest_s == pytest.approx(times[1].latest_s, rel=1e-3)


def test_history_names_the_law(batch):
    law = Rising(**OWN)
    assert (
        ds.run(batch, components=ds.Components(diffusivity=law), nodes=8).batch.components.diffusivity is law
    )
    assert ds.run(batch, nodes=8).batch == batch


def test_it_goes_to_many_slices_and_to_workers(batch):
    own, same = (ds.Components(diffusivity=law) for law in (Rising(**OWN), shipped()))
    # a law of a user's own has no half moisture that could be uncertain
    certain = {"half_moisture": ds.Uncertainty("lognormal", 0.0)}
    with ProcessPoolExecutor(1) as executor:
        found = ds.spread(batch, slices=64, nodes=8, components=own, executor=executor)
    assert found.batch.components == own
    expected = ds.spread(batch, certain, slices=64, nodes=8, components=same)
    by_default = ds.spread(batch, certain, slices=64, nodes=8)
    done = [spread.numbers["done_s"] for spread in (found, expected, by_default)]
    # times of notes interpolated on steps that differ by rounding: far below what slices differ by
    np.testing.assert_allclose(done[0], done[1], rtol=1e-3)
    both = np.isfinite(done[1]) & np.isfinite(done[2])
    assert np.abs(done[2][both] / done[1][both] - 1.0).max() > 0.02


def test_it_goes_over_a_map(batch):
    axes = {"thickness_m": np.array([2e-3, 3e-3])}
    own, same, default = (
        ds.map_over(batch, axes, organism=None, nodes=8, components=laws).numbers["done_s"]
        for laws in (
            ds.Components(diffusivity=Rising(**OWN)),
            ds.Components(diffusivity=shipped()),
            None,
        )
    )
    np.testing.assert_allclose(own, same, rtol=1e-3)
    assert np.all(np.abs(default[0] / same[0] - 1.0) > 0.02)


def test_a_long_edge_takes_it_too(batch):
    strips = replace(batch, meat=replace(batch.meat, width_m=0.012))
    own, same = (ds.run(strips, diffusivity=law, nodes=8) for law in (Rising(**OWN), shipped()))
    assert np.abs(own.mean_moisture_db - same.mean_moisture_db).max() < 1e-5


def test_what_learned_factor_does_to_any_law(batch):
    learned = ds.batch.schema.Learned(
        logs=("a",),
        corrections={"diffusivity": ds.batch.schema.Correction(value=np.log(0.5), uncertainty=0.1)},
    )
    taught = replace(batch, learned=learned)
    slow = ds.run(taught, diffusivity=Rising(**OWN), nodes=8)
    half = ds.run(batch, diffusivity=Rising(reference_m2_s=2e-10, energy_J_mol=25e3), nodes=8)
    np.testing.assert_allclose(slow.mean_moisture_db, half.mean_moisture_db, rtol=1e-9)
    # what is judged without relying on what was learned keeps a law that was learned to be slower
    assert ds.judge_batch_lethality(slow).grade == ds.judge_batch_lethality(half).grade


def test_no_file_holds_it(batch):
    with pytest.raises(ds.InputError, match="components are Python objects, which no batch file can hold"):
        replace(batch, components=ds.Components(diffusivity=Rising(**OWN))).to_toml()


class Mutable(list):
    """No key."""

    convention = "local"

    def value(self, temperature, moisture_db):
        return 1e-10


@pytest.mark.parametrize(
    ("law", "says"),
    [
        (
            5e-10,
            "diffusivity: ds.Diffusivity(...), or an object with value(T, X) and convention is expected, not float",
        ),
        (Rising, "not the class Rising"),
        (Mutable(), "Mutable cannot be hashed; make it a frozen dataclass"),
        (
            Rising(**OWN, convention="fitted"),
            "diffusivity, convention = 'fitted': 'dry_mass' or 'local' is expected",
        ),
    ],
)
def test_what_is_no_law_is_said_in_one_line(law, says):
    with pytest.raises(ds.InputError) as caught:
        ds.Components(diffusivity=law)
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)


def test_results_and_report_name_it(batch):
    from dryingsim.history.provenance import attributes
    from dryingsim.show.report.sources import assumptions

    history = ds.run(batch, diffusivity=Rising(**OWN), nodes=8)
    named = "Rising(reference_m2_s=4e-10, energy_J_mol=25000.0"
    assert history.batch.components.replaced["diffusivity"].startswith(named)
    assert attributes(history.batch, "run")["components"].startswith(f"diffusivity = {named}")
    rows = dict(assumptions(history))["How the meat dries"]
    assert any(row.value.startswith(named) and "given in Python" in row.source for row in rows)
    assert ds.demo_batch().components.replaced == {}
    assert "components" not in attributes(ds.demo_batch(), "run")


@dataclass(frozen=True)
class AsMeat:
    """Meat's own curve of one recipe, as a law of a user's own."""

    protein: float

    def water_activity(self, temperature, moisture_db):
        return water_activity(moisture_db, temperature, Recipe(protein=self.protein))


def test_meats_curve_as_a_law_of_ones_own_changes_nothing(batch):
    default = ds.run(batch, nodes=10)
    law = AsMeat(recipe_of(batch)[0].protein)
    own = ds.run(batch, components=ds.Components(sorption=law), nodes=10)
    # the table misses its curve by 1e-6; slopes are differences, in a matrix that may be rough
    assert np.abs(own.mean_moisture_db - default.mean_moisture_db).max() < 2e-5
    assert np.abs(own.temperature_K - default.temperature_K).max() < 5e-3
    answers = [ds.judge_batch(history).doneness for history in (own, default)]
    assert answers[0].batch.expected_s == pytest.approx(answers[1].batch.expected_s, rel=1e-4)
    assert answers[0].stop.weight_kg == pytest.approx(answers[1].stop.weight_kg, rel=1e-4)


@dataclass(frozen=True)
class Oswin:
    """Oswin's equation: X = A (a/(1 - a))^B."""

    a: float
    b: float = 0.4

    def water_activity(self, temperature, moisture_db):
        ratio = (moisture_db / self.a) ** (1.0 / self.b) + 0.0 * temperature
        return ratio / (1.0 + ratio)


def test_sorption_goes_to_many_slices_and_over_a_map(batch):
    binding, looser = (ds.Components(sorption=Oswin(a)) for a in (0.14, 0.12))
    axes = {"thickness_m": np.array([2e-3, 3e-3])}
    own, other = (
        ds.map_over(batch, axes, organism=None, nodes=8, components=laws).numbers["done_s"]
        for laws in (binding, looser)
    )
    assert np.all(own < 0.97 * other)
    own, other = (
        ds.spread(batch, slices=64, nodes=8, components=laws).numbers["done_s"][1]
        for laws in (binding, looser)
    )
    assert np.all((own < other)[np.isfinite(other)])
    one = ds.run(batch, components=binding, nodes=8)
    level = one.water_activity[-1]
    np.testing.assert_allclose(level, Oswin(0.14).water_activity(300.0, one.moisture_db[-1]), rtol=1e-9)


def test_a_law_that_is_none_of_sorption_is_said_in_one_line():
    with pytest.raises(
        ds.InputError, match=r"^sorption: an object with water_activity\(T, X\) is expected, not Rising$"
    ):
        ds.Components(sorption=Rising(**OWN))


def test_a_given_film_holds_whatever_the_air_does(batch):
    def wet_face(h, speed):
        stage = replace(batch.stages[0], duration_s=240.0)
        stage = replace(stage, air=replace(stage.air, speed_m_s=speed))
        laws = ds.Components(film_W_m2K=h)
        return ds.run(replace(batch, stages=(stage,)), components=laws, nodes=8, interval_s=1.0)

    slow, fast = (wet_face(20.0, speed) for speed in (0.3, 3.0))
    # all that is left of the speed is the vapour film per heat film, at another film temperature: none
    np.testing.assert_allclose(slow.moisture_db, fast.moisture_db, rtol=1e-9)
    # a cold wet face takes heat in proportion to h (radiation aside): twice the film, not quite twice the heat
    double = wet_face(40.0, 1.0).heat_J_m2[5, 0] / slow.heat_J_m2[5, 0]
    assert 1.5 < double < 2.0
    own = ds.Components(film_W_m2K=20.0)
    axes = {"speed_m_s": np.array([0.3, 3.0])}
    done = ds.map_over(batch, axes, organism=None, nodes=8, components=own).numbers["done_s"]
    assert done[0] == pytest.approx(done[1], rel=1e-9)
    found = ds.spread(batch, slices=64, nodes=8, components=own).numbers["done_s"][1]
    thin = ds.spread(batch, slices=64, nodes=8, components=ds.Components(film_W_m2K=5.0)).numbers["done_s"][1]
    assert np.all((found < thin)[np.isfinite(thin)])


def test_a_film_that_cannot_be_is_said(batch):
    with pytest.raises(ds.InputError, match=r"Components, film_W_m2K = 0.0 is outside 0.1 to 1000"):
        ds.Components(film_W_m2K=0.0)


def test_a_given_film_needs_air_as_the_stages_state_it(batch):
    stack = ds.batch.catalog.appliances.all_appliances()["stacked dehydrator"].appliance("stack")
    with pytest.raises(ds.InputError, match="a given film needs air as the stages state it: no appliance"):
        replace(batch, appliance=stack, components=ds.Components(film_W_m2K=20.0))
