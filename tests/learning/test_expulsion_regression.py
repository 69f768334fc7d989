"""The regression under the model of expulsion, against exact integration and scikit-learn."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import dblquad, quad
from scipy.special import expit
from sklearn.linear_model import LogisticRegression

from advisor.learning.logistic import BayesianLogistic, averaged_chance


def normal(x, mean, sd):
    return np.exp(-(((x - mean) / sd) ** 2) / 2) / (sd * np.sqrt(2 * np.pi))


def exact_chance(mean, sd, happened, not_happened):
    """Return the posterior chance with an intercept only, by numeric integration."""

    def posterior(a):
        return normal(a, mean, sd) * expit(a) ** happened * expit(-a) ** not_happened

    ends = mean - 12 * sd, mean + 12 * sd
    whole = quad(posterior, *ends, limit=500, points=[mean])[0]
    return quad(lambda a: posterior(a) * expit(a), *ends, limit=500, points=[mean])[0] / whole


@given(st.floats(-12, 12), st.floats(0.01, 5))
def test_averaged_chance_is_the_integral(mean, sd):
    ends = mean - 10 * sd, mean + 10 * sd
    exact = quad(lambda a: normal(a, mean, sd) * expit(a), *ends, limit=500, points=[mean])[0]
    assert averaged_chance(mean, sd**2) == pytest.approx(exact, abs=1e-5)


@pytest.mark.parametrize("mean", [-7.0, -2.3, 0.0])
@pytest.mark.parametrize(
    ("happened", "not_happened"), [(0, 0), (1, 0), (0, 1), (0, 10), (3, 7), (3, 0)]
)
def test_one_dimension_agrees_with_numeric_integration(mean, happened, not_happened):
    rows = np.empty((happened + not_happened, 0))
    model = BayesianLogistic([mean], [2.5]).fit(rows, [True] * happened + [False] * not_happened)
    got = model.probability(np.empty((1, 0)))[0]
    exact = exact_chance(mean, 2.5, happened, not_happened)
    assert got == pytest.approx(exact, abs=0.003)


def test_two_dimensions_agree_with_numeric_integration():
    x, y = np.array([-0.1, 0.0, 0.1, 0.2]), np.array([0, 0, 0, 1])
    model = BayesianLogistic([-3, 20], [2, 6]).fit(x[:, None], y)

    def posterior(slope, at_zero):
        odds = at_zero + slope * x
        likelihood = np.prod(np.where(y, expit(odds), expit(-odds)))
        return normal(at_zero, -3, 2) * normal(slope, 20, 6) * likelihood

    box = (-15, 9, -10, 50)
    whole = dblquad(posterior, *box, epsabs=1e-9)[0]
    for new in (0.0, 0.15, 0.3):
        exact = (
            dblquad(lambda b, a, n=new: posterior(b, a) * expit(a + b * n), *box, epsabs=1e-9)[0]
            / whole
        )
        assert model.probability(np.array([[new]]))[0] == pytest.approx(exact, abs=0.003)


def test_with_many_rows_it_is_ridge_logistic_regression_of_the_same_penalty():
    # scikit-learn minimises Σ loss + |w|²/(2C): a prior N(0, sd²) is C = sd².
    rng = np.random.default_rng(5)
    X = rng.normal(size=(4000, 2))
    y = rng.random(4000) < expit(-1 + 2 * X[:, 0] - X[:, 1])
    ours = BayesianLogistic([0, 0, 0], [0.7, 0.7, 0.7]).fit(X, y).coef_
    theirs = LogisticRegression(C=0.49, fit_intercept=False, tol=1e-10, max_iter=1000)
    theirs.fit(np.column_stack([np.ones(4000), X]), y)
    # The mean of a nearly normal posterior is off its mode by about 1/n of itself.
    assert ours == pytest.approx(theirs.coef_[0], rel=0.003)


def test_order_and_units_of_the_rows_change_nothing():
    rng = np.random.default_rng(6)
    X, y = rng.normal(size=(12, 2)), rng.random(12) < 0.4
    model = BayesianLogistic([-1, 2, 0], [2, 1, 3]).fit(X, y)
    turned = BayesianLogistic([-1, 2, 0], [2, 1, 3]).fit(X[::-1], y[::-1])
    scaled = BayesianLogistic([-1, 0.002, 0], [2, 0.001, 3]).fit(X * [1000, 1], y)
    new = rng.normal(size=(5, 2))
    assert turned.probability(new) == pytest.approx(model.probability(new), abs=1e-7)
    assert scaled.probability(new * [1000, 1]) == pytest.approx(model.probability(new), abs=1e-7)


@pytest.mark.parametrize("odds", [-60.0, 60.0])
def test_a_row_that_was_all_but_impossible_is_taken_without_a_crash(odds):
    model = BayesianLogistic([odds], [0.5]).fit(np.empty((1, 0)), [odds < 0])
    chance = model.probability(np.empty((1, 0)))[0]
    assert np.isfinite(chance)
    assert abs(model.coef_[0]) <= 60
