"""Bayesian logistic regression for few rows: a yes or no that is never sure of itself too early.

Coefficients are normal a priori. Their posterior is approximated by the normal that expectation
propagation finds: each row is stood in for by a normal site whose moments match, one after the
other, what the row does to all the rest. A normal around the mode (Laplace) was tried first and is
too deaf: ten coupons without expulsion where one in twelve was expected hardly moved it, because
the curve is flat at the mode. A prediction averages the chance over the posterior, so what is not
known pulls it towards one half. Without rows it is exact.
"""

from __future__ import annotations

from typing import Self

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr

Floats = NDArray[np.float64]

#: The logistic curve as a mixture of four normal distribution functions (weights, and factors on
#: the argument), fitted by least squares: nowhere off by more than 6e-6 (computed). A normal
#: average of each part is again a normal distribution function, so no quadrature is needed.
_WEIGHTS = np.array([0.05992806, 0.36995417, 0.1096794, 0.46043837])
_FACTORS = np.array([0.32051243, 0.47358485, 1.01918631, 0.69587668])
_ROUNDS = 200
#: Change at which the sites have settled. Choice of this project: far below what a coupon tells.
_TOLERANCE = 1e-7
#: All sites move at once; taking only part of each move keeps them from swinging.
_DAMPING = 0.9
#: Keeps the chance of an outcome that was all but impossible above zero.
_TINY = 1e-300


class BayesianLogistic:
    """Logistic regression with independent normal priors.

    Parameters
    ----------
    mean, sd : array-like of shape (n_features + 1,)
        Prior of the intercept, then of each coefficient. [log-odds per unit of x]

    Attributes
    ----------
    coef_ : ndarray of shape (n_features + 1,)
        Posterior means, intercept first; before `fit` those of the prior. [log-odds per unit of x]
    """

    def __init__(self, mean: ArrayLike, sd: ArrayLike) -> None:
        self.mean = np.asarray(mean, float)
        self.sd = np.asarray(sd, float)
        self.coef_ = self.mean
        self._moved: Floats = np.zeros(len(self.mean))
        self._cov: Floats = np.eye(len(self.mean))

    def fit(self, X: Floats, y: ArrayLike) -> Self:
        """Fit to rows; their order does not matter, and there may be none.

        Parameters
        ----------
        X : ndarray of shape (n_rows, n_features)
            Inputs.
        y : array-like of shape (n_rows,)
            Whether it happened.

        Returns
        -------
        BayesianLogistic
            Itself.
        """
        # Equal rows have equal sites, so each kind is worked out once: a bench dials few settings.
        outcomes = np.column_stack([X, np.where(np.asarray(y, bool), 1.0, -1.0)])
        kinds, count = np.unique(outcomes, axis=0, return_counts=True)
        X, sign = kinds[:, :-1], kinds[:, -1]
        # In units of prior standard deviation the prior is N(0, 1), safe whatever the units of x.
        whitened = self._whiten(X)
        offset = self._prior_odds(X)
        precision, pull = np.zeros(len(X)), np.zeros(len(X))
        moved = self._update(whitened, count * precision, count * pull)
        for _ in range(_ROUNDS):
            mean, variance = whitened @ moved, self._variance(whitened)
            wanted = _sites(sign, offset, mean, variance, precision, pull)
            precision = precision + _DAMPING * (wanted[0] - precision)
            pull = pull + _DAMPING * (wanted[1] - pull)
            before, moved = moved, self._update(whitened, count * precision, count * pull)
            if np.max(np.abs(moved - before)) < _TOLERANCE:
                break
        self._moved = moved
        self.coef_ = self.mean + moved * self.sd
        return self

    def _update(self, whitened: Floats, precision: Floats, pull: Floats) -> Floats:
        # The matrix is 1 plus something positive, so its plain inverse is safe.
        grown = np.eye(len(self.mean)) + (whitened.T * precision) @ whitened
        self._cov = np.asarray(np.linalg.inv(grown), float)
        return np.asarray(self._cov @ (whitened.T @ pull))

    def _variance(self, whitened: Floats) -> Floats:
        return np.asarray(np.sum((whitened @ self._cov) * whitened, axis=1))

    def probability(self, X: Floats) -> Floats:
        """Return the chance that it happens, averaged over what is not known.

        Parameters
        ----------
        X : ndarray of shape (n_rows, n_features)
            Inputs.

        Returns
        -------
        ndarray of shape (n_rows,)
            Chances, 0 to 1.
        """
        whitened = self._whiten(X)
        odds = self._prior_odds(X) + whitened @ self._moved
        return averaged_chance(odds, self._variance(whitened))

    def _prior_odds(self, X: Floats) -> Floats:
        return np.asarray(self.mean[0] + X @ self.mean[1:])

    def _whiten(self, X: Floats) -> Floats:
        return np.asarray(np.column_stack([np.ones(len(X)), X]) * self.sd)


def averaged_chance(mean: ArrayLike, variance: ArrayLike) -> Floats:
    """Return the chance whose log-odds are normal, averaged over them.

    Parameters
    ----------
    mean, variance : float or array-like of shape (n_rows,)
        Mean and variance of the log-odds.

    Returns
    -------
    ndarray of shape (n_rows,)
        Chances, 0 to 1, to about 1e-5.
    """
    odds, spread = np.asarray(mean, float), np.asarray(variance, float)
    chance = np.zeros(np.broadcast_shapes(odds.shape, spread.shape))
    for weight, factor in zip(_WEIGHTS, _FACTORS, strict=True):
        chance += weight * ndtr(factor * odds / np.sqrt(1 + factor**2 * spread))
    return chance


def _sites(
    sign: Floats,
    offset: Floats,
    mean: Floats,
    variance: Floats,
    precision: Floats,
    pull: Floats,
) -> tuple[Floats, Floats]:
    """Return the site of each row, as precision and pull, that matches its moments."""
    rest_variance = variance / (1 - variance * precision)
    rest_mean = rest_variance * (mean / variance - pull)
    first, second = _log_slopes(sign * (offset + rest_mean), rest_variance)
    narrowing = 1 + second * rest_variance
    return (
        np.maximum(0.0, -second / narrowing),
        (sign * first - second * rest_mean) / narrowing,
    )


def _log_slopes(odds: Floats, variance: Floats) -> tuple[Floats, Floats]:
    """Return first and second derivative of log `averaged_chance` by the mean."""
    steepness = _FACTORS / np.sqrt(1 + np.outer(variance, _FACTORS**2))
    argument = odds[:, None] * steepness
    density = _WEIGHTS * steepness * np.exp(-(argument**2) / 2) / np.sqrt(2 * np.pi)
    chance = np.maximum(_TINY, ndtr(argument) @ _WEIGHTS)
    first = density.sum(axis=1) / chance
    second = -(density * argument * steepness).sum(axis=1) / chance - first**2
    return first, second
