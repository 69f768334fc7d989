"""The generic models are what they say they are: scikit-learn's own, on standardised logs."""

import numpy as np
import pytest
from scipy import stats
from sklearn.linear_model import BayesianRidge

from advisor.learning.generic import GENERIC, LEVELS

RNG = np.random.default_rng(8)
X = RNG.normal(0, 0.2, (12, 3))
SIZE = np.exp(1.6 + X @ [0.7, 0.2, -0.2] + RNG.normal(0, 0.05, 12))
NEW = RNG.normal(0, 0.2, (5, 3))


def test_the_mean_has_the_student_t_interval_of_one_new_weld():
    found = GENERIC["mean"](X, SIZE, NEW)
    assert found.size_mm == pytest.approx(np.full(5, SIZE.mean()))
    for level, low, high in zip(LEVELS, found.low_mm, found.high_mm, strict=True):
        expected = stats.t(11, SIZE.mean(), stats.sem(SIZE) * np.sqrt(13)).interval(level)
        assert np.array([low, high]) == pytest.approx(np.tile(expected, (5, 1)).T)


def test_the_interval_of_the_mean_holds_what_it_says_with_three_coupons():
    rng, inside = np.random.default_rng(9), []
    for _ in range(2000):
        size = rng.normal(5, 0.4, 4)
        found = GENERIC["mean"](np.empty((3, 0)), size[:3], np.empty((1, 0)))
        inside.append((found.low_mm[:, 0] <= size[3]) & (size[3] <= found.high_mm[:, 0]))
    assert np.mean(inside, axis=0) == pytest.approx(LEVELS, abs=0.04)


def test_bayesian_ridge_is_that_of_scikit_learn_on_standardised_logs():
    middle, spread = X.mean(axis=0), X.std(axis=0)
    response = np.log(SIZE)
    model = BayesianRidge().fit((X - middle) / spread, response)
    # Its priors on the precisions are all but flat, so the unit of the response hardly matters.
    mean, sd = model.predict((NEW - middle) / spread, return_std=True)
    found = GENERIC["bayesian_ridge"](X, SIZE, NEW)
    assert np.log(found.size_mm) == pytest.approx(mean, abs=1e-4)
    half = stats.norm.ppf(0.95) * sd
    assert np.log(found.low_mm[1]) == pytest.approx(mean - half, abs=1e-3)
    assert np.log(found.high_mm[1]) == pytest.approx(mean + half, abs=1e-3)


def test_the_gaussian_process_bends_where_a_line_cannot():
    x = np.linspace(-1, 1, 25)[:, None]
    size = np.exp(1.6 - 0.4 * x[:, 0] ** 2)
    new = np.array([[-0.97], [0.03], [0.97]])
    truth = np.exp(1.6 - 0.4 * new[:, 0] ** 2)
    found = GENERIC["gaussian_process"](x, size, new)
    assert found.size_mm == pytest.approx(truth, rel=0.01)
    assert GENERIC["bayesian_ridge"](x, size, new).size_mm != pytest.approx(truth, rel=0.03)


@pytest.mark.parametrize("name", GENERIC)
def test_intervals_are_nested_around_the_size(name):
    found = GENERIC[name](X, SIZE, NEW)
    assert found.low_mm.shape == found.high_mm.shape == (len(LEVELS), 5)
    edges = np.array([found.low_mm[1], found.low_mm[0], found.size_mm, *found.high_mm])
    assert (np.diff(edges, axis=0) > 0).all()


@pytest.mark.parametrize("name", GENERIC)
def test_units_of_the_inputs_do_not_matter(name):
    # In logarithms another unit is a shift; powers are a change of scale.
    there = GENERIC[name](X, SIZE, NEW)
    back = GENERIC[name](3 * X + [7, 0, -2], SIZE, 3 * NEW + [7, 0, -2])
    assert back.size_mm == pytest.approx(there.size_mm, rel=1e-4)
    assert back.high_mm == pytest.approx(there.high_mm, rel=1e-4)


@pytest.mark.parametrize("name", GENERIC)
def test_equal_sizes_and_inputs_that_do_not_vary_are_taken(name):
    flat = GENERIC[name](np.ones((3, 2)), np.full(3, 5.0), np.ones((2, 2)))
    assert flat.size_mm == pytest.approx([5, 5])
    assert np.isfinite(flat.low_mm).all()
