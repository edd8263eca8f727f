"""Nodes: symmetric, complete, and exact where linear interpolation and the midpoint rule are exact."""

import numpy as np
import pytest

from dryingsim.kernels.grid import (
    MassMatrix,
    clustered_nodes,
    control_volumes,
    middle_weights,
    node_shares,
    weights_at,
)

SIZES = (3, 4, 7, 24, 25)


@pytest.mark.parametrize("n", SIZES)
def test_nodes_run_from_face_to_face_and_are_the_same_turned_over(n):
    nodes = clustered_nodes(n)
    assert nodes.shape == (n,)
    assert nodes[0] == 0.0
    assert nodes[-1] == 1.0
    assert np.all(np.diff(nodes) > 0.0)
    # to the last bit in exact arithmetic; 1 - x rounds once
    np.testing.assert_allclose(nodes, 1.0 - nodes[::-1], atol=2e-16)


def test_nodes_are_closer_together_near_the_faces():
    spacing = np.diff(clustered_nodes(24))
    assert np.all(np.diff(spacing[:12]) > 0.0)
    assert spacing[0] < 0.3 / 23.0  # an even grid has 1/23


@pytest.mark.parametrize("n", SIZES)
def test_control_volumes_share_out_the_whole(n):
    share = control_volumes(clustered_nodes(n))
    assert share.sum() == pytest.approx(1.0, abs=1e-15)
    assert np.all(share > 0.0)
    np.testing.assert_allclose(share, share[::-1], rtol=1e-13)


@pytest.mark.parametrize("n", SIZES)
def test_control_volumes_integrate_linear_functions_exactly(n):
    nodes = clustered_nodes(n)
    assert control_volumes(nodes) @ (2.0 - 3.0 * nodes) == pytest.approx(0.5, abs=1e-14)


def test_control_volumes_are_second_order():
    def miss(n):
        nodes = clustered_nodes(n)
        return abs(control_volumes(nodes) @ np.exp(nodes) - (np.e - 1.0))

    # spacing halves from 21 to 41 nodes: a second-order rule errs four times less
    assert miss(21) / miss(41) == pytest.approx(4.0, rel=0.1)


@pytest.mark.parametrize("n", SIZES)
def test_middle_weights_are_exact_for_linear_functions(n):
    nodes = clustered_nodes(n)
    weights = middle_weights(nodes)
    assert weights.sum() == pytest.approx(1.0, abs=1e-15)
    assert weights @ (5.0 - 4.0 * nodes) == pytest.approx(3.0, abs=1e-14)


def test_middle_weights_pick_the_node_that_is_in_the_middle():
    weights = middle_weights(clustered_nodes(25))
    assert weights[12] == 1.0
    assert np.count_nonzero(weights) == 1


@pytest.mark.parametrize("n", [n for n in SIZES if n > 3])
def test_values_between_nodes_are_exact_for_cubics(n):
    nodes, places = clustered_nodes(n), np.linspace(0.0, 1.0, 23)

    def cubic(s):
        return 2.0 - 3.0 * s + 7.0 * s**2 - 5.0 * s**3

    np.testing.assert_allclose(cubic(nodes) @ weights_at(nodes, places), cubic(places), atol=1e-13)
    assert middle_weights(nodes) @ cubic(nodes) == pytest.approx(cubic(0.5), abs=1e-13)


def test_values_between_nodes_are_of_the_fourth_order():
    def miss(n):
        return abs(middle_weights(clustered_nodes(n)) @ np.exp(clustered_nodes(n)) - np.exp(0.5))

    # half the spacing (about, as both numbers of nodes are even): a sixteenth of the error
    assert miss(32) / miss(64) == pytest.approx((63 / 31) ** 4, rel=0.1)


@pytest.mark.parametrize("n", SIZES)
def test_the_mass_matrix_is_whole_and_the_same_turned_over(n):
    mass = MassMatrix(clustered_nodes(n))
    assert mass.bands.sum() == pytest.approx(1.0, abs=1e-15)
    np.testing.assert_allclose(
        mass.bands, mass.bands[::-1, ::-1], rtol=1e-12, atol=1e-15
    )  # rounding of shares of 1
    np.testing.assert_array_equal(node_shares(clustered_nodes(n)), mass.shares)


@pytest.mark.parametrize("n", SIZES[1:])
def test_the_mass_matrix_integrates_parabolas_over_the_hats_between_the_faces(n):
    nodes = clustered_nodes(n)
    points, weights = np.polynomial.legendre.leggauss(
        4
    )  # a parabola times a straight line is of third degree
    got = MassMatrix(nodes).times((1.0 - nodes + 3.0 * nodes**2)[:, None])[:, 0]
    for i in range(1, n - 1):
        wanted = 0.0
        for low, high in ((nodes[i - 1], nodes[i]), (nodes[i], nodes[i + 1])):
            x = low + 0.5 * (high - low) * (1.0 + points)
            hat = np.interp(x, nodes[i - 1 : i + 2], [0.0, 1.0, 0.0])
            wanted += 0.5 * (high - low) * float(weights @ (hat * (1.0 - x + 3.0 * x**2)))
        assert got[i] == pytest.approx(wanted, rel=1e-13)


def test_the_mass_matrix_is_undone():
    mass, values = MassMatrix(clustered_nodes(9)), np.random.default_rng(0).random((2, 9, 3))
    np.testing.assert_allclose(mass.solve(mass.times(values)), values, rtol=1e-12)
    np.testing.assert_array_equal(mass.times(values)[:, :, :1], mass.times(values[:, :, :1]))


def test_means_by_the_mass_matrix_are_of_higher_than_third_order():
    def miss(n):
        nodes = clustered_nodes(n)
        return abs(node_shares(nodes) @ np.exp(nodes) - (np.e - 1.0))

    # third order at the two ends, where a straight line stands for the parabola; fourth between
    assert miss(21) / miss(41) > 8.0
