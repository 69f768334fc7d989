"""The regression behind every prediction, against scikit-learn, scipy and closed forms."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from learning_makers import CAPS, RULES, logged, stack_of, views_of
from scipy import stats
from scipy.optimize import brentq
from scipy.special import gammaln, logsumexp
from sklearn.linear_model import BayesianRidge, Ridge

from advisor.learning.features import response_of
from advisor.learning.mixture import Mixture, learn, with_intercept
from advisor.learning.model import MachineModel
from advisor.learning.prior import load_prior
from advisor.weld.setting import Setting

RNG = np.random.default_rng(20250303)
ROWS = with_intercept(RNG.normal(size=(7, 3)))
Y = ROWS @ [1.0, 0.8, 0.3, -0.2] + 0.1 * RNG.normal(size=7)
NEW = with_intercept(RNG.normal(size=(5, 3)))
#: Three views that seven rows cannot tell apart for good.
VIEWS = views_of(
    [[1.6, 0.7, 0.2, 0.0], [1.2, 0.1, 0.0, 0.1], [0.8, 0.9, 0.5, -0.3]],
    [[0.4, 0.4, 0.3, 0.5], [0.3, 0.6, 0.3, 0.2], [0.5, 0.2, 0.2, 0.4]],
    [0.09, 0.15, 0.12],
    5.0,
    [0.5, 0.3, 0.2],
)
KNOWN_NOISE = 1e12


def one_view(mean, sd, noise_sd, noise_dof):
    mean, sd = np.broadcast_to(mean, 4), np.broadcast_to(sd, 4)
    return views_of([mean], [sd], [noise_sd], noise_dof)


def alone(view):
    """Return one of the views as the only one."""
    part = slice(view, view + 1)
    return views_of(VIEWS.means[part], VIEWS.sds[part], VIEWS.noise_sds[part], VIEWS.noise_dof)


def joint(view, rows):
    """Location and shape of the joint Student t of responses, no coefficient solved for."""
    shape = VIEWS.noise_sds[view] ** 2 * np.eye(len(rows))
    return rows @ VIEWS.means[view], shape + rows * VIEWS.sds[view] ** 2 @ rows.T


def conditioned(view, rows, y, new):
    """Return the Student t of new responses given the old ones, by conditioning the joint one."""
    mean, shape = joint(view, np.vstack([rows, new]))
    n, dof = len(rows), VIEWS.noise_dof
    old, cross, later = shape[:n, :n], shape[n:, :n], shape[n:, n:]
    gain = cross @ np.linalg.inv(old)
    away = y - mean[:n]
    scale = (dof + away @ np.linalg.inv(old) @ away) / (dof + n) * np.diag(later - gain @ cross.T)
    return stats.t(dof + n, mean[n:] + gain @ away, np.sqrt(scale))


def evidences(rows, y):
    """Return the log density of the responses under each view, by scipy."""
    found = []
    for view in range(3):
        mean, shape = joint(view, rows)
        found.append(stats.multivariate_t(mean, shape, VIEWS.noise_dof).logpdf(y))
    return np.array(found)


def fitted(views=VIEWS, rows=ROWS, y=Y):
    return Mixture(learn(views, rows, y))


def median_and_std(mixture, new):
    """With the noise known a prediction is normal: its median, and its width over the normal's."""
    low, middle, high = mixture.quantiles(new, (0.05, 0.5, 0.95))
    return middle, (high - low) / (2 * stats.norm.ppf(0.95))


# One view: scikit-learn and closed forms


@pytest.mark.parametrize("penalty", [0.01, 1.0, 30.0])
def test_coefficients_equal_ridge_at_the_same_penalty(penalty):
    ridge = Ridge(alpha=penalty).fit(ROWS[:, 1:], Y)
    # Ridge leaves the intercept free: a width of a million.
    widths = np.array([1e6, *[penalty**-0.5] * 3])
    got = fitted(one_view(0.0, widths, 1.0, 5.0)).coef
    assert got == pytest.approx([ridge.intercept_, *ridge.coef_], abs=1e-8)


@pytest.mark.parametrize(("noise_sd", "width"), [(0.1, 0.5), (0.3, 2.0), (1.0, 0.2)])
def test_prediction_equals_bayesian_ridge_with_both_precisions_held(noise_sd, width):
    # Gamma priors this sharp hold alpha and lambda at their ratio.
    sharp = 1e14
    held = BayesianRidge(
        alpha_1=sharp,
        alpha_2=sharp * noise_sd**2,
        lambda_1=sharp,
        lambda_2=sharp * width**2,
        fit_intercept=False,
    ).fit(ROWS, Y)
    mixture = fitted(one_view(0.0, width, noise_sd, KNOWN_NOISE))
    mean, std = held.predict(NEW, return_std=True)
    assert mixture.coef == pytest.approx(held.coef_, abs=1e-8)
    assert np.array(median_and_std(mixture, NEW)) == pytest.approx(np.array([mean, std]), abs=1e-8)


@pytest.mark.parametrize("n", [0, 1, 3, 7])
@pytest.mark.parametrize("view", [0, 1, 2])
def test_prediction_equals_the_conditioned_student_t(view, n):
    expected = conditioned(view, ROWS[:n], Y[:n], NEW)
    mixture = fitted(alone(view), ROWS[:n], Y[:n])
    shares = (0.05, 0.25, 0.5, 0.95)
    got = mixture.quantiles(NEW, shares)
    assert got == pytest.approx(np.array([expected.ppf(share) for share in shares]), abs=1e-9)
    bounds = np.linspace(0.0, 2.0, len(NEW))
    assert mixture.probability_above(NEW, bounds) == pytest.approx(expected.sf(bounds), abs=1e-10)


def test_coefficients_and_their_spread_equal_the_normal_equations():
    view, mean, sd = alone(0), VIEWS.means[0], VIEWS.sds[0]
    weight = np.diag((VIEWS.noise_sds[0] / sd) ** 2)
    inverse = np.linalg.inv(ROWS.T @ ROWS + weight)
    coef = inverse @ (ROWS.T @ Y + weight @ mean)
    rest, moved = Y - ROWS @ coef, coef - mean
    squares = 5.0 * VIEWS.noise_sds[0] ** 2 + rest @ rest + moved @ weight @ moved
    mixture = fitted(view)
    assert mixture.coef == pytest.approx(coef, abs=1e-10)
    assert mixture.scatter == pytest.approx(np.sqrt(squares / 12), abs=1e-10)
    assert mixture.dof == 12
    found, variance = mixture.moments()
    assert found == pytest.approx(coef, abs=1e-10)
    assert variance == pytest.approx(squares / 12 * np.diag(inverse), abs=1e-10)


def test_no_rows_give_the_prior():
    mixture = fitted(rows=ROWS[:0], y=Y[:0])
    assert mixture.weights == pytest.approx(VIEWS.weights)
    assert mixture.coef == pytest.approx(VIEWS.weights @ VIEWS.means)
    assert mixture.dof == VIEWS.noise_dof


# Several views


def log_evidence(views, posterior, n_rows):
    """Log density of all responses: the posterior's weights leave out what all views share."""
    shared = gammaln(posterior.dof / 2) - gammaln(views.noise_dof / 2) - n_rows * np.log(np.pi) / 2
    return float(shared + logsumexp(posterior.log_weights))


def test_evidence_equals_the_multivariate_student_t():
    found = evidences(ROWS, Y)
    for view in range(3):
        only = alone(view)
        assert log_evidence(only, learn(only, ROWS, Y), 7) == pytest.approx(found[view], abs=1e-8)
    together = logsumexp(found, b=VIEWS.weights)
    assert log_evidence(VIEWS, learn(VIEWS, ROWS, Y), 7) == pytest.approx(together, abs=1e-8)
    assert log_evidence(VIEWS, learn(VIEWS, ROWS[:0], Y[:0]), 0) == pytest.approx(0, abs=1e-12)


def test_weights_are_prior_weights_times_evidence():
    expected = VIEWS.weights * np.exp(evidences(ROWS, Y))
    expected /= expected.sum()
    # None is dropped, so the rest below is exact.
    assert expected.min() > 0.001
    assert fitted().weights == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("n", [0, 2, 7])
def test_a_prediction_is_the_weighted_mixture(n):
    weights = VIEWS.weights * np.exp(evidences(ROWS[:n], Y[:n]) if n else np.zeros(3))
    weights /= weights.sum()
    parts = [conditioned(view, ROWS[:n], Y[:n], NEW) for view in range(3)]
    mixture = fitted(rows=ROWS[:n], y=Y[:n])
    bounds = np.linspace(0.0, 2.0, len(NEW))
    above = sum(w * part.sf(bounds) for w, part in zip(weights, parts, strict=True))
    assert mixture.probability_above(NEW, bounds) == pytest.approx(above, abs=1e-9)
    shares = (1e-4, 0.05, 0.25, 0.5, 0.95, 0.9999)
    for row, got in enumerate(mixture.quantiles(NEW, shares).T):

        def over(value, share, row=row):
            return sum(w * p.cdf(value)[row] for w, p in zip(weights, parts, strict=True)) - share

        expected = [brentq(over, -60, 60, args=(share,), xtol=1e-13) for share in shares]
        assert got == pytest.approx(expected, abs=1e-9)


def test_moments_hold_the_spread_between_views_too():
    parts = [fitted(alone(view)) for view in range(3)]
    weights = fitted().weights
    means, variances = np.array([part.moments() for part in parts]).transpose(1, 0, 2)
    mean, variance = fitted().moments()
    assert mean == pytest.approx(weights @ means)
    assert variance == pytest.approx(weights @ (variances + means**2) - mean**2)


def test_a_view_that_foretold_the_rows_far_worse_is_dropped_without_a_trace():
    far = replace(VIEWS, means=VIEWS.means + np.array([[0.0], [0.0], [50.0]]))
    mixture, without = fitted(far), Mixture(learn(first_two(VIEWS), ROWS, Y))
    assert len(mixture.weights) == 2
    assert mixture.weights.sum() == pytest.approx(1)
    got = mixture.quantiles(NEW, (0.1, 0.9))
    assert got == pytest.approx(without.quantiles(NEW, (0.1, 0.9)), abs=1e-9)


def first_two(views):
    weights = views.weights[:2] / views.weights[:2].sum()
    return views_of(views.means[:2], views.sds[:2], views.noise_sds[:2], views.noise_dof, weights)


def test_quantiles_of_views_far_apart_are_found_too():
    # Two humps with hardly anything between them, where Newton's steps go astray.
    views = views_of([[-3.0], [3.0]], [[0.01], [0.01]], [0.01, 0.01], 30.0)
    mixture = Mixture(learn(views, np.empty((0, 1)), np.empty(0)))
    humps = stats.t(30, [-3.0, 3.0], np.hypot(0.01, 0.01))
    shares = (0.001, 0.3, 0.499, 0.501, 0.7, 0.999)
    got = mixture.quantiles(np.ones((1, 1)), shares)[:, 0]
    for share, value in zip(shares, got, strict=True):
        assert humps.cdf(value).mean() == pytest.approx(share, abs=1e-7)


# Whatever is asked

finite = st.floats(-3, 3)
some_rows = st.lists(st.tuples(finite, finite, finite, finite), min_size=1, max_size=8)


@given(some_rows, st.integers(0, 2**32))
def test_order_of_rows_does_not_matter(drawn, seed):
    drawn = np.array(drawn)
    order = np.random.default_rng(seed).permutation(len(drawn))
    there, back = (
        fitted(rows=with_intercept(each[:, 1:]), y=each[:, 0]) for each in (drawn, drawn[order])
    )
    for mixture in (there, back):
        assert np.isfinite(mixture.quantiles(NEW, (0.05, 0.95))).all()
    bounds = np.zeros(len(NEW))
    assert back.probability_above(NEW, bounds) == pytest.approx(
        there.probability_above(NEW, bounds), abs=1e-7
    )


@given(st.lists(st.tuples(st.floats(-6, 6), st.sampled_from([-1, 1])), min_size=3, max_size=3))
def test_rescaling_or_mirroring_inputs_with_their_beliefs_changes_nothing(powers):
    factor = np.array([1.0, *(sign * 10.0**power for power, sign in powers)])
    views = replace(VIEWS, means=VIEWS.means / factor, sds=VIEWS.sds / np.abs(factor))
    got = fitted(views, ROWS * factor).quantiles(NEW * factor, (0.05, 0.5, 0.95))
    assert got == pytest.approx(fitted().quantiles(NEW, (0.05, 0.5, 0.95)), abs=1e-8)


@given(st.lists(st.floats(-3, 3), min_size=3, max_size=3))
def test_where_the_intercept_is_free_the_origin_of_the_inputs_does_not_matter(shift):
    views = one_view(0.5, [1e5, 0.4, 0.3, 0.5], 0.1, 5.0)
    moved = [rows + np.array([0.0, *shift]) for rows in (ROWS, NEW)]
    got = fitted(views, moved[0]).quantiles(moved[1], (0.05, 0.5, 0.95))
    assert got == pytest.approx(fitted(views).quantiles(NEW, (0.05, 0.5, 0.95)), abs=1e-6)


@given(some_rows, st.tuples(finite, finite, finite, finite))
def test_with_known_noise_a_row_widens_no_prediction_anywhere(drawn, added):
    views = one_view(0.5, 0.4, 0.1, KNOWN_NOISE)
    drawn, added = np.array(drawn), np.array([added])
    asked, widths = np.vstack([with_intercept(added[:, 1:]), NEW]), []
    for known in (drawn, np.vstack([drawn, added])):
        mixture = fitted(views, with_intercept(known[:, 1:]), known[:, 0])
        low, high = mixture.quantiles(asked, (0.05, 0.95))
        widths.append(high - low)
    assert np.all(widths[1] <= widths[0] * (1 + 1e-7))


SURE = replace(load_prior(), answers=(), noise_dof=KNOWN_NOISE)
sizes = st.floats(3.5, 7.0)
dials = st.builds(Setting, st.floats(8, 14), st.floats(120, 320), st.floats(2, 4.5))


@given(st.lists(st.tuples(dials, sizes), max_size=5), dials, sizes)
def test_with_known_noise_a_coupon_narrows_the_interval_at_its_setting(history, setting, size):
    pair = stack_of(1.2, 1.2)
    made = [logged(n, pair, *each) for n, each in enumerate([*history, (setting, size)])]
    asked = pd.DataFrame(
        [[setting.current_kA, setting.weld_ms, setting.force_kN]],
        columns=["current_kA", "weld_ms", "force_kN"],
    )
    doubts = []
    for coupons in (made[:-1], made):
        found = MachineModel(RULES, SURE).fit(coupons).predict(pair, CAPS, asked).iloc[0]
        # In the response, where the width is free of the sizes: as a share of a size that the
        # coupon makes smaller it may well grow.
        low, high = response_of(found[["low_mm", "high_mm"]].to_numpy(float) / np.sqrt(1.2))
        width = (high - low) / (2 * stats.norm.ppf(0.95))
        doubts.append((width / SURE.noise_sd) ** 2 - 1)
    # Doubt about the line, in units of the scatter, against one more measurement of it.
    assert doubts[1] == pytest.approx(doubts[0] / (1 + doubts[0]), abs=1e-6)
    assert doubts[1] < doubts[0]


def test_recovers_a_known_line_from_many_rows_whatever_the_views():
    rng = np.random.default_rng(5)
    rows = with_intercept(rng.normal(size=(20_000, 3)))
    response = rows @ [1.5, 0.4, -0.1, 0.2] + 0.2 * rng.normal(size=20_000)
    mixture = fitted(rows=rows, y=response)
    assert mixture.coef == pytest.approx([1.5, 0.4, -0.1, 0.2], abs=0.006)
    assert mixture.scatter == pytest.approx(0.2, abs=0.004)
