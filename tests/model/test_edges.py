"""The edges of narrow strips: the decay rate, the product rule, slopes, limits."""

from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air_text
from made_slab import CONSTANT

from dryingsim.batch.reading.batch_file import parse_batch
from dryingsim.batch.schema import Air, Humidity
from dryingsim.constants import STANDARD_PRESSURE
from dryingsim.kernels.rosenbrock import Stepper
from dryingsim.model.air import GivenAir, given_air
from dryingsim.model.build import build_slabs
from dryingsim.model.edges import EdgeExchange, decay_rate
from dryingsim.model.faces import CARRIED, VAPOUR, Film
from dryingsim.model.system import SlabSystem
from dryingsim.properties.water import saturation_pressure

BATCH = parse_batch(warm_air_text(), "demo")
ONE = np.ones(3)


def strips(n=9, half_width=(6e-3, 8e-3, 12e-3)):
    return replace(build_slabs(BATCH, n), diffusivity=CONSTANT, edge_length_m=np.array(half_width))


WARM = Air(temperature_K=333.15, humidity=Humidity(kind="room"), speed_m_s=1.0)
BASE = given_air(WARM, None, BATCH.room, 0.0, 1.0, 0.12 * ONE, 0.05 * ONE).start


def air(celsius, vapour_pressure, forced=15.0):
    t = (celsius + 273.15) * ONE
    film = Film(forced=forced * np.ones((2, 3)), natural=0.0 * ONE, mass_factor=6.2e-4 * ONE)
    fraction = vapour_pressure / STANDARD_PRESSURE * ONE
    return replace(BASE, temperature_K=t, vapour_fraction=fraction, wall_K=np.stack([t, t]), film=film)


def series(fourier, terms=400):
    """Mean moisture ratio of a slab with fixed surfaces (Crank 1975) and minus its derivative by Fo."""
    k = (2.0 * np.arange(terms) + 1.0) ** 2 * np.pi**2 / 4.0
    parts = 2.0 / k * np.exp(-k * np.asarray(fourier)[..., None])
    return parts.sum(axis=-1), (k * parts).sum(axis=-1)


# --- decay rate ---------------------------------------------------------------------------------------------
def test_decay_rate_is_that_of_the_series():
    fourier = np.concatenate([np.geomspace(1e-3, 0.1, 40), np.geomspace(0.1001, 5.0, 40)])
    ratio, loss = series(fourier)
    # the short-time solution and two terms of the series meet to 0.3 %, by the function's own word
    np.testing.assert_allclose(decay_rate(fourier), loss / ratio, rtol=3e-3)


def test_decay_rate_has_no_jump_worth_the_name():
    below, above = decay_rate(np.array([0.1 - 1e-12, 0.1]))
    assert below == pytest.approx(above, rel=3e-3)


def test_decay_rate_falls_to_the_first_term():
    rate = decay_rate(np.geomspace(1e-6, 10.0, 400))
    assert np.all(np.diff(rate) <= 3e-3 * rate[1:])  # the joint of the two pieces
    assert np.all(np.diff(rate[rate > 3.0]) < 0.0)
    assert rate[-1] == pytest.approx(np.pi**2 / 4.0, rel=1e-12)


# --- product rule -------------------------------------------------------------------------------------------
def test_newmans_product_rule_is_exact_for_the_linear_case():
    """Constant diffusivity, an endless film, nearly dry air: the mean ratio is the product of two slab series."""
    slabs = strips(n=24)
    end = 0.01  # moisture in equilibrium with the air; the edges' loss is written for none
    activity = np.exp(slabs.sorption.log_activity(end * ONE, 333.15 * ONE, slabs.recipe))[0]
    # endless beside what diffusion lets through: ten times as much moves the mean by 1e-4 of its water, in 25 times the steps
    surroundings = air(60.0, activity * saturation_pressure(333.15), forced=1e3)
    system = SlabSystem(slabs, GivenAir(surroundings, surroundings), 5e-4)
    stepper = Stepper(system, 0.0, system.initial(slabs.initial_moisture_db, 333.15), first_step=1e-4)
    thickness = slabs.thickness(slabs.initial_moisture_db)
    for hours in (0.5, 1.5):
        t = 3600.0 * hours
        while stepper.t < t:
            stepper.step(t)
        mean = (system.mass * system.split(stepper.y)[0]).sum(axis=0) / slabs.dry_mass_kg_m2
        across = series(CONSTANT.reference_m2_s * t / (0.5 * thickness) ** 2)[0]
        sideways = series(CONSTANT.reference_m2_s * t / slabs.edge_length_m**2)[0]
        assert np.all(sideways < 0.95)  # the edges matter here
        expected = slabs.initial_moisture_db * across * sideways
        # 24 nodes: 0.2 % of the removable water, as without edges; and the air is not quite dry
        assert np.all(
            np.abs(mean - expected) < 0.002 * slabs.initial_moisture_db + end * (1.0 - across * sideways)
        )


def test_wide_slices_lose_nothing_at_their_edges():
    x, t = 2.0 * np.ones((9, 3)), 310.0 * np.ones((9, 3))
    wide = EdgeExchange(strips(half_width=(1e6,) * 3), air(60.0, 1000.0), 15.0 * ONE, 15.0 * ONE, 100.0, x, t)
    narrow = EdgeExchange(strips(), air(60.0, 1000.0), 15.0 * ONE, 15.0 * ONE, 100.0, x, t)
    assert np.all(np.abs(wide.boundary_flux) < 1e-6 * np.abs(narrow.boundary_flux))


def test_edges_speed_drying_up_by_no_more_than_their_area():
    """At the start, when the film decides, a strip's edges add the ratio of their area to that of the faces."""
    slabs = strips()
    surroundings = air(60.0, 1000.0)
    states = []
    for present in (slabs, replace(slabs, edge_length_m=np.inf * ONE)):
        system = SlabSystem(present, GivenAir(surroundings, surroundings), 1e-4)
        y = system.initial(slabs.initial_moisture_db, 300.0)
        states.append(system.split(system.rhs(0.0, y))[2][VAPOUR])
    gain = states[0] / states[1] - 1.0
    area = slabs.thickness(slabs.initial_moisture_db) / (2.0 * slabs.edge_length_m)
    np.testing.assert_allclose(
        gain, area, rtol=0.01
    )  # at t = 0 the inner resistance is nothing beside the film


# --- limits and signs ---------------------------------------------------------------------------------------
def test_the_slower_of_film_and_diffusion_decides():
    x, t = 2.0 * np.ones((9, 3)), 310.0 * np.ones((9, 3))

    def vapour(film, time):
        return EdgeExchange(strips(), air(60.0, 1000.0), film * ONE, film * ONE, time, x, t).boundary_flux[
            VAPOUR
        ]

    inside = vapour(1e9, 3600.0)
    rate = CONSTANT.reference_m2_s / np.array([6e-3, 8e-3, 12e-3]) ** 2
    np.testing.assert_allclose(inside, 2.0 * (rate * decay_rate(rate * 3600.0)) * np.ones((9, 3)), rtol=1e-5)
    np.testing.assert_allclose(vapour(1e-9, 3600.0) / 1e-9, vapour(1e-8, 3600.0) / 1e-8, rtol=1e-6)
    middle = vapour(15.0, 3600.0)
    film = vapour(15e-9, 3600.0) * 1e9
    np.testing.assert_allclose(middle**-2.0, inside**-2.0 + film**-2.0, rtol=1e-5)


def test_what_condenses_at_the_edges_does_not_warm_the_slice():
    """It stays near the edge: were it spread over every node, the middle of a thick slice would be hot at once."""
    x, t = 2.0 * np.ones((9, 3)), 277.15 * np.ones((9, 3))
    flux = EdgeExchange(strips(), air(60.0, 15000.0), 15.0 * ONE, 15.0 * ONE, 10.0, x, t).boundary_flux
    assert np.all(flux[VAPOUR] == 0.0)
    assert np.all(flux[CARRIED] == 0.0)
