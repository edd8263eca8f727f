"""The equations as a whole: balances, symmetry, equilibrium, bounds, scaling, the matrix, another solver."""

from dataclasses import fields, replace

import numpy as np
import pytest
from made_batch import warm_air_text
from scipy.integrate import solve_ivp

from dryingsim.batch.reading.batch_file import parse_batch
from dryingsim.batch.schema import Air, Humidity
from dryingsim.constants import STANDARD_PRESSURE
from dryingsim.kernels.grid import clustered_nodes
from dryingsim.kernels.rosenbrock import Stepper
from dryingsim.model.air import GivenAir, given_air
from dryingsim.model.build import build_slabs, recipe_of
from dryingsim.model.faces import CARRIED, CONVECTED, VAPOUR, Film
from dryingsim.model.system import TEMPERATURE_SCALE_K, X_FLOOR, SlabSystem
from dryingsim.properties import moist_air
from dryingsim.properties.water import saturation_pressure
from dryingsim.properties.water_activity import equilibrium_moisture

BATCH = parse_batch(warm_air_text(), "demo")
ONE = np.ones(3)
BOTH = np.ones((2, 3))
WARM = Air(temperature_K=341.15, humidity=Humidity(kind="room"), speed_m_s=1.0)


def real_air(air=WARM):
    return given_air(air, None, BATCH.room, 0.0, 1.0, 0.12 * ONE, 0.05 * ONE)


def even_air(celsius=68.0, vapour_pressure=1200.0, forced=15.0, m=3):
    """Air without natural convection, so that above and below are alike."""
    one = np.ones(m)
    t = (celsius + 273.15) * one
    base = given_air(WARM, None, BATCH.room, 0.0, 1.0, 0.12 * one, 0.05 * one).start
    air = replace(
        base,
        temperature_K=t,
        vapour_fraction=vapour_pressure / STANDARD_PRESSURE * one,
        wall_K=np.stack([t, t]),
        film=Film(forced=forced * np.ones((2, m)), natural=0.0 * one, mass_factor=6.2e-4 * one),
    )
    return GivenAir(air, air)


def random_state(system, seed=0):
    rng = np.random.default_rng(seed)
    shape = (system.n, system.m)
    y = system.initial(0.2 + 2.0 * rng.random(shape), 290.0 + 50.0 * rng.random(shape))
    system.split(y)[2][:] = rng.random(system.split(y)[2].shape)
    return y


def advance(system, y, t_end):
    stepper = Stepper(system, 0.0, y)
    while stepper.t < t_end:
        stepper.step(t_end)
    return stepper.y


def mean_moisture(system, y):
    return (system.mass * system.split(y)[0]).sum(axis=0) / system.slabs.dry_mass_kg_m2


ENDLESS = np.full(3, np.inf)
SLABS = replace(build_slabs(BATCH, 9), edge_length_m=ENDLESS)
VARIANTS = {
    "open": SLABS,
    "on a sheet": replace(SLABS, vapour_open=np.array([[0.0], [1.0]]) * BOTH),
    "strips": replace(SLABS, edge_length_m=np.array([8e-3, 12e-3, np.inf])),
}
variants = pytest.mark.parametrize("slabs", VARIANTS.values(), ids=VARIANTS.keys())


# --- balances -----------------------------------------------------------------------------------------------
def balances(system, vector):
    """Return water and energy of slab and totals together; what must not change."""
    x, h, totals = system.split(vector)
    water = (system.mass * x).sum(axis=0) + totals[VAPOUR]
    energy = (system.mass * h).sum(axis=0) + totals[CARRIED] - totals[CONVECTED:].sum(axis=0)
    return np.concatenate([water, energy])


def sizes(system, vector):
    x, h, totals = system.split(np.abs(vector))
    water = (system.mass * x).sum(axis=0) + totals[VAPOUR]
    return np.concatenate(
        [water, (system.mass * h).sum(axis=0) + totals[CARRIED] + totals[CONVECTED:].sum(axis=0)]
    )


@variants
def test_right_hand_side_keeps_water_and_energy(slabs):
    system = SlabSystem(slabs, real_air(), 1e-3)
    change = system.derivative(50.0, random_state(system))
    assert np.all(np.abs(balances(system, change)) < 1e-13 * sizes(system, change))


@variants
def test_matrix_keeps_water_and_energy(slabs):
    """The invariants are left null vectors of A, so (s M - A) u = M r has w u = w r / s for any r."""
    system = SlabSystem(slabs, real_air(), 1e-3)
    system.linearize(50.0, random_state(system))
    r = random_state(system, 1)
    for shift in (1e-3, 1.0, 1e3):
        system.factor(shift)
        u = system.solve(system.weigh(r))
        miss = balances(system, shift * u) - balances(system, r)
        # the solve rounds relative to the largest products in it: s M u, and A u = M (s u - r)
        assert np.all(np.abs(miss) < 1e-11 * (sizes(system, shift * u) + sizes(system, r)))


# --- matrix -------------------------------------------------------------------------------------------------
def jacobian_misses(system, y, t=50.0, shift=0.05):
    """Return by how much solutions u of (s M - A) u = M r would differ with the Jacobian J in place of A.

    To first order that is (s M - A)^-1 (J - A) u, with J u from differences of the right-hand side, A u = M (s u - r).
    """
    system.linearize(t, y)
    system.factor(shift)
    n, m = system.n, system.m
    weight = np.repeat([1.0, 1e-4], n)[:, None]  # 1 kg/kg weighs as much as 10 kJ/kg, some 1 to 5 K

    def size(v):
        return np.linalg.norm(v.reshape(-1, m)[: 2 * n] * weight)

    out = []
    for seed in range(5):
        r = np.zeros_like(y)
        r.reshape(-1, m)[: 2 * n] = np.random.default_rng(seed).standard_normal((2 * n, m)) / weight
        u = system.solve(system.weigh(r))
        h = 1e-4 / size(u)
        numeric = (system.rhs(t, y + h * u) - system.rhs(t, y - h * u)) / (2.0 * h)
        out.append(size(system.solve(numeric - system.weigh(shift * u - r))) / size(u))
    return out


def test_matrix_is_the_jacobian_where_nothing_is_left_out():
    # left out are: the heat conductance's change with moisture (none at even temperature), Ackermann's
    # correction (none on sealed faces), the film's change (none without natural convection)
    system = SlabSystem(replace(SLABS, vapour_open=0.0 * BOTH), even_air(), 1e-3)
    rng = np.random.default_rng(3)
    # steps of moisture small enough for Simpson's rule to be exact: the slopes are those of the potential itself
    y = system.initial(1.5 + 0.02 * rng.random((9, 3)), 315.0)
    # central differences of 1e-4: truncation 1e-8, rounding 1e-16/1e-4 times the ratio of fluxes to their sum
    assert max(jacobian_misses(system, y)) < 1e-6


@pytest.mark.parametrize("time", [300.0, 3600.0, 4 * 3600.0])
def test_matrix_is_near_the_jacobian_along_a_run(time):
    system = SlabSystem(SLABS, real_air(), 1e-3)
    y = advance(system, system.initial(SLABS.initial_moisture_db, 280.0), time)
    # What is left out: some 5 % for a step of 1/(0.44 * 0.05) = 46 s; a wrong sign or factor gives of order
    # one. The order of the method does not suffer (see the stepper), its stability bears far more.
    assert max(jacobian_misses(system, y, time)) < 0.1


def test_totals_follow_from_the_nodes():
    system = SlabSystem(VARIANTS["strips"], even_air(), 1e-3)
    y = random_state(system)
    system.linearize(50.0, y)
    system.factor(0.05)
    r = np.zeros_like(y)
    system.split(r)[2][:] = 1.0  # totals alone move nothing else
    x, h, totals = system.split(system.solve(r))
    assert np.all(x == 0.0)
    assert np.all(h == 0.0)
    np.testing.assert_allclose(totals, 20.0)


# --- symmetry and turning -----------------------------------------------------------------------------------
def test_a_symmetric_slab_stays_symmetric():
    system = SlabSystem(SLABS, even_air(), 1e-4)
    y = advance(system, system.initial(SLABS.initial_moisture_db, 280.0), 3600.0)
    x, h, _ = system.split(y)
    # rounding, amplified by some hundred steps of a stable problem
    np.testing.assert_allclose(x, x[::-1], rtol=1e-10)
    np.testing.assert_allclose(h, h[::-1], rtol=1e-10)


def test_turning_twice_is_not_turning_and_moves_nothing_in_or_out():
    system = SlabSystem(SLABS, even_air(), 1e-3)
    y = random_state(system)
    turned = system.turned(y)
    np.testing.assert_array_equal(system.turned(turned), y)
    assert not np.array_equal(turned, y)
    np.testing.assert_allclose(balances(system, turned), balances(system, y), rtol=1e-13)


def test_a_turned_slab_between_equal_faces_does_the_same_turned():
    system = SlabSystem(SLABS, even_air(), 1e-3)
    y = random_state(system)
    direct, turned = system.split(system.rhs(0.0, y)), system.split(system.rhs(0.0, system.turned(y)))
    for a, b in zip(direct[:2], turned[:2], strict=True):
        np.testing.assert_allclose(b, a[::-1], rtol=1e-9, atol=1e-12 * np.max(np.abs(a)))


def test_half_a_slab_on_a_closed_sheet_is_half_of_a_whole_one():
    p = clustered_nodes(9)
    whole = replace(SLABS, nodes=np.concatenate([0.5 * (1.0 - p[::-1]), 0.5 + 0.5 * p[1:]]))
    closed = np.array([[0.0], [1.0]]) * BOTH
    half = replace(
        SLABS, nodes=p, dry_mass_kg_m2=0.5 * SLABS.dry_mass_kg_m2, vapour_open=closed, heat_open=closed
    )
    ends = []
    for slabs in (whole, half):
        system = SlabSystem(slabs, even_air(), 1e-4)
        ends.append(system.split(advance(system, system.initial(SLABS.initial_moisture_db, 280.0), 3600.0)))
    # the same equations, but for a straight line at the sheet where the whole one has a parabola in the middle
    np.testing.assert_allclose(ends[0][0][8:], ends[1][0], rtol=1e-4)
    np.testing.assert_allclose(ends[0][2][VAPOUR], 2.0 * ends[1][2][VAPOUR], rtol=1e-4)


# --- equilibrium and bounds ---------------------------------------------------------------------------------
@variants
def test_a_slab_in_equilibrium_with_the_air_does_not_change(slabs):
    t, x = 313.15, 0.5
    activity = np.exp(slabs.sorption.log_activity(x * ONE, t * ONE, slabs.recipe))[0]
    system = SlabSystem(slabs, even_air(40.0, activity * saturation_pressure(t)), 1e-3)
    y = system.initial(x, t)
    away = SlabSystem(slabs, even_air(41.0, activity * saturation_pressure(t)), 1e-3)
    still, moving = (s.rhs(10.0, y).reshape(-1, 3) for s in (system, away))
    heat = slice(slabs.nodes.size, 2 * slabs.nodes.size)
    assert np.max(np.abs(moving[heat])) > 0.1  # W/kg: what one kelvin does
    assert np.max(np.abs(still)) < 1e-10 * np.max(np.abs(moving))
    end = advance(system, y, 3600.0)
    # rounding of two vapour potentials that cancel: 1e-16 of 2.5e6 J/kg at some 1e-2 kg/(m2 s), over an hour: 1e-8 J/m2
    np.testing.assert_allclose(end, y, rtol=1e-12, atol=1e-8)


def test_slab_ends_in_equilibrium_with_the_air():
    slabs = SLABS
    air = even_air(60.0, 6000.0)
    system = SlabSystem(slabs, air, 1e-4)
    y = advance(system, system.initial(slabs.initial_moisture_db, 280.0), 240 * 3600.0)
    expected = equilibrium_moisture(6000.0 / saturation_pressure(333.15), 333.15, recipe_of(BATCH)[0])
    x, h, _ = system.split(y)
    np.testing.assert_allclose(x, expected, rtol=1e-3)  # the tolerance 1e-4 of (0.3 + X), over X = 0.1
    np.testing.assert_allclose(slabs.temperature(x, h), 333.15, atol=4e-3)  # 1e-4 of 40 K


def test_moisture_and_temperature_stay_between_what_they_come_from_and_go_to():
    system = SlabSystem(SLABS, real_air(), 1e-4)
    start = 288.15  # above the dew point: nothing condenses
    vapour = system.air.at(0.0).vapour_fraction[0] * STANDARD_PRESSURE
    wet_bulb = float(moist_air.wet_bulb(341.15, vapour, STANDARD_PRESSURE))
    assert moist_air.dew_point(vapour) < start < wet_bulb
    end = equilibrium_moisture(vapour / saturation_pressure(341.15), 341.15, recipe_of(BATCH)[0])
    stepper = Stepper(system, 0.0, system.initial(SLABS.initial_moisture_db, start))
    before = None
    while stepper.t < 10 * 3600.0:
        stepper.step(10 * 3600.0)
        x, h, totals = system.split(stepper.y)
        t = SLABS.temperature(x, h)
        # what one step may err by, and what a mass matrix overshoots by where the face dries at once
        overshoot = 1e-3 * (SLABS.initial_moisture_db - end)
        slack = 1e-4 * (X_FLOOR + x) + overshoot
        assert np.all(x < SLABS.initial_moisture_db + slack)
        assert np.all(x > end - slack)
        assert np.all(t > start - 1e-4 * TEMPERATURE_SCALE_K)
        assert np.all(t < 341.15 + 1e-4 * TEMPERATURE_SCALE_K)
        assert np.all(np.diff(x[:5], axis=0) > -overshoot)  # drier towards the face
        if before is not None:
            assert np.all(totals[VAPOUR] > before)
        before = totals[VAPOUR].copy()


def test_wet_meat_in_hot_air_stays_near_the_wet_bulb_at_first():
    # with strong convection radiation matters little: between the wet bulb and a few kelvin above it
    slabs = replace(SLABS, diffusivity_factor=1000.0 * ONE)  # the face stays wet
    air = even_air(68.0, 1200.0, forced=100.0)
    system = SlabSystem(slabs, air, 1e-3)
    y = advance(system, system.initial(slabs.initial_moisture_db, 290.0), 120.0)
    x, h, _ = system.split(y)
    assert np.all(x > 1.5)
    wet_bulb = float(moist_air.wet_bulb(341.15, 1200.0, STANDARD_PRESSURE))
    above = slabs.temperature(x, h) - wet_bulb
    assert np.all(above > -1.0)  # the film's ratio of mass to heat is not quite that of the wet bulb
    assert np.all(above < 5.0)


# --- scaling ------------------------------------------------------------------------------------------------
def test_time_goes_with_thickness_squared_when_the_film_is_endless():
    ends = []
    for size, time in ((1.0, 1800.0), (2.0, 4 * 1800.0)):
        slabs = replace(SLABS, dry_mass_kg_m2=size * SLABS.dry_mass_kg_m2)
        system = SlabSystem(slabs, even_air(60.0, 6000.0, forced=1e5), 1e-4)
        stepper = Stepper(system, 0.0, system.initial(slabs.initial_moisture_db, 333.15), first_step=1e-3)
        while stepper.t < time:
            stepper.step(time)
        ends.append(mean_moisture(system, stepper.y))
    # the film's resistance, of order D rho/(L beta h) = 1e-4 of the slab's, and the steps' tolerance
    np.testing.assert_allclose(ends[0], ends[1], rtol=1e-3)


def test_a_slab_dries_the_same_beside_others():
    together = SlabSystem(SLABS, even_air(), 1e-5)
    parts = {f.name: getattr(SLABS, f.name) for f in fields(SLABS)}
    own = {k: v[..., 1:2] for k, v in parts.items() if isinstance(v, np.ndarray) and v.shape[-1] == 3}
    alone_slabs = replace(SLABS, **own)
    alone = SlabSystem(alone_slabs, even_air(m=1), 1e-5)
    y = advance(together, together.initial(SLABS.initial_moisture_db, 280.0), 3600.0)
    z = advance(alone, alone.initial(alone_slabs.initial_moisture_db, 280.0), 3600.0)
    np.testing.assert_allclose(mean_moisture(together, y)[1], mean_moisture(alone, z)[0], rtol=1e-4)
    # exactly, for one and the same state
    state = random_state(together)
    expected = alone.rhs(0.0, state.reshape(-1, 3)[:, 1].copy())
    np.testing.assert_array_equal(together.rhs(0.0, state).reshape(-1, 3)[:, 1], expected)


# --- error norm, another solver -----------------------------------------------------------------------------
def test_error_norm_measures_in_units_of_the_tolerance():
    system = SlabSystem(SLABS, even_air(), 1e-3)
    y = random_state(system)
    x = system.split(y)[0]
    error = np.zeros_like(y)
    e, f, totals = system.split(error)
    totals[:] = 1e9  # the totals follow, they do not steer
    assert system.error_norm(error, y) == 0.0
    e[:, 1] = 2e-3 * (X_FLOOR + x[:, 1])
    assert system.error_norm(error, y) == pytest.approx(2.0)
    f[:, 2] = (3e-3 * TEMPERATURE_SCALE_K * SLABS.heat_capacity(x))[:, 2]
    assert system.error_norm(error, y) == pytest.approx(3.0)  # the worst slab decides


@pytest.mark.parametrize("name", ["open", "strips"])
def test_another_solver_gives_the_same_histories(name):
    slabs = replace(build_slabs(BATCH, 5), edge_length_m=VARIANTS[name].edge_length_m)
    system = SlabSystem(slabs, real_air(), 1e-5)
    y0 = system.initial(slabs.initial_moisture_db, 280.0)
    end = 900.0
    ours = advance(system, y0, end)
    scale = np.abs(system.initial(3.0, 330.0))
    other = solve_ivp(
        system.derivative, (0.0, end), y0, method="Radau", rtol=1e-6, atol=1e-6 * scale + 1e-8
    ).y[:, -1]
    x, h, totals = system.split(ours)
    x2, h2, totals2 = system.split(other)
    # tolerance 1e-5 of (0.3 + X) and of 20 K a step, over some hundred steps that forget their errors
    np.testing.assert_allclose(x, x2, atol=1e-4)
    np.testing.assert_allclose(slabs.temperature(x, h), slabs.temperature(x2, h2), atol=2e-3)
    np.testing.assert_allclose(totals[VAPOUR], totals2[VAPOUR], rtol=1e-4)
