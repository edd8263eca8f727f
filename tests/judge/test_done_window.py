"""The window of done and the weight to stop at: against runs of their own, against many runs, against draws."""

from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air
from made_history import in_stack

import dryingsim as ds
from dryingsim.batch.catalog.drying_evidence import between_studies
from dryingsim.batch.schema import Correction, Learned
from dryingsim.batch.uncertainties import activity_error_of
from dryingsim.batch.uncertainty import Uncertainty
from dryingsim.judge.done_window import computed_level, course_of, first_time_down_to, windows
from dryingsim.judge.doneness import judge_batch
from dryingsim.judge.stop_weight import stop_level
from dryingsim.model.build import recipe_of
from dryingsim.properties.diffusivity import LEAN_MEAT
from dryingsim.properties.water_activity import (
    REFERENCE_TEMPERATURE,
    Recipe,
    equilibrium_moisture,
    water_activity,
)


def one_class(batch, thickness_m=0.005):
    """The batch with slices all alike."""
    cut = replace(batch.meat.classes[1], thickness_m=thickness_m, share=1.0)
    return replace(batch, meat=replace(batch.meat, classes=(cut,)))


def in_air():
    """Slices of one thickness in dry air, dried to their target and beyond by the clock."""
    batch = one_class(warm_air())
    return replace(batch, stages=(replace(batch.stages[0], until=None, duration_s=8 * 3600.0),))


CASES = {"air": in_air, "appliance": lambda: one_class(in_stack(10.0))}


@pytest.fixture(scope="module", params=CASES)
def history(request):
    return ds.run(CASES[request.param]())


@pytest.mark.parametrize("factor", [0.5, 2.0])
def test_time_goes_with_the_diffusivity_as_in_a_run_of_its_own(history, factor):
    target = history.batch.targets.water_activity
    done = first_time_down_to(history.time_s, history.equalised_water_activity[:, 0], target)
    course = course_of(history, target)
    inner, outer = (np.interp(done, course.time_s, part[:, 0]) for part in (course.inner_s, course.outer_s))
    assert inner + outer == pytest.approx(done, rel=1e-9)
    meat = replace(LEAN_MEAT, reference_m2_s=factor * LEAN_MEAT.reference_m2_s)
    own = ds.run(history.batch, nodes=12, diffusivity=meat)
    slower = judge_batch(own).doneness.batch.expected_s
    assert slower is not None
    assert inner / factor + outer == pytest.approx(slower, rel=0.12)  # as the module's head says
    assert abs(slower / done - 1.0) > 0.2  # else nothing was shown


@pytest.mark.parametrize("factor", [1.0 / 3.0, 4.0])
def test_the_half_moisture_may_be_left_out(history, factor):
    """As the module's head says: with the diffusivity along, by their covariance, it hardly moves the time."""
    along = factor ** between_studies().along_half_moisture
    meat = replace(
        LEAN_MEAT,
        half_moisture_db=factor * LEAN_MEAT.half_moisture_db,
        reference_m2_s=along * LEAN_MEAT.reference_m2_s,
    )
    own = judge_batch(ds.run(history.batch, nodes=12, diffusivity=meat)).doneness.batch.expected_s
    assert own == pytest.approx(judge_batch(history).doneness.batch.expected_s, rel=0.10)


def test_the_window_is_that_of_many_runs(history):
    """Against `spread` with everything in it: 12 % of the window's own, and 3.3 % twice of 512 batches drawn."""
    batch, window = history.batch, judge_batch(history).doneness.batch
    drawn = ds.spread(batch, slices=1024, batches=512, seed=2, nodes=12, meant=history)
    error = activity_error_of(batch)
    off = np.random.default_rng(1).normal(0.0, error.deviation, 512)[drawn.sample.batch]
    level = computed_level(batch.targets.water_activity, off) - batch.targets.water_activity
    above, at, below = np.minimum(drawn.numbers["done_s"][:3], 1e6)  # at the target and its error either side
    share = np.abs(level) / error.half_width
    times = at + share * np.where(level > 0.0, above - at, below - at)
    for end, quantile in ((window.earliest_s, 0.05), (window.latest_s, 0.95)):
        many = float(np.quantile(times, quantile, method="inverted_cdf"))
        assert many < history.time_s[-1]  # spread follows no slice longer
        assert end == pytest.approx(many, rel=0.186)


def test_slices_are_followed_beyond_the_end_as_they_go_on():
    batch = in_air()
    whole = ds.run(batch, nodes=12)
    target = batch.targets.water_activity
    done = first_time_down_to(whole.time_s, whole.equalised_water_activity[:, 0], target)
    short = whole.up_to(done)
    level = np.array([target - 0.04])
    beyond = float(course_of(short, target).reached_s(0, level)[0])
    own = first_time_down_to(whole.time_s, whole.equalised_water_activity[:, 0], target - 0.04)
    assert own > 1.1 * done
    assert beyond == pytest.approx(own, rel=0.03)  # the slices' own law, without what lies inside them


def test_what_was_learned_of_a_kitchen_narrows_the_window(history):
    target, everything = history.batch.targets.water_activity, np.ones(history.kind.size, dtype=bool)
    learned = Learned(logs=("log",), corrections={"diffusivity": Correction(value=0.0, uncertainty=0.1)})
    known = replace(history, batch=replace(history.batch, learned=learned))
    wide, narrow = (windows(one, [everything], target)[0] for one in (history, known))
    assert narrow.latest_s - narrow.earliest_s < 0.7 * (wide.latest_s - wide.earliest_s)


def test_what_a_batch_file_states_of_its_kitchen_counts(history):
    target, everything = history.batch.targets.water_activity, np.ones(history.kind.size, dtype=bool)

    def width(**stated):
        batch = replace(history.batch, uncertainties=stated)
        window = windows(replace(history, batch=batch), [everything], target)[0]
        return window.latest_s - window.earliest_s

    plain = width()
    assert width(diffusivity=Uncertainty("lognormal", 0.1)) < 0.7 * plain
    assert width(setpoint=Uncertainty("uniform", 15.0)) > 1.1 * plain
    # of two that are as wide the window is the same, whatever their shape
    pair = Uncertainty("uniform", 0.3), Uncertainty("normal", 0.3 / 3**0.5)
    uniform, normal = (width(diffusivity=one) for one in pair)
    assert uniform == pytest.approx(normal, rel=1e-9)


def test_a_guessed_recipe_widens_the_window_and_lowers_the_weight(history):
    guess = replace(
        history, batch=replace(history.batch, marinade=replace(history.batch.marinade, known=False))
    )
    sure, unsure = judge_batch(history).doneness, judge_batch(guess).doneness
    assert unsure.batch.earliest_s < sure.batch.earliest_s
    assert unsure.stop.water_activity < sure.stop.water_activity - 0.1
    assert sure.stop.weight_kg < sure.weight_kg
    assert unsure.batch.expected_s == sure.batch.expected_s


@pytest.mark.parametrize("target", [0.85, 0.78, 0.72])  # above the step of salt, over it, and below
def test_at_the_weight_to_stop_at_19_batches_in_20_are_dry(target):
    """Draw raw water, marinade, scale and error of the curve, and weigh: the drawn meat's own recipe tells how dry it is."""
    batch, rng, draws = in_air(), np.random.default_rng(7), 2000
    nominal, solids, _ = recipe_of(batch)
    sure = stop_level(batch, target)
    weight_kg = (
        batch.meat.weight_kg * solids * (1.0 + equilibrium_moisture(sure, REFERENCE_TEMPERATURE, nominal))
    )
    z_of_draws, recipes, dry_kg = rng.standard_normal((draws, 4)), [], np.empty(draws)
    for draw, z in enumerate(z_of_draws):
        raw, taken_up = batch.meat.composition, np.exp(0.15 * z[1])
        water = raw.water + 0.008 * z[0]
        others = (1.0 - water) / (1.0 - raw.water)
        meat = replace(
            raw, water=water, protein=raw.protein * others, fat=raw.fat * others, ash=raw.ash * others
        )
        marinade = replace(
            batch.marinade,
            salt_kg_kg=taken_up * batch.marinade.salt_kg_kg,
            sugar_kg_kg=taken_up * batch.marinade.sugar_kg_kg,
        )
        recipe, solids, _ = recipe_of(
            replace(batch, meat=replace(batch.meat, composition=meat), marinade=marinade)
        )
        recipes.append(recipe)
        dry_kg[draw] = batch.meat.weight_kg * solids
    moisture = weight_kg * (1.0 + 0.005 * z_of_draws[:, 2]) / dry_kg - 1.0
    of_draws = Recipe(
        *(np.array([getattr(each, name) for each in recipes]) for name in ("protein", "salt", "sugar"))
    )
    curve = water_activity(moisture, REFERENCE_TEMPERATURE, of_draws)
    dry = curve <= computed_level(target, activity_error_of(batch).deviation * z_of_draws[:, 3])
    # three standard errors of 2000 draws are 0.015, and 3 of the 1024 the weight is found with 0.003
    assert np.mean(dry) == pytest.approx(0.95, abs=0.018)


def test_where_salt_crystallises_much_of_the_time_hangs_on_it(history):
    def share(target):
        targets = replace(history.batch.targets, water_activity=target)
        return judge_batch(
            replace(history, batch=replace(history.batch, targets=targets))
        ).doneness.salt_step_share

    assert share(0.85) is None
    assert 0.1 < share(0.78) < 0.5
    plain = replace(history.batch, marinade=replace(history.batch.marinade, salt_kg_kg=0.0))
    targets = replace(plain.targets, water_activity=0.78)
    assert (
        judge_batch(replace(history, batch=replace(plain, targets=targets))).doneness.salt_step_share is None
    )
