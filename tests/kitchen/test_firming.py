"""Firming in the freezer: the solver against independent ones, its balance, and the window for slicing."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from dryingsim.batch.catalog.cuts import find_cut
from dryingsim.errors import InputError
from dryingsim.kitchen.firming import FILMS, FIRM_K, FirmnessLimits, Piece, brick_dimensionality, firm
from dryingsim.kitchen.freezing_slab import Material, SlabFreezer, freeze, freezing_histories, material_of
from dryingsim.properties import freezing

EYE = find_cut("test", "beef eye of round").composition
BEEF = freezing.freezing_meat(EYE.water, EYE.protein, EYE.fat, EYE.carbohydrate, EYE.ash)
COLD, FRIDGE = 255.15, 277.15


def slab(thickness=0.03, film=20.0, nodes=31, material=None):
    return SlabFreezer(
        [material or material_of(BEEF)],
        np.array([thickness]),
        np.array([film]),
        np.array([COLD]),
        FRIDGE,
        nodes,
    )


def test_same_equations_by_an_independent_solver():
    system = slab(nodes=15)
    times, states, _ = freeze(system, 7200.0, 61)
    exact = solve_ivp(
        system.rhs, (0.0, 7200.0), system.initial, method="BDF", rtol=1e-7, atol=0.5, t_eval=times
    )
    ours, theirs = system.split(states)[0], system.split(exact.y.T)[0]
    frozen = float(freezing.enthalpy(BEEF, FRIDGE) - freezing.enthalpy(BEEF, 270.65))
    assert np.abs(ours - theirs).max() < 1e-3 * frozen  # 0.05 K above freezing, 0.003 K at -2.5 degC


def test_energy_is_kept_to_rounding_and_both_faces_are_alike():
    system = slab()
    _, states, closure = freeze(system, 9000.0, 50)
    assert closure < 1e-9
    h = system.split(states)[0][:, :, 0]
    np.testing.assert_allclose(h, h[:, ::-1], rtol=1e-9)


def test_jacobian_is_the_derivative():
    """The remainder of the linearisation falls as the square of the step (a Taylor test)."""
    system = slab(nodes=9)
    _, states, _ = freeze(system, 3600.0, 20)
    y = states[-1]
    direction = np.concatenate([np.linspace(1.0, 2.0, 9), [0.0]])
    system.linearize(0.0, y)
    system.factor(1.0)
    # (1 - A) x = r and so A v = v - (1 - A) v, from the solver alone: solve((1 - A) v) must return v
    step = 1e-2
    slope = (system.rhs(0.0, y + step * direction) - system.rhs(0.0, y - step * direction)) / (2.0 * step)
    np.testing.assert_allclose(system.solve(direction - slope), direction, rtol=1e-5, atol=1e-9)


def test_finer_grids_agree():
    found = []
    for nodes in (31, 61):
        system = slab(0.05, 10.0, nodes)
        times, states, _ = freeze(system, 36000.0, 1200)
        freezing_history = freezing_histories(system, [BEEF], times, states)[0]
        found.append(np.interp(2.5, 273.15 - freezing_history.mean_K, times))
    assert found[0] == pytest.approx(found[1], rel=5e-3)  # the end-point claim of the slab model


def test_slabs_of_an_ensemble_do_not_touch_each_other():
    both = SlabFreezer(
        [material_of(BEEF)] * 2, np.array([0.03, 0.06]), np.array([20.0, 8.0]), np.array([COLD, COLD]), FRIDGE
    )
    _, states, _ = freeze(both, 5400.0, 10)
    _, alone, _ = freeze(slab(0.06, 8.0), 5400.0, 10)
    t_both = freezing.temperature(BEEF, both.split(states)[0][:, :, 1])
    t_alone = freezing.temperature(BEEF, slab(0.06, 8.0).split(alone)[0][:, :, 0])
    assert np.abs(t_both - t_alone).max() < 0.05  # other steps, same slab


def brick_in_three_dimensions(sides, film, until_s, step_s=6.0, cells=(5, 6, 7)):
    """An octant by explicit differences over even cells: an independent, cruder way."""
    gaps = [0.5 * side / n for side, n in zip(sides, cells, strict=True)]
    h = np.full(cells, float(freezing.enthalpy(BEEF, FRIDGE)))
    grid = np.linspace(float(freezing.enthalpy(BEEF, COLD)), h.max(), 4000)
    kelvin = freezing.temperature(BEEF, grid)
    k_grid = freezing.conductivity(BEEF, kelvin)
    density = float(freezing.density(BEEF))
    mean = []
    for _ in range(int(until_s / step_s)):
        t, k = np.interp(h, grid, kelvin), np.interp(h, grid, k_grid)
        rate = np.zeros_like(h)
        for axis, gap in enumerate(gaps):
            tt, kk = np.moveaxis(t, axis, 0), np.moveaxis(k, axis, 0)
            into = np.moveaxis(rate, axis, 0)
            inner = 0.5 * (kk[1:] + kk[:-1]) * np.diff(tt, axis=0) / gap
            into[:-1] += inner / gap
            into[1:] -= inner / gap
            into[-1] += (COLD - tt[-1]) / (1.0 / film + 0.5 * gap / kk[-1]) / gap
        h = h + step_s * rate / density
        mean.append(h.mean())
    return float(
        np.interp(
            -float(freezing.enthalpy(BEEF, 270.65)), -np.array(mean), step_s * (1 + np.arange(len(mean)))
        )
    )


@pytest.mark.parametrize(("film", "width", "length"), [(8.0, 0.09, 0.15), (20.0, 0.06, 0.12)])
def test_brick_correction_against_three_dimensions(film, width, length):
    piece = Piece(composition=EYE, thickness_m=0.05, width_m=width, length_m=length, film=(film, film, film))
    ours = firm(piece).expected.best_s
    theirs = brick_in_three_dimensions((0.05, width, length), film, 1.3 * ours)
    assert ours == pytest.approx(theirs, rel=0.06)  # what one number for the shape costs at Bi 0.2-0.5


def test_dimensionality_limits():
    cube = Piece(composition=EYE, thickness_m=0.05, width_m=0.05, length_m=0.05)
    assert brick_dimensionality(cube, 8.0, 1.0) == pytest.approx(3.0, rel=1e-12)
    long = Piece(composition=EYE, thickness_m=0.05, width_m=0.1, length_m=0.2)
    assert brick_dimensionality(long, 1e-6, 1.0) == pytest.approx(1 + 0.5 + 0.25, rel=1e-4)  # surfaces
    assert brick_dimensionality(Piece(composition=EYE, thickness_m=0.05), 8.0, 1.0) == 1.0


@pytest.mark.parametrize("film", FILMS)
def test_window_is_in_order_and_its_range_holds_it(film):
    found = firm(Piece(composition=EYE, thickness_m=0.04, film=FILMS[film]))
    assert found.closure < 1e-9
    one = found.expected
    assert 0.0 < one.stiff_s < one.firm_s < one.best_s < one.hard_s
    for name in ("stiff_s", "firm_s", "best_s", "hard_s"):
        assert getattr(found.soonest, name) < getattr(one, name) < getattr(found.latest, name)
    row = found.freezing_history.row(one.firm_s)
    assert row["outer_K"] == pytest.approx(FIRM_K, abs=0.01)
    assert row["middle_K"] > row["outer_K"]
    assert (
        0.4 < found.freezing_history.row(one.best_s)["ice_mean"] < 0.6
    )  # about half, as the range's source has it


def test_the_outside_of_a_roast_is_stiff_when_cooks_slice_it():
    """A kitchen's piece in still air: half an hour to two hours (common practice, no source), the middle near 0 degC."""
    found = firm(Piece(composition=EYE, thickness_m=0.06, width_m=0.09, length_m=0.15))
    assert 1800.0 < found.expected.stiff_s < 7200.0
    row = found.freezing_history.row(found.expected.stiff_s)
    assert row["skin_K"] == pytest.approx(FIRM_K, abs=0.01)
    assert row["face_K"] < row["skin_K"] < row["outer_K"] < row["middle_K"]
    assert row["middle_K"] == pytest.approx(273.15, abs=1.0)


def test_the_skin_of_a_thin_piece_is_its_outer_quarter():
    found = firm(Piece(composition=EYE, thickness_m=0.012))
    np.testing.assert_allclose(found.freezing_history.skin_K, found.freezing_history.outer_K, rtol=1e-12)


def test_colder_and_windier_is_sooner_thicker_is_later():
    def best(**changes):
        return firm(Piece(composition=EYE, **{"thickness_m": 0.04, **changes})).expected.best_s

    base = best()
    assert best(freezer_K=250.15) < base
    assert best(film=FILMS["fan"]) < base
    assert best(start_K=274.15) < base
    assert best(thickness_m=0.05) > base
    assert best(width_m=0.08) < base


def test_salted_meat_needs_colder_for_as_much_ice():
    salted = firm(Piece(composition=EYE, thickness_m=0.03, salt_kg_kg=0.02, film=FILMS["fan"]))
    assert salted.limits.firm < FIRM_K - 2.0
    assert (
        salted.expected.firm_s
        > firm(Piece(composition=EYE, thickness_m=0.03, film=FILMS["fan"])).expected.firm_s
    )
    share = freezing.ice_fraction(BEEF, FIRM_K) / BEEF.water
    got = freezing.ice_fraction(salted.food, salted.limits.firm) / salted.food.water
    assert got == pytest.approx(float(share), rel=1e-9)
    assert FirmnessLimits().salted(BEEF, BEEF).firm == pytest.approx(FIRM_K, abs=1e-9)


def test_what_is_not_reached_is_none():
    found = firm(Piece(composition=EYE, thickness_m=0.2, freezer_K=269.15))
    assert found.expected.firm_s is found.expected.best_s is found.expected.hard_s is None


def test_freezer_that_is_too_warm_is_refused():
    with pytest.raises(InputError, match="firms no meat"):
        firm(Piece(composition=EYE, thickness_m=0.05, freezer_K=271.0))


def test_plain_cooling_of_a_constant_material_against_the_series():
    """First term of the series of a slab, Bi 0.2: the coefficients of Cengel 11-44 (0.4328, 1.0311)."""
    k, rho_c = 0.45, 0.45 / 0.91e-7
    material = Material(lambda t: rho_c / 1e3 * t, lambda h: h * 1e3 / rho_c, lambda t: k + 0.0 * t, 1e3)
    system = slab(0.02, 9.0, material=material)
    _, states, _ = freeze(system, 4000.0, 100)
    face = material.temperature(system.split(states)[0][-1, 0, 0])
    left = 1.0311 * np.cos(0.4328) * np.exp(-(0.4328**2) * 0.91e-7 * 4000.0 / 1e-4)
    assert (face - COLD) / (FRIDGE - COLD) == pytest.approx(left, rel=2e-3)
