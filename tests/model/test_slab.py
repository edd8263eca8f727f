"""Inside the slabs: signs, conventions, slopes, and diffusion against exact series."""

from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air_text
from made_slab import CONSTANT

from dryingsim.batch.reading.batch_file import parse_batch
from dryingsim.batch.schema import Air, Humidity
from dryingsim.constants import STANDARD_PRESSURE
from dryingsim.kernels.grid import clustered_nodes
from dryingsim.kernels.rosenbrock import Stepper
from dryingsim.model.air import GivenAir, given_air
from dryingsim.model.build import build_slabs
from dryingsim.model.faces import Film
from dryingsim.model.slab import WATER_VOLUME, Interior
from dryingsim.model.system import SlabSystem
from dryingsim.properties.diffusivity import LEAN_MEAT
from dryingsim.properties.water import liquid_enthalpy, saturation_pressure

BATCH = parse_batch(warm_air_text(), "demo")
SLABS = build_slabs(BATCH, 9)  # three slabs
LOCAL = replace(LEAN_MEAT, convention="local")


def random_state(seed=0):
    rng = np.random.default_rng(seed)
    return 0.2 + 2.0 * rng.random((9, 3)), 280.0 + 60.0 * rng.random((9, 3))


# --- state --------------------------------------------------------------------------------------------------
def test_temperature_and_enthalpy_are_inverse():
    x, t = random_state()
    np.testing.assert_allclose(SLABS.temperature(x, SLABS.enthalpy(x, t)), t, rtol=1e-14)


def test_enthalpy_is_that_of_solid_and_water():
    enthalpy = SLABS.enthalpy(np.full(3, 2.0), np.full(3, 323.15))
    np.testing.assert_allclose(enthalpy, SLABS.solid_specific_heat * 50.0 + 2.0 * liquid_enthalpy(323.15))


def test_thickness_is_the_sum_of_the_volumes():
    dry = SLABS.thickness(np.zeros(3))
    np.testing.assert_allclose(dry, SLABS.dry_mass_kg_m2 * SLABS.solid_volume)
    np.testing.assert_allclose(SLABS.thickness(np.full(3, 1.5)) - dry, 1.5 * SLABS.dry_mass_kg_m2 / 987.9)


# --- fluxes -------------------------------------------------------------------------------------------------
def test_nothing_flows_in_an_even_slab():
    water, heat = Interior(SLABS).fluxes(np.full((9, 3), 1.3), np.full((9, 3), 320.0))
    assert np.all(water == 0.0)
    assert np.all(heat == 0.0)


def test_water_flows_from_wet_to_dry_and_heat_from_warm_to_cold():
    x = np.linspace(2.0, 0.5, 9)[:, None] * np.ones(3)  # wetter below
    t = np.full((9, 3), 320.0)
    water, _ = Interior(SLABS).fluxes(x, t)
    assert np.all(water > 0.0)  # upward
    t = np.linspace(300.0, 340.0, 9)[:, None] * np.ones(3)  # warmer above
    _, heat = Interior(SLABS).fluxes(np.full((9, 3), 1.0), t)
    assert np.all(heat < 0.0)


@pytest.mark.parametrize("law", [LEAN_MEAT, LOCAL])
def test_water_flows_to_where_a_step_went_below_nothing(law):
    """A looser step may: were the diffusivity less than nothing there, the solver would get no further."""
    slabs = replace(SLABS, diffusivity=replace(law, half_moisture_db=1.0))
    x = np.full((9, 3), 0.005)
    x[-1] = -0.02
    water, _ = Interior(slabs).fluxes(x, np.full((9, 3), 380.0))
    assert np.all(water[-1] > 0.0)


def test_water_that_moves_takes_its_enthalpy_along():
    x = np.linspace(2.0, 0.5, 9)[:, None] * np.ones(3)
    water, heat = Interior(SLABS).fluxes(x, np.full((9, 3), 320.0))
    np.testing.assert_allclose(heat, water * liquid_enthalpy(320.0), rtol=1e-13)


@pytest.mark.parametrize("law", [LEAN_MEAT, LOCAL, CONSTANT], ids=["dry mass", "local", "constant"])
def test_water_flux_is_the_law_of_the_docstring_in_the_mean_between_two_nodes(law):
    """J = -D rho_d^2 dX/dm with the dry density of the start or of the present, by the convention."""
    half = np.array([1.0, 0.5, 3.0])
    slabs = replace(
        SLABS, diffusivity=law, diffusivity_factor=np.array([1.0, 2.0, 0.5]), half_moisture_factor=half
    )
    own = replace(law, half_moisture_db=law.half_moisture_db * half)
    x, t = np.linspace(2.0, 0.4, 9)[:, None] * np.ones(3), random_state()[1]
    tf = 0.5 * (t[1:] + t[:-1])
    points, weights = np.polynomial.legendre.leggauss(12)
    mean = 0.0
    for point, weight in zip(points, weights, strict=True):
        between = x[:-1] + 0.5 * (1.0 + point) * (x[1:] - x[:-1])
        present = 1.0 / (slabs.solid_volume + WATER_VOLUME * between)
        density = present if law.convention == "local" else slabs.initial_dry_density
        mean = mean + 0.5 * weight * own.value(tf, between) * density**2
    gradient = np.diff(x, axis=0) / (np.diff(slabs.nodes)[:, None] * slabs.dry_mass_kg_m2)
    expected = -mean * slabs.diffusivity_factor * gradient
    # Simpson's rule over steps of 0.2 kg/kg, the last of them a third of what is left: error of fourth order
    np.testing.assert_allclose(Interior(slabs).fluxes(x, t)[0], expected, rtol=1e-4)


def test_the_two_conventions_agree_at_the_initial_moisture_and_part_as_it_shrinks():
    def mean_flux(law, moisture):
        x = moisture + 1e-6 * np.linspace(1.0, 0.0, 9)[:, None] * np.ones(3)
        return Interior(replace(SLABS, diffusivity=law)).fluxes(x, np.full((9, 3), 320.0))[0]

    raw = SLABS.initial_moisture_db
    np.testing.assert_allclose(mean_flux(LEAN_MEAT, raw), mean_flux(LOCAL, raw), rtol=1e-5)
    # nearly dry, the density has risen by a factor of about 4: the local reading is some ten times faster
    assert np.all(mean_flux(LOCAL, 0.2) > 5.0 * mean_flux(LEAN_MEAT, 0.2))


# --- slopes -------------------------------------------------------------------------------------------------
def smooth_state(seed):
    """Moisture whose steps are small enough for Simpson's rule to be exact; any temperature."""
    x, t = random_state(seed)
    return 1.5 + 0.02 * x, t


def remainders(interior, x, t, dx, dt):
    """Return what the linear prediction misses for steps h and h/2, for water and heat, relative to the change."""
    slope = interior.slopes(x, t)
    below = np.einsum("fuim,uim->fim", slope[:, 0], np.stack([dx[:-1], dt[:-1]]))
    above = np.einsum("fuim,uim->fim", slope[:, 1], np.stack([dx[1:], dt[1:]]))
    base, out = np.stack(interior.fluxes(x, t)), []
    for h in (1e-3, 5e-4):
        moved = np.stack(interior.fluxes(x + h * dx, t + h * dt))
        miss = moved - base - h * (below + above)
        out.append(np.sqrt(np.sum(miss**2, axis=(1, 2)) / np.sum((moved - base) ** 2, axis=(1, 2))))
    return np.array(out)


@pytest.mark.parametrize("law", [LEAN_MEAT, LOCAL], ids=["dry mass", "local"])
def test_slopes_of_the_water_flux_pass_the_taylor_test_anywhere(law):
    x, t = smooth_state(1)
    dx, dt = smooth_state(2)
    miss = remainders(Interior(replace(SLABS, diffusivity=law)), x, t, dx, dt - 300.0)[:, 0]
    assert miss[0] / miss[1] == pytest.approx(2.0, rel=0.05)  # h^2 over h
    assert miss[1] < 1e-3


@pytest.mark.parametrize("law", [LEAN_MEAT, LOCAL], ids=["dry mass", "local"])
def test_slopes_of_the_heat_flux_pass_the_taylor_test_where_they_claim_to_be_exact(law):
    # left out: the change of the heat conductance with moisture. It has no effect at even temperature ...
    interior = Interior(replace(SLABS, diffusivity=law))
    x, _ = smooth_state(1)
    dx, dt = smooth_state(2)
    miss = remainders(interior, x, np.full((9, 3), 330.0), dx, dt - 300.0)[:, 1]
    assert miss[0] / miss[1] == pytest.approx(2.0, rel=0.05)
    # ... nor when the moisture stays as it is
    x, t = random_state(1)
    miss = remainders(interior, x, t, 0.0 * dx, dt - 300.0)[:, 1]
    assert miss[0] / miss[1] == pytest.approx(2.0, rel=0.05)


# --- exact solutions ----------------------------------------------------------------------------------------
def fixed_surface_ratio(fourier, terms=200):
    """Mean moisture ratio of a slab with fixed surfaces (Crank 1975), Fo with the half thickness."""
    k = (2.0 * np.arange(terms) + 1.0) ** 2
    return float(np.sum(8.0 / (np.pi**2 * k) * np.exp(-k * np.pi**2 * fourier / 4.0)))


def dry_with_fixed_surface(law, n, times, *, start, surface, swelling=1.3, half_thickness=3e-3):
    """Mean moisture and thickness at times [s] of a slab whose faces are held at a moisture by an endless film."""
    one = np.ones(1)
    slabs = replace(
        SLABS,
        nodes=clustered_nodes(n),
        solid_volume=WATER_VOLUME / swelling * one,
        initial_moisture_db=start * one,
        dry_mass_kg_m2=2.0 * half_thickness * one / (WATER_VOLUME * (1.0 / swelling + start)),
        solid_specific_heat=SLABS.solid_specific_heat[:1],
        solid_conductivity=SLABS.solid_conductivity[:1],
        diffusivity=law,
        diffusivity_factor=one,
        half_moisture_factor=one,
        recipe=np.zeros(1, dtype=int),
        emissivity=0.0,
        vapour_open=np.ones((2, 1)),
        heat_open=np.ones((2, 1)),
        edge_length_m=np.inf * one,
    )
    t = 333.15
    activity = np.exp(slabs.sorption.log_activity(surface * one, t * one, slabs.recipe))
    fraction = activity * saturation_pressure(t) / STANDARD_PRESSURE
    film = Film(forced=np.full((2, 1), 1e7), natural=0.0 * one, mass_factor=6e-4 * one)
    warm = Air(temperature_K=t, humidity=Humidity(kind="room"), speed_m_s=1.0)
    air = given_air(warm, None, BATCH.room, 0.0, 1.0, 0.12 * one, 0.05 * one).start
    air = replace(air, vapour_fraction=fraction, film=film)
    system = SlabSystem(slabs, GivenAir(air, air), 1e-5)
    stepper = Stepper(system, 0.0, system.initial(start, t), first_step=1e-4)
    out = []
    for time in times:
        while stepper.t < time:
            stepper.step(time)
        x = system.split(stepper.y)[0]
        mean = (system.mass * x).sum(axis=0) / slabs.dry_mass_kg_m2
        out.append((float(mean[0]), float(slabs.thickness(mean)[0])))
    return np.array(out).T


def test_fitted_diffusivity_in_a_shrinking_slab_follows_the_series_of_the_fixed_slab():
    # Digest of exact tests (kin_shrinking_slab_reference.csv): X0 3, Xe 0.15, b 1.3, L0 3 mm, D0 3e-10
    hours = np.array([1.0, 2.0, 4.0, 8.0])
    mean, thickness = dry_with_fixed_surface(CONSTANT, 24, 3600.0 * hours, start=3.0, surface=0.15)
    expected = [0.15 + 2.85 * fixed_surface_ratio(3e-10 * 3600.0 * h / 9e-6) for h in hours]
    np.testing.assert_allclose(expected, [1.8860, 1.4290, 0.8568, 0.3662], atol=5e-5)  # the printed ones
    # What 24 nodes are meant to give: the time to a moisture within 0.5 % near the end of drying (ratios 0.25
    # and 0.08). Early on, with an endless film, half a cell dries at once: 0.8 % of the time at 1 h.
    for i, allowed in enumerate((0.01, 0.01, 0.005, 0.005)):
        later = 0.15 + 2.85 * fixed_surface_ratio(3e-10 * 3600.0 * hours[i] * (1.0 + allowed) / 9e-6)
        assert abs(mean[i] - expected[i]) < expected[i] - later
    np.testing.assert_allclose(0.5e3 * thickness, [2.113, 1.750, 1.294, 0.904], rtol=2e-3)


def test_the_same_number_read_as_a_local_diffusivity_dries_several_times_too_fast():
    # same file: constant local D, numeric there (error below 1e-5): ratio 0.3562 at 0.5 h, 0.1054 at 1 h
    law = replace(CONSTANT, convention="local")
    mean, _ = dry_with_fixed_surface(law, 24, [1800.0, 3600.0], start=3.0, surface=0.15)
    # 24 nodes, steep profile near the faces: 1 % of the removable water
    np.testing.assert_allclose((mean - 0.15) / 2.85, [0.3562, 0.1054], atol=0.01)


def test_diffusion_is_of_higher_than_third_order_in_the_spacing():
    exact = 0.15 + 2.85 * fixed_surface_ratio(3e-10 * 7200.0 / 9e-6)
    miss = [
        abs(dry_with_fixed_surface(CONSTANT, n, [7200.0], start=3.0, surface=0.15)[0, 0] - exact)
        for n in (17, 33)
    ]
    # halved spacing: 16 times less inside, 8 times less at the ends, where the parabola is a straight line
    assert miss[0] / miss[1] > 8.0
    assert miss[1] < 1e-3 * 2.85
