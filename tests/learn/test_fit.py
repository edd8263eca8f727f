"""What a fit finds: known truths, slips, several logs; and its normal posterior against sampling."""

from dataclasses import replace

import numpy as np
import pytest
from made_log import BATCH, HOURS, KEYS, PRIORS, TRUE, fitted, log_text, true_course

from dryingsim.answer import Answer
from dryingsim.batch.reading.weigh_in_log import parse_weigh_ins
from dryingsim.batch.schema import ThicknessClass
from dryingsim.errors import InputError
from dryingsim.judge.stop_weight import ready_moisture
from dryingsim.learn.estimates import estimates, learned_from, misfits, together
from dryingsim.learn.fit import fit
from dryingsim.learn.fitted_run import simulate_runs
from dryingsim.learn.forecast import down_to_s, forecast
from dryingsim.learn.problem import logged_batch_of
from dryingsim.learn.readings import weight_of_run
from dryingsim.model.build import recipe_of
from dryingsim.simulate import run

HOUR = 3600.0


@pytest.fixture(scope="module")
def whole():
    return fitted(log_text())


@pytest.fixture(scope="module")
def early():
    return fitted(log_text(HOURS[:3]))


def test_the_truth_is_found_to_what_is_claimed(whole):
    size = np.sqrt(np.diag(whole.spread(0)))
    assert np.all(
        np.abs(whole.values(0) - TRUE) < 3.0 * size
    )  # fails by chance for one log in a hundred; the seed is set
    assert size[0] < 0.15 * PRIORS.total[0]
    assert whole.widened == 1.0
    assert not whole.slips


def test_the_likeliest_is_at_the_lowest_and_found_in_a_few_sets_of_runs():
    sets = []

    def counted(*asked):
        sets.append(asked)
        return simulate_runs(*asked)

    found = fit([logged_batch_of(BATCH, parse_weigh_ins(log_text()))], PRIORS, simulate=counted)
    assert len(sets) <= 5
    residuals, slopes = found.problem.residuals(found.z)
    # what another step of Gauss and Newton would gain, against the share that ends the search
    step = np.linalg.lstsq(slopes, -residuals, rcond=None)[0]
    total, ahead = residuals @ residuals, residuals + slopes @ step
    assert total - ahead @ ahead < 2e-3 * (total + 4.0)


def test_more_weighings_leave_less_open(whole, early):
    assert np.all(np.diag(whole.spread(0)) <= np.diag(early.spread(0)) * 1.001)
    assert np.all(np.diag(early.spread(0)) <= PRIORS.total**2 * 1.001)


def test_derivatives_are_those_of_what_is_squared(early):
    problem, z = early.problem, early.z
    part = problem.parts[0]
    for j in (
        0,
        PRIORS.mean.size,
        problem.size - 1,
    ):  # the diffusivity, what differs between batches, the weight's factor
        step = np.zeros(problem.size)
        step[j] = 0.05
        ahead, behind = problem.misses(part, z + step)[0], problem.misses(part, z - step)[0]
        slope = problem.misses(part, z)[1][:, j]
        # differences over a quarter of a deviation against a twentieth: curvature, and the engine's own error over 0.1
        assert (ahead - behind) / 0.1 == pytest.approx(slope, abs=0.05 * np.abs(slope).max() + 1.0)


def test_the_posterior_is_that_of_sampling(early):
    """Importance sampling: draws of the fit's own normal distribution, a little widened, weighed by the exact density."""
    problem, part = early.problem, early.problem.parts[0]
    rng, count, wide = np.random.default_rng(2), 400, 1.3
    root = np.linalg.cholesky(early.covariance)
    normal = rng.standard_normal((count, problem.size)) * wide
    z = early.z + normal @ root.T
    drawn = -0.5 * np.sum((normal / wide) ** 2, axis=1)
    logs = problem.log_density(part, z) - drawn
    weight = np.exp(logs - logs.max())
    weight /= weight.sum()
    effective = 1.0 / np.sum(weight**2)
    assert effective > 100
    values = np.stack([problem.values(part, one) for one in z])
    mean = weight @ values
    size = np.sqrt(weight @ (values - mean) ** 2)
    ours = np.sqrt(np.diag(early.spread(0)))
    # three standard errors of the sampling, for mean and deviation; and a tenth of a deviation for what is not normal
    error = 3.0 / effective**0.5
    assert np.all(np.abs(mean - early.values(0)) < (error + 0.1) * ours)
    assert size == pytest.approx(ours, rel=error / 2.0**0.5 + 0.1)


def test_the_time_until_done_is_that_of_sampling(early):
    ahead = forecast(early)
    rng, problem, part = np.random.default_rng(3), early.problem, early.problem.parts[0]
    z = rng.multivariate_normal(early.z, early.covariance, size=200)
    values = np.stack([problem.values(part, one) for one in z])
    times = np.linspace(0.0, 14 * HOUR, 141)
    fitted_runs = problem.simulate(part.logged.batch, KEYS, values, times)
    done = np.array([down_to_s(fitted_run, 0.85) for fitted_run in fitted_runs])
    # 200 draws know a 5 % quantile to some 12 % of the width
    width = ahead.high_s - ahead.low_s
    assert np.quantile(done, [0.05, 0.5, 0.95]) == pytest.approx(
        [ahead.low_s, ahead.done_s, ahead.high_s], abs=0.12 * width
    )


def test_two_weighings_tell_when_it_is_done():
    ahead = forecast(fitted(log_text(HOURS[:2])))
    done = down_to_s(true_course(), 0.85)
    assert ahead.low_s < done < ahead.high_s
    assert ahead.done_s == pytest.approx(done, rel=0.2)
    assert ahead.last_s < ahead.done_s


def test_weight_and_time_when_done(whole):
    ahead, fitted_run = forecast(whole), true_course()
    done = down_to_s(fitted_run, 0.85)
    weight = np.interp(done, fitted_run.time_s, fitted_run.weight_kg(np.ones(1, dtype=bool)))
    assert ahead.low_s < done < ahead.high_s
    assert ahead.high_s - ahead.low_s < 0.15 * done
    assert ahead.weight_low_kg < weight < ahead.weight_high_kg
    assert ahead.earliest_s < ahead.done_s < ahead.latest_s
    assert ahead.surely_kg < ahead.weight_kg


def test_a_log_lighter_than_slices_taken_off_as_ready_shows_that_they_stayed_in():
    ready = 1.0 + ready_moisture(BATCH)
    share = ready * recipe_of(BATCH)[1] * BATCH.meat.weight_kg / 0.719  # of what was laid on
    assert 0.38 < share < 0.44
    for last, stayed_in in ((0.99, False), (0.9, True)):
        text = f"time, weight [g]\n0:00, 719\n3:00, 400\n7:00, {719.0 * last * share:.0f}\n"
        logged = logged_batch_of(BATCH, parse_weigh_ins(text))
        assert logged.stayed_in is stayed_in
        assert (logged.batch.take_off == "together") is stayed_in
        # what is weighed late follows: as it was taken off, or drier and drier
        last_kg = weight_of_run(true_course(), logged.readings.readings[-1], logged.batch)[-1]
        assert bool(last_kg < 0.97 * share * 0.719) is stayed_in


def test_slices_taken_off_as_ready_are_weighed_as_a_run_weighs_them():
    """Uneven slices: the thin ones keep what they hold when they are ready, so all weigh more than if all are left in."""
    kinds = (ThicknessClass(thickness_m=3e-3, share=0.5), ThicknessClass(thickness_m=7e-3, share=0.5))
    batch = replace(BATCH, meat=replace(BATCH.meat, classes=kinds))
    fits = {
        way: fitted(log_text(HOURS[:2]), batch=replace(batch, take_off=way))
        for way in ("as ready", "together")
    }
    as_ready, together = (forecast(fits[way]) for way in ("as ready", "together"))
    assert as_ready.done_s == together.done_s
    assert as_ready.surely_kg > 1.02 * together.surely_kg
    assert as_ready.weight_kg > 1.02 * together.weight_kg
    answer = Answer(run(batch))
    # the shares of what was loaded: two percent for the water of the raw meat, which the log leaves open
    assert as_ready.surely_kg / as_ready.laid_on_kg == pytest.approx(
        answer.doneness.stop.weight_kg / answer.loaded_kg, rel=0.02
    )


def test_a_slip_is_named_and_left_out(whole):
    lines = log_text().splitlines()
    cells = lines[4].split(",")
    lines[4] = f"{cells[0]}, {int(cells[1]) + 60},{cells[2]}"
    found = fitted("\n".join(lines))
    slip = misfits(found)
    assert [one.reading.line for one in slip] == [5]
    assert slip[0].expected == pytest.approx(slip[0].reading.value - 0.060, abs=5e-3)
    assert found.values(0) == pytest.approx(
        whole.values(0), abs=1.0 * np.sqrt(np.diag(whole.spread(0))).max()
    )


def test_what_the_log_cannot_tell():
    rows = {one.key: one for one in estimates(fitted("time, weight [g]\n0:00, 700\n"))}
    assert not any(one.determined for one in rows.values())
    assert rows["diffusivity"].after == pytest.approx(rows["diffusivity"].before, rel=1e-3)


def test_without_a_thermometer_the_setting_stays_open(early):
    found = fitted("\n".join(line.rsplit(",", 1)[0] for line in log_text(HOURS[:3]).splitlines()))
    left, known = ({one.key: one.left for one in estimates(one)}["setpoint"] for one in (found, early))
    assert left > 0.7 > 0.4 > known
    assert all(abs(value) > 0.8 for *_, value in together(found))


def test_two_logs_of_one_kitchen_say_more(early):
    logged_batches = [
        logged_batch_of(BATCH, parse_weigh_ins(log_text(HOURS[:3], seed), f"log {seed}")) for seed in (4, 5)
    ]
    both = fit(logged_batches, PRIORS)
    one, two = (dict(learned_from(found).corrections) for found in (early, both))
    assert two["diffusivity"].uncertainty < one["diffusivity"].uncertainty
    own = PRIORS.between[PRIORS.keys.index("diffusivity")]
    assert (
        two["diffusivity"].uncertainty > own > 0.05
    )  # another piece of meat differs, however many were dried before
    assert learned_from(both).logs == ("log 4", "log 5")


def test_parts_are_known_by_their_fall_alone():
    fitted_run = true_course()
    wet = 1.0 + fitted_run.moisture_db[:, 0]
    share = np.interp(HOUR * np.array([0.0, 1.0, 2.0, 4.0]), fitted_run.time_s, wet / wet[0])
    lines = [f"{h}:00, {31.7 * s:.1f}, first" for h, s in zip((0, 1, 2, 4), share, strict=True)]
    found = fitted("time, weight [g], slice\n" + "\n".join(lines))
    assert abs(found.values(0)[0] - TRUE[0]) < 3.0 * np.sqrt(found.spread(0)[0, 0])
    assert forecast(found).laid_on_kg == pytest.approx(
        0.719, abs=0.01
    )  # of the batch file: the batch was not weighed


def test_places_that_are_not_there():
    with pytest.raises(InputError, match="line 2: tray 1, but one thickness has no appliance"):
        fitted("time, weight [g], tray\n0:00, 700, 1\n")
    half = replace(BATCH.meat.classes[0], share=0.5)
    thick = replace(BATCH.meat, classes=(half, replace(half, thickness_m=6e-3)))
    with pytest.raises(InputError, match="how thick"):
        fitted("time, weight [g], slice\n0:00, 30, A\n", batch=replace(BATCH, meat=thick))


def test_a_first_weight_of_another_unit_or_with_trays_is_told():
    with pytest.raises(
        InputError, match=r"line 2: 25 g at the start, but the batch file lays \d+ g .*column 'tare'"
    ):
        fitted("time, weight [g]\n0:00, 25\n1:00, 20\n")
    with pytest.raises(
        InputError, match=r"line 2: 50\.00 lb at the start, but the batch file lays 1\.\d+ lb on"
    ):
        fitted("time, weight [lb]\n0:00, 50\n1:00, 40\n", batch=replace(BATCH, display="us"))
