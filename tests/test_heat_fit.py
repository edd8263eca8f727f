"""The fit of heat resistance: its pieces, and that the committed result is its own."""

import dataclasses

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import multivariate_normal, norm

from dryingsim.judge.heat_model import from_table, heat_resistance
from dryingsim.judge.heat_resistance import reduction
from validation.data import table
from validation.fits.heat import build, challenge, evidence, laws, resistance, verdicts
from validation.fits.heat.result_file import text_of

ROWS = evidence.d_values()
OUTER = np.array([*np.log([0.4, 0.2, 0.1, 0.02, 0.4, 0.15]), np.log(0.07), -4.0])


def test_every_row_says_where_it_comes_from_and_recalled_ones_take_no_part():
    for name in (evidence.FILE, "heat_rapid_wet_evidence", "heat_free_decline"):
        for row in table(name).rows:
            assert row["citation"]
            assert row["status"]
    for row in table(evidence.FILE).rows:
        assert row["laboratory"]
        assert ("MEMORY" in row["status"]) <= row["use"].startswith("out: from memory")
    assert len(ROWS) + sum(evidence.left_out().values()) + 3 == len(table(evidence.FILE).rows)


def brute(rows, outer):
    """Mean and covariance of the rows, coefficients integrated out, one entry after the other."""
    s = dict(zip(resistance.SPREADS, np.exp(outer[:6]), strict=True))
    arrays = resistance.Arrays.of(rows)
    x, near = resistance.design(arrays, outer[6:])
    v = np.zeros((len(rows), len(rows)))
    for i, a in enumerate(rows):
        for j, b in enumerate(rows):
            food = a.study == b.study and a.matrix == b.matrix
            if food:
                v[i, j] += s["dryness"] ** 2 * near[i] * near[j]
            if "ratio" in (a.kind, b.kind):
                continue
            v[i, j] += s["laboratory"] ** 2 * (a.laboratory == b.laboratory) + s["matrix"] ** 2 * food
            if a.study == b.study and a.organism == b.organism:
                v[i, j] += s["study"] ** 2 + s["slope"] ** 2 * a.t * b.t
        v[i, i] += 0.01 if a.kind == "ratio" else s["rest"] ** 2
    mean = x @ resistance.PRIOR_MEAN
    return mean, v + x @ np.diag(resistance.PRIOR_SD**2) @ x.T


def test_the_marginal_likelihood_is_that_of_a_normal():
    rows = [row for row in ROWS if row.study in ("Cookies", "Carlson2005", "OrtaRamirez2005", "Kotrola1997")]
    mean, cov = brute(rows, OUTER)
    y = np.array([row.log10_d for row in rows])
    expected = multivariate_normal.logpdf(y, mean, cov)
    assert resistance.solve(resistance.Arrays.of(rows), OUTER).log_likelihood == pytest.approx(
        expected, abs=1e-6
    )


@pytest.mark.parametrize("kind", ["at_most", "at_least"])
def test_a_censored_value_counts_with_the_probability_of_its_side(kind):
    rows = [row for row in ROWS if row.study == "Boyle1990"]
    rows.append(
        dataclasses.replace(rows[0], study="other", laboratory="other", matrix="m", t=10.0, kind=kind)
    )
    mean, cov = brute(rows, OUTER)
    y = np.array([row.log10_d for row in rows])

    def density(value):
        return multivariate_normal.pdf(np.append(y[:-1], value), mean, cov)

    ends = (-30.0, y[-1]) if kind == "at_most" else (y[-1], 30.0)
    expected = np.log(
        quad(density, *ends, points=[float(mean[-1])] if ends[0] < mean[-1] < ends[1] else None)[0]
    )
    found = resistance.solve(resistance.Arrays.of(rows), OUTER)
    assert found.log_likelihood == pytest.approx(expected, abs=1e-4)
    without = resistance.solve(resistance.Arrays.of(rows[:-1]), OUTER)
    i = resistance.COEFFICIENTS.index("L. monocytogenes")
    j = resistance.COEFFICIENTS.index("slope")
    gain = np.zeros(len(resistance.COEFFICIENTS))
    gain[i], gain[j] = 1.0, -10.0
    moved = gain @ (found.mean - without.mean)
    assert (moved < 0.0) == (kind == "at_most")


def test_known_parameters_are_found_again():
    rng = np.random.default_rng(8)
    rows = [row for row in ROWS if row.kind == "value"]
    arrays = resistance.Arrays.of(rows)
    truth = dict(
        zip(
            resistance.COEFFICIENTS,
            [0.3, 0.1, 0.4, 0.6, 0.5, 0.18, -0.1, 0.1, 2.0, 0.0, 0.1, 0.3],
            strict=True,
        )
    )
    x, near = resistance.design(arrays, OUTER[6:])
    cov = resistance.covariance(arrays, np.exp(OUTER[:6]), near)
    y = rng.multivariate_normal(x @ np.array(list(truth.values())), cov)
    made = [dataclasses.replace(row, log10_d=float(v)) for row, v in zip(rows, y, strict=True)]
    found = resistance.fit(made)
    for name in ("Salmonella", "E. coli", "L. monocytogenes", "slope", "rise", "linear", "cure"):
        assert abs(found[name] - truth[name]) < 3.0 * found.error(name)
    assert abs(np.log(found.spreads["rest"] / 0.15)) < 3.0 * found.spread_errors["rest"]


def test_the_committed_file_is_what_the_fit_gives():
    own, again = heat_resistance(), build.built(resistance.fit(ROWS))
    assert own.names == again.names
    # the last digits of an optimum differ between machines: a tenth of a standard error at the most
    assert np.abs(own.mean - again.mean) == pytest.approx(
        0.0, abs=0.1 * float(np.sqrt(np.diag(own.covariance)).min())
    )
    for name, value in again.between.items():
        assert own.between[name] == pytest.approx(value, rel=0.02)
    assert own.slow == pytest.approx(again.slow, rel=1e-4)


def test_a_model_survives_its_file():
    import tomllib

    own = heat_resistance()
    again = from_table(tomllib.loads(text_of(own, "evidence", "challenges", "dips")))
    assert again.mean == pytest.approx(own.mean, rel=1e-6)
    assert again.covariance == pytest.approx(own.covariance, rel=1e-6, abs=1e-12)
    assert (again.drying, again.ceilings, again.between) == (own.drying, own.ceilings, own.between)


def test_a_law_of_a_constant_has_the_likelihood_of_a_normal():
    one = next(one for one in challenge.challenges() if one.row == 1)
    row = laws.Features(one, np.zeros(laws.HEATS), np.zeros(laws.HEATS), 0.9, 3.0, 1.0, 1.0)
    found = laws.scored("constant alone", [row])
    p = {name: values[:, 0] for name, values in found.params.items()}
    small = (np.abs(p["constant"] - 2.0) < 1.0) & (
        p["ln_study"] < 0.0
    )  # far from the ceiling of what is counted
    wide = np.hypot(np.exp(p["ln_study"]), np.exp(p["ln_row"]))
    expected = norm.logpdf(one.low, p["constant"], wide)
    ratio = np.exp(p["ln_study"] - p["ln_row"])
    smooth = small & (ratio < 1.5) & (expected > -8.0)  # nine nodes suffice there
    assert smooth.sum() > 50
    assert found.all_rows[0][smooth] == pytest.approx(expected[smooth], abs=0.02)


def test_leaks_and_errors_of_instruments_change_held_humidity_only():
    rows = {one.row: one for one in challenge.challenges()}
    for row in (64, 91):
        assert challenge.holds_humidity(rows[row])
        assert not challenge.holds_humidity(challenge.leaking(rows[row]))
    assert challenge.leaking(rows[1]).condition == rows[1].condition
    held = challenge.drier(rows[64]).condition.stages[0].air.humidity.value
    assert held == pytest.approx(rows[64].condition.stages[0].air.humidity.value - 1.0)
    first = challenge.drier(rows[91]).condition.stages[0].air
    assert first.humidity.value == pytest.approx(0.631 - 0.05)


def test_a_smokehouse_passes_where_it_was_measured_and_dry_air_never():
    model = heat_resistance()
    rows = {one.row: one for one in challenge.challenges()}

    def bound(one):
        own = challenge.sums(one, model)
        return reduction(
            own.heat, one.organism, one.matrix, before=own.before, drying=own.drying, model=model
        )

    smoked = bound(rows[95])
    assert smoked.lower >= rows[95].target
    assert verdicts.mixed(smoked, bound(challenge.leaking(rows[95]))).lower < rows[95].target
    for row in (3, 16, 35, 37, 79):
        assert bound(rows[row]).lower < rows[row].target
    assert bound(rows[10]).lower >= rows[10].target  # heated through in liquid, then dried
