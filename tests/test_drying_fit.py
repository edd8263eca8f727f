"""The fit of the diffusivity to published drying: its pieces, and that the committed result is its own."""

import tomllib
from dataclasses import fields, replace

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import multivariate_normal
from scipy.stats import t as student

from dryingsim.constants import ZERO_CELSIUS
from dryingsim.model.slab import Interior
from dryingsim.properties.diffusivity import LEAN_MEAT, Diffusivity
from validation.fits.drying import activity_errors, evidence, laws, outcome, report, simulation
from validation.fits.drying.likelihood import Seen, between, studies_of, study_log
from validation.fits.drying.posterior import Fit
from validation.setups import plain_slabs

RUNS, ROWS = evidence.runs(), evidence.rows()
ENERGY = LEAN_MEAT.activation_energy_J_mol


def test_every_row_says_where_it_comes_from() -> None:
    for row in ROWS:
        assert row.run in RUNS
        assert row.citation or row.use == "check"
        assert row.status
        assert np.isfinite(row.published)
    for run in RUNS.values():
        assert "READ" in run.status or "ASSUMED" in run.status


def test_rules_of_thumb_take_no_part() -> None:
    checks = {row.run for row in ROWS if row.use == "check"}
    assert checks == {"trade units", "custom dehydrator", "custom oven"}
    assert not checks & {row.run for row in ROWS if row.use != "check"}


def test_the_law_is_the_package_s_own_where_nothing_is_added() -> None:
    t, x = np.array([300.0, 333.15, 360.0]), np.array([0.1, 1.0, 3.0])
    plain = laws.law(LEAN_MEAT.half_moisture_db, 0.0, ENERGY, ENERGY)
    assert plain.value(t, x) == pytest.approx(LEAN_MEAT.value(t, x), rel=1e-12)
    bent = laws.law(0.3, 1.2, ENERGY, 0.0)
    assert bent.value(360.0, 1.0) == pytest.approx(bent.value(333.15, 1.0))  # no energy above 60 degC
    local = laws.law(0.0, -2.0, 0.0, 0.0)
    assert local.value(333.15, 3.0) / local.value(333.15, 1.0) == pytest.approx((2.3 / 4.9) ** 2)


def plain_law(law: laws.ShapedLaw) -> Diffusivity:
    names = [field.name for field in fields(Diffusivity)]
    return Diffusivity(**{name: getattr(law, name) for name in names})


def test_the_inside_of_a_slab_follows_the_law_and_its_slopes() -> None:
    law = laws.law(0.3, 1.2, 30e3, 10e3)
    slabs = plain_slabs(thickness=np.array([5e-3]), moisture=2.0, nodes=4, diffusivity=law)
    x, t = np.array([[0.90], [0.92], [0.95], [0.96]]), np.full((4, 1), 320.0)
    face = 0.5 * (x[1:] + x[:-1])
    inside, plain = Interior(slabs), Interior(replace(slabs, diffusivity=plain_law(law)))
    ratio = inside.fluxes(x, t)[0] / plain.fluxes(x, t)[0]
    # Simpson's mean over steps of 0.03
    assert ratio == pytest.approx(law.shape(face) * law.bend(np.full((3, 1), 320.0)), rel=1e-3)


def test_polynomials_hold_against_a_simulation() -> None:
    rows = [row for row in ROWS if row.name in ("X35", "D06")]
    law = laws.law(LEAN_MEAT.half_moisture_db, 0.0, ENERGY, ENERGY)
    levels = np.repeat([1.0, 2.0], simulation.SLICES // 2)
    answers = simulation.likeliest([RUNS[row.run] for row in rows], rows, law, levels)
    emulators = outcome.stored(RUNS, ROWS)["half"]
    shape = simulation.scaled(simulation.SHAPES["half"], np.log(LEAN_MEAT.half_moisture_db))
    energies = [simulation.scaled(ends, ENERGY) for ends in (simulation.ENERGY, simulation.ENERGY_ABOVE)]
    for row in rows:
        emulator = emulators[row.name]
        for k, level in ((0, 1.0), (-1, 2.0)):
            place = np.array([[simulation.scaled(simulation.LEVEL, np.log(level)), shape, *energies]])
            found = float(emulator.at(np.zeros((1, 8))).value(place)[0, 0])
            # the error is a root mean square over a wide design; three of it is a rare miss in its middle
            assert found == pytest.approx(answers[row.name][k], abs=3.0 * emulator.error)


def test_the_likelihood_of_a_study_is_its_integral() -> None:
    near = [row for row in ROWS if row.name in ("X25", "X26")]  # two runs of one study
    rows = [*near, near[1]]  # and two rows of one run
    residual, own = np.array([0.3, -0.1, 0.2]), np.array([0.02, 0.03, 0.05])
    batches, tau, df = 0.04, 0.3, 5.0
    values = {"tail": np.log([df]), "studies": np.log([tau]), "slope_studies": np.zeros(1)}
    seen = Seen(residual[None, None], own[None], np.array([batches]), between(values, slope=False), rows)
    same = np.array([[row.run == other.run for other in rows] for row in rows])
    cov = np.diag(own) + batches * same

    def integrand(b: float) -> float:
        return multivariate_normal.pdf(residual - b, cov=cov) * student.pdf(b / tau, df) / tau

    # ten nodes of the mixture leave a per cent of the density
    assert study_log(seen)[0] == pytest.approx(np.log(quad(integrand, -4.0, 4.0)[0]), abs=0.02)


def test_slopes_of_papers_are_read_as_slopes() -> None:
    """A slab with a fast film, a constant diffusivity and hardly anything hidden reads as what was put in."""
    row = next(r for r in ROWS if r.name == "D06")
    law = laws.law(1e-9, 0.0, 0.0, 0.0)
    read = simulation.likeliest([RUNS[row.run]], [row], law, np.ones(simulation.SLICES), film=30.0)
    # the first moments of a curve lie above its line, and half an equilibrium moisture is taken off: some per cent
    assert np.exp(read[row.name][0]) == pytest.approx(LEAN_MEAT.reference_m2_s, rel=0.08)


def test_room_air_only_warmed_keeps_its_vapour() -> None:
    stage = RUNS["chicken 60"].stages[0]
    assert stage.air_K == 60.0 + ZERO_CELSIUS
    assert stage.vapour_Pa[0] == pytest.approx(0.45 * 2487.0, rel=0.01)  # saturation at 21 degC, steam tables


def test_the_committed_result_is_of_this_evidence() -> None:
    committed = tomllib.loads(outcome.RESULT.read_text(encoding="utf-8"))
    for kind in activity_errors.kind_errors():
        entry = committed["water_activity"][kind.kind]
        assert entry["rms"] == pytest.approx(kind.rms, abs=1e-4)
        assert entry["rows"] == kind.rows
    timed = [row for row in ROWS if row.use != "check" and not row.slope]
    studies = len({row.study for row in timed})
    assert committed["posterior"]["rests_on"].startswith(f"{len(timed)} rows of {studies} studies")


def test_the_last_stage_gives_the_committed_posterior() -> None:
    committed = tomllib.loads(outcome.RESULT.read_text(encoding="utf-8"))["posterior"]
    fitted = [row for row in ROWS if row.use != "check"]
    studies = studies_of(fitted, RUNS, outcome.stored(RUNS, ROWS)["half"])
    mean, cov = Fit(outcome.POSTERIORS["times"], studies).sample(256).moments(list(report.LAW))
    mean[0] += np.log(LEAN_MEAT.reference_m2_s)
    sd = np.sqrt(np.diag(committed["covariance"]))
    # few draws: some 50 effective ones place a mean to 0.15 of its standard deviation; three times that is a rare miss
    assert np.all(np.abs(mean - committed["mean"]) < 0.45 * sd)
    assert np.all(np.abs(np.log(np.diag(cov) / sd**2)) < np.log(2.0))
