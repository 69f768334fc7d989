"""Rows that only say "below": against exact integration, evidence included."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from learning_makers import views_of
from scipy.integrate import quad
from scipy.special import log_ndtr
from scipy.stats import t

from advisor.learning.censoring import add_bounds
from advisor.learning.mixture import Mixture, learn, with_intercept

DOF = 6.0


def covariance(posterior, view=0):
    """Covariance of the coefficients of one view, given the scatter."""
    units = posterior.units[view] * posterior.scatter[view]
    return units[:, None] * np.linalg.inv(posterior.precisions[view]) * units


def level_of(mean=1.6, sd=0.3, noise_sd=0.09, measured=()):
    """Beliefs about one level, after some measurements of it."""
    measured = np.array(measured)
    return learn(views_of([[mean]], [[sd]], [noise_sd], DOF), np.ones((len(measured), 1)), measured)


def exact_level(before, bounds):
    """Return log evidence, mean and sd of a level after bounds, by numeric integration."""
    mean, sd = before.coefs[0, 0], float(np.sqrt(covariance(before)[0, 0]))
    noise = before.scatter[0]

    def density(level, power):
        logs = log_ndtr((np.array(bounds) - level) / noise).sum() - ((level - mean) / sd) ** 2 / 2
        return np.exp(logs) / (sd * np.sqrt(2 * np.pi)) * level**power

    ends = mean - 14 * sd, mean + 10 * sd
    whole, first, second = (
        quad(density, *ends, args=(power,), limit=800, points=[mean, *bounds], epsabs=1e-14)[0]
        for power in range(3)
    )
    return np.log(whole), first / whole, np.sqrt(second / whole - (first / whole) ** 2)


def changed(before, after):
    evidence = after.log_weights[0] - before.log_weights[0]
    return evidence, after.coefs[0, 0], float(np.sqrt(covariance(after)[0, 0]))


# One coefficient


@pytest.mark.parametrize("bound", [0.9, 1.25, 1.6, 2.2])
@pytest.mark.parametrize("measured", [(), (1.5,), (1.45, 1.6, 1.38)])
def test_one_bound_is_exact(bound, measured):
    before = level_of(measured=measured)
    after = add_bounds(before, np.ones((1, 1)), np.array([bound]))
    assert changed(before, after) == pytest.approx(exact_level(before, [bound]), abs=1e-6)


# Equal bounds are the hardest for expectation propagation: the spread comes out too small.
@pytest.mark.parametrize(
    ("bounds", "log_off", "spread_off"),
    [
        ((1.25, 1.25), 0.05, 0.1),
        ((1.1, 1.3, 1.8), 0.05, 0.1),
        ((1.25,) * 6, 0.1, 0.2),
        ((1.6,) * 20, 0.2, 0.3),
    ],
    ids=["two", "three different", "six", "twenty"],
)
@pytest.mark.parametrize("measured", [(), (1.5,)])
def test_several_bounds_agree_with_integration(bounds, log_off, spread_off, measured):
    before = level_of(measured=measured)
    after = add_bounds(before, np.ones((len(bounds), 1)), np.array(bounds))
    evidence, mean, sd = changed(before, after)
    exact = exact_level(before, list(bounds))
    assert evidence == pytest.approx(exact[0], abs=log_off)
    assert mean == pytest.approx(exact[1], abs=0.1 * exact[2])
    assert sd == pytest.approx(exact[2], rel=spread_off)


# Two coefficients


def exact_line(before, rows, bounds, points=401):
    """Return log evidence, means and covariance of a line after bounds, on a dense grid."""
    mean, cov = before.coefs[0], covariance(before)
    root = np.linalg.cholesky(cov)
    side = np.linspace(-9, 9, points)
    white = np.stack(np.meshgrid(side, side, indexing="ij"), axis=-1).reshape(-1, 2)
    line = mean + white @ root.T
    logs = -(white**2).sum(axis=1) / 2 - np.log(2 * np.pi)
    logs += log_ndtr((bounds - line @ rows.T) / before.scatter[0]).sum(axis=1)
    weight = np.exp(logs) * (side[1] - side[0]) ** 2
    whole = weight.sum()
    centre = weight @ line / whole
    away = line - centre
    return np.log(whole), centre, (away * weight[:, None]).T @ away / whole


LINE = views_of([[1.6, 0.8]], [[0.15, 0.4]], [0.09], DOF)
MEASURED = with_intercept(np.array([[0.1], [0.0], [0.2]]))
SIZES = np.array([1.65, 1.5, 1.72])


@pytest.mark.parametrize("count", [0, 3])
@pytest.mark.parametrize("settings", [(-0.3,), (0.0, -0.2), (-0.4, -0.3, -0.1, 0.1), (0.2,) * 5])
def test_a_line_agrees_with_a_dense_grid(count, settings):
    before = learn(LINE, MEASURED[:count], SIZES[:count])
    rows, bounds = with_intercept(np.array(settings)[:, None]), np.full(len(settings), 1.25)
    after = add_bounds(before, rows, bounds)
    evidence, mean, cov = exact_line(before, rows, bounds)
    sds = np.sqrt(np.diag(cov))
    assert after.log_weights[0] - before.log_weights[0] == pytest.approx(evidence, abs=0.03)
    assert np.abs(after.coefs[0] - mean).max() < 0.08 * sds.min()
    got = covariance(after)
    assert np.sqrt(np.diag(got)) == pytest.approx(sds, rel=0.08)
    assert got[0, 1] / np.prod(sds) == pytest.approx(cov[0, 1] / np.prod(sds), abs=0.08)


def test_the_chance_of_reaching_a_size_agrees_with_the_grid():
    before = learn(LINE, MEASURED, SIZES)
    rows, bounds = with_intercept(np.array([[-0.3], [-0.2]])), np.full(2, 1.25)
    new = with_intercept(np.array([[-0.25], [0.0], [0.25]]))
    mixture = Mixture(add_bounds(before, rows, bounds))
    _, mean, cov = exact_line(before, rows, bounds)
    spread = np.sqrt(np.sum(new @ cov * new, axis=1) + before.scatter[0] ** 2)
    # The posterior is nearly normal here; the tails of the Student t are the mixture's own.
    expected = t(before.dof).sf((1.38 - new @ mean) / spread)
    assert mixture.probability_above(new, np.full(3, 1.38)) == pytest.approx(expected, abs=0.01)


# Between views


def test_views_that_foretold_the_bounds_gain_weight():
    views = views_of([[1.7], [1.2]], [[0.05], [0.05]], [0.09, 0.09], DOF, (0.9, 0.1))
    nothing = learn(views, np.empty((0, 1)), np.empty(0))
    after = Mixture(add_bounds(nothing, np.ones((3, 1)), np.full(3, 1.25)))
    evidence = []
    for view in range(2):
        part = slice(view, view + 1)
        alone = views_of(views.means[part], views.sds[part], views.noise_sds[part], DOF)
        before = learn(alone, np.empty((0, 1)), np.empty(0))
        evidence.append(exact_level(before, [1.25] * 3)[0])
    expected = np.array([0.9, 0.1]) * np.exp(evidence)
    expected /= expected.sum()
    full = np.zeros(2)
    full[-len(after.weights) :] = after.weights
    assert full == pytest.approx(expected, abs=0.002)
    assert full[1] > 0.9


# What a bound may do


def test_no_bounds_change_nothing():
    before = level_of(measured=(1.5,))
    assert add_bounds(before, np.empty((0, 1)), np.empty(0)) is before


@given(st.floats(-1, 1), st.integers(1, 30), st.floats(1.0, 1.7))
def test_a_bound_lowers_what_is_predicted_and_leaves_the_scatter(at, count, bound):
    before = learn(LINE, MEASURED, SIZES)
    rows = with_intercept(np.full((count, 1), at))
    after = add_bounds(before, rows, np.full(count, bound))
    assert (rows[0] @ after.coefs[0]) < (rows[0] @ before.coefs[0])
    assert (after.scatter, after.dof) == (before.scatter, before.dof)
    spread = [rows[0] @ covariance(each) @ rows[0] for each in (before, after)]
    assert spread[1] <= spread[0] * (1 + 1e-9)


def test_a_bound_far_above_says_nothing():
    before = learn(LINE, MEASURED, SIZES)
    after = add_bounds(before, MEASURED, np.full(3, 9.0))
    assert after.coefs == pytest.approx(before.coefs, abs=1e-8)
    assert after.log_weights == pytest.approx(before.log_weights, abs=1e-8)


def test_a_lower_bound_says_more():
    before = level_of()
    levels = [
        add_bounds(before, np.ones((1, 1)), np.array([bound])).coefs[0, 0]
        for bound in (1.0, 1.25, 1.5, 1.9)
    ]
    assert np.all(np.diff(levels) > 0)


@pytest.mark.parametrize("bound", [-30.0, 30.0])
@pytest.mark.parametrize("count", [1, 40])
def test_what_was_all_but_impossible_is_taken_without_a_crash(bound, count):
    after = add_bounds(level_of(sd=0.05), np.ones((count, 1)), np.full(count, bound))
    assert np.isfinite(after.coefs).all()
    assert np.isfinite(after.log_weights).all()
    assert covariance(after)[0, 0] > 0


@given(st.permutations(range(6)))
def test_order_of_bounds_does_not_matter(order):
    rng = np.random.default_rng(3)
    rows, bounds = with_intercept(rng.normal(0, 0.3, (6, 1))), rng.normal(1.3, 0.2, 6)
    before = learn(LINE, MEASURED, SIZES)
    there = add_bounds(before, rows, bounds)
    back = add_bounds(before, rows[list(order)], bounds[list(order)])
    assert back.coefs == pytest.approx(there.coefs, abs=1e-9)
    assert back.log_weights == pytest.approx(there.log_weights, abs=1e-9)


@given(st.floats(-6, 6))
def test_rescaling_an_input_with_its_belief_changes_nothing(power):
    factor = np.array([1.0, 10.0**power])
    scaled = replace(LINE, means=LINE.means / factor, sds=LINE.sds / factor)
    rows, bounds = with_intercept(np.array([[-0.3], [0.1]])), np.full(2, 1.25)
    plain = add_bounds(learn(LINE, MEASURED, SIZES), rows, bounds)
    other = add_bounds(learn(scaled, MEASURED * factor, SIZES), rows * factor, bounds)
    assert other.coefs * factor == pytest.approx(plain.coefs, abs=1e-9)
    assert other.log_weights == pytest.approx(plain.log_weights, abs=1e-9)
