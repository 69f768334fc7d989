"""The solver against solutions that are known exactly."""

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import erf, erfc, j0

from advisor.heat.diffusion import given_off, heat_step, links, steady
from advisor.heat.mesh import Grid, graded, joined
from advisor.heat.properties import Material


class Body:
    """One material everywhere."""

    def __init__(self, material):
        self.temperature, self.slope = material.temperature, material.slope


def plain(temperature, enthalpy):
    ones = np.ones_like(temperature)
    return Material(temperature, enthalpy, ones, ones, ones)


def test_a_slab_cools_as_its_series_says():
    """Slab of unit thickness at 1, both faces held at 0, unit properties."""
    table = np.array([-1.0, 0.0, 2.0])
    body = Body(plain(table, table))
    grid = Grid(np.array([0.0, 1.0]), np.linspace(0, 1, 81))
    link = links(grid, np.ones(grid.shape))
    heat, left, seconds = np.ones(grid.shape), 0.0, 2e-5
    for _ in range(5000):
        heat, warm, out = heat_step(
            body, grid.volumes, link, heat, 0.0, seconds, (0.0, 0.0), passes=1
        )
        left += out
    odd = np.arange(1, 60, 2)[:, None]
    series = np.sum(
        4 / (odd * np.pi) * np.sin(odd * np.pi * grid.z) * np.exp(-((odd * np.pi) ** 2) * 0.1),
        axis=0,
    )
    assert np.max(np.abs(warm[:, 0] / series - 1)) < 1e-3
    assert left == pytest.approx(np.sum(grid.volumes * (1 - heat)), rel=1e-9)


def test_the_front_of_a_freezing_melt_is_where_neumann_has_it():
    """Two-phase Stefan problem: melt at 0.5 over the melting point, face held 1 below it."""
    latent, seconds, end = 2.0, 5e-5, 0.05
    width = 0.01
    table = np.array([-3.0, -width, width, 3.0])
    body = Body(plain(table, np.array([-3.0, -width, latent + width, latent + 3.0])))
    grid = Grid(np.array([0.0, 1.0]), joined(np.linspace(0, 0.4, 161), graded(0.4, 3, 0.0025, 40)))
    link = links(grid, np.ones(grid.shape))
    heat = np.full(grid.shape, latent + 0.5)
    for _ in range(round(end / seconds)):
        heat, _warm, _ = heat_step(
            body, grid.volumes, link, heat, 0.0, seconds, (-1.0, 0.5), passes=3
        )
    solid = np.clip((latent + width - heat[:, 0]) / (latent + 2 * width), 0, 1)
    front = np.sum(solid * grid.heights)

    def stefan(lam):
        gaussian = np.exp(-(lam**2)) / np.sqrt(np.pi)
        return gaussian * (1 / erf(lam) - 0.5 / erfc(lam)) - lam * latent

    exact = 2 * brentq(stefan, 1e-3, 2) * np.sqrt(end)
    assert front == pytest.approx(exact, rel=0.01)


def half_space(radius, reach=400.0):
    near = radius * graded(1.0, 0.0, 0.01, 24)[::-1]
    far = radius * graded(1.0, reach, 0.01, 60)
    return Grid(joined(near, far), radius * graded(0.0, reach, 0.01, 60))


def test_a_round_contact_has_holms_constriction():
    """Current from a disc into a half space meets ρ/(4a); through two of them ρ/(2a)."""
    radius, resistivity = 0.7, 3.0
    one = half_space(radius)
    both = Grid(one.r_faces, joined(-one.z_faces[::-1], one.z_faces))
    middle = len(one.z_faces) - 2
    touching = both.inside(radius)
    link = links(
        both,
        np.full(both.shape, 1 / resistivity),
        [(middle, np.zeros(both.shape[1]), touching)],
    )
    potential = steady(link, 1.0, 0.0)
    current = np.sum(link.ends[0] * (1.0 - potential[0]))
    bulk = resistivity * np.ptp(both.z_faces) / (np.pi * both.r_faces[-1] ** 2)
    assert 1 / current - bulk == pytest.approx(resistivity / (2 * radius), rel=0.01)
    upper = (1 / current - bulk) / 2
    assert upper == pytest.approx(resistivity / (4 * radius), rel=0.01)
    assert np.sum(given_off(link, potential, 1.0, 0.0)) == pytest.approx(current, rel=1e-6)


def error_of_smooth_case(cells):
    """φ = J0(λr) cosh(λz) in a can whose side lets nothing through, λ the first zero of J0'."""
    zero = 3.8317059702075125
    grid = Grid(np.linspace(0, 1, cells + 1), np.linspace(0, 1, cells + 1))
    values = j0(zero * grid.r)
    found = steady(links(grid, np.ones(grid.shape)), values, values * np.cosh(zero))
    exact = values * np.cosh(zero * grid.z[:, None])
    return np.sqrt(np.average((found - exact) ** 2, weights=grid.volumes))


def test_the_error_falls_with_the_square_of_the_cell():
    coarse, fine = error_of_smooth_case(20), error_of_smooth_case(40)
    assert np.log2(coarse / fine) >= 1.8


def test_a_contact_adds_its_resistance():
    grid = Grid(np.array([0.0, 1.0, 2.0]), np.linspace(0, 1, 11))
    link = links(grid, np.full(grid.shape, 4.0), [(4, np.full(2, 0.75), np.ones(2))])
    potential = steady(link, 1.0, 0.0)
    current = np.sum(link.ends[0] * (1.0 - potential[0]))
    assert current == pytest.approx(4 * np.pi / (0.25 + 0.75), rel=1e-9)
