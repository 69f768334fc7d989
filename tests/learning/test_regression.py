import numpy as np
import pytest
from scipy import stats
from sklearn.base import clone
from sklearn.exceptions import NotFittedError
from sklearn.linear_model import Ridge

from advisor.learning.regression import ConjugateRegression

RNG = np.random.default_rng(20250303)
X = RNG.normal(size=(7, 3))
Y = 1.0 + X @ [0.8, 0.3, -0.2] + 0.1 * RNG.normal(size=7)
NEW = RNG.normal(size=(4, 3))
PRIOR = {
    "intercept_mean": 1.6,
    "intercept_sd": 0.2,
    "coef_mean": np.array([0.7, 0.2, 0.0]),
    "coef_sd": np.array([0.4, 0.3, 0.5]),
    "noise_sd": 0.09,
    "noise_dof": 5.0,
}


def everything(model, rows):
    mean, std = model.predict(rows, return_std=True)
    low, high = model.predict_interval(rows)
    return np.array([mean, std, low, high, model.probability_above(rows, 1.5)])


def multivariate_t(x, y, new):
    """Condition the joint Student t of old and new responses: no coefficient is solved for."""
    rows = np.column_stack([np.ones(len(x) + len(new)), np.vstack([x, new])])
    mean = rows @ np.concatenate([[PRIOR["intercept_mean"]], PRIOR["coef_mean"]])
    sds = np.concatenate([[PRIOR["intercept_sd"]], PRIOR["coef_sd"]])
    joint = PRIOR["noise_sd"] ** 2 * np.eye(len(rows)) + rows * sds**2 @ rows.T
    n, dof = len(x), PRIOR["noise_dof"]
    old, cross, later = joint[:n, :n], joint[n:, :n], joint[n:, n:]
    gain = cross @ np.linalg.inv(old)
    location = mean[n:] + gain @ (y - mean[:n])
    distance = (y - mean[:n]) @ np.linalg.inv(old) @ (y - mean[:n])
    scale = (dof + distance) / (dof + n) * np.diag(later - gain @ cross.T)
    return stats.t(dof + n, location, np.sqrt(scale))


@pytest.mark.parametrize("n", [0, 1, 3, 7])
def test_predictions_equal_the_closed_form(n):
    model = ConjugateRegression(**PRIOR).fit(X[:n], Y[:n])
    expected = multivariate_t(X[:n], Y[:n], NEW)
    mean, std, low, high, above = everything(model, NEW)
    assert mean == pytest.approx(expected.mean(), abs=1e-12)
    assert std == pytest.approx(expected.std(), abs=1e-12)
    assert low == pytest.approx(expected.ppf(0.05), abs=1e-11)
    assert high == pytest.approx(expected.ppf(0.95), abs=1e-11)
    assert above == pytest.approx(expected.sf(1.5), abs=1e-12)


def test_coefficients_equal_the_normal_equations():
    model = ConjugateRegression(**PRIOR).fit(X, Y)
    rows = np.column_stack([np.ones(7), X])
    prior_mean = np.concatenate([[PRIOR["intercept_mean"]], PRIOR["coef_mean"]])
    weight = np.diag(np.concatenate([[PRIOR["intercept_sd"]], PRIOR["coef_sd"]]) ** -2.0)
    weight *= PRIOR["noise_sd"] ** 2
    expected = np.linalg.solve(rows.T @ rows + weight, rows.T @ Y + weight @ prior_mean)
    assert [model.intercept_, *model.coef_] == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize("alpha", [0.01, 1.0, 30.0])
def test_coefficients_equal_ridge_at_the_same_penalty(alpha):
    ridge = Ridge(alpha=alpha).fit(X, Y)
    model = ConjugateRegression(intercept_sd=1e6, coef_sd=alpha**-0.5, noise_sd=1.0).fit(X, Y)
    assert model.coef_ == pytest.approx(ridge.coef_, abs=1e-8)
    assert model.intercept_ == pytest.approx(ridge.intercept_, abs=1e-8)


def test_zero_rows_give_the_prior():
    model = ConjugateRegression(**PRIOR).fit(np.empty((0, 3)), np.empty(0))
    assert model.coef_ == pytest.approx(PRIOR["coef_mean"])
    assert (model.intercept_, model.noise_sd_, model.dof_) == pytest.approx((1.6, 0.09, 5.0))
    low, high = model.predict_interval(np.zeros((1, 3)))
    half = stats.t(5).ppf(0.95) * np.hypot(0.2, 0.09)
    assert [low[0], high[0]] == pytest.approx([1.6 - half, 1.6 + half])


def test_row_order_does_not_matter():
    order = RNG.permutation(7)
    first = ConjugateRegression(**PRIOR).fit(X, Y)
    second = ConjugateRegression(**PRIOR).fit(X[order], Y[order])
    assert everything(second, NEW) == pytest.approx(everything(first, NEW), abs=1e-10)


@pytest.mark.parametrize("shift", [1.0, np.array([1000.0, -3.0, 0.5])])
def test_shifting_the_inputs_with_their_origin_changes_nothing(shift):
    first = ConjugateRegression(**PRIOR).fit(X, Y)
    second = ConjugateRegression(**PRIOR, origin=shift).fit(X + shift, Y)
    assert everything(second, NEW + shift) == pytest.approx(everything(first, NEW), abs=1e-9)


def test_rescaling_the_inputs_with_their_prior_changes_nothing():
    factor = np.array([1000.0, 0.001, -2.0])
    changed = PRIOR | {
        "coef_mean": PRIOR["coef_mean"] / factor,
        "coef_sd": PRIOR["coef_sd"] / np.abs(factor),
    }
    first = ConjugateRegression(**PRIOR).fit(X, Y)
    second = ConjugateRegression(**changed).fit(X * factor, Y)
    assert everything(second, NEW * factor) == pytest.approx(everything(first, NEW), abs=1e-10)


def test_rows_one_by_one_can_only_narrow_what_is_known_of_the_line():
    # With the noise known (very many degrees of freedom) no row may widen an interval.
    known = PRIOR | {"noise_dof": 1e9}
    widths = []
    for n in range(8):
        low, high = ConjugateRegression(**known).fit(X[:n], Y[:n]).predict_interval(NEW)
        widths.append(high - low)
    assert np.all(np.diff(widths, axis=0) < 1e-9)


def test_recovers_a_known_line_from_many_rows():
    rng = np.random.default_rng(5)
    rows = rng.normal(size=(20_000, 3))
    response = 1.5 + rows @ [0.4, -0.1, 0.2] + 0.2 * rng.normal(size=20_000)
    model = ConjugateRegression(**PRIOR).fit(rows, response)
    assert [model.intercept_, *model.coef_] == pytest.approx([1.5, 0.4, -0.1, 0.2], abs=0.006)
    assert model.noise_sd_ == pytest.approx(0.2, abs=0.004)


def test_standard_deviation_is_infinite_with_two_degrees_of_freedom():
    model = ConjugateRegression(noise_dof=2.0).fit(np.empty((0, 1)), np.empty(0))
    assert np.isinf(model.predict(np.zeros((1, 1)), return_std=True)[1]).all()


def test_clone_and_parameters_follow_the_conventions():
    model = ConjugateRegression(**PRIOR)
    copy = clone(model)
    assert copy.get_params().keys() == model.get_params().keys()
    assert copy.fit(X, Y).score(X, Y) == pytest.approx(model.fit(X, Y).score(X, Y))


def test_unfitted_and_wrongly_shaped_questions_are_refused():
    with pytest.raises(NotFittedError, match="is not fitted yet"):
        ConjugateRegression().predict(X)
    with pytest.raises(ValueError, match="X has 2 features"):
        ConjugateRegression(**PRIOR).fit(X, Y).predict(X[:, :2])
