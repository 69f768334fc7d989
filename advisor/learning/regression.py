"""Bayesian linear regression that stays honest with no, one or three coupons.

Conjugate normal-inverse-gamma model: given the noise variance s², the coefficients are normal
around their prior means and their variance is a multiple of s²; s² itself is scaled inverse
chi-squared. The answer is exact and every prediction is a Student t, whose tails shrink as rows
come in. A regression that estimates its noise from few rows alone is far too sure.
"""

from __future__ import annotations

from typing import Any, Self

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.linalg import cho_solve, cholesky, solve_triangular
from scipy.special import stdtr, stdtrit
from sklearn.base import BaseEstimator, RegressorMixin
from sklearn.utils.validation import check_is_fitted, validate_data

Floats = NDArray[np.float64]


class ConjugateRegression(RegressorMixin, BaseEstimator):  # type: ignore[misc]  # untyped bases
    """Linear regression with a normal-inverse-gamma prior.

    Parameters
    ----------
    intercept_mean, intercept_sd : float
        Prior of the response at `origin`. [y]
    coef_mean, coef_sd : float or array-like of shape (n_features,)
        Prior of each coefficient; independent of each other. [y per unit of x]
    noise_sd : float
        Prior scale of the noise. [y]
    noise_dof : float
        Degrees of freedom `noise_sd` is worth, above 0.
    origin : float or array-like of shape (n_features,)
        Where in x the prior of the intercept is stated. [x]

    Attributes
    ----------
    coef_ : ndarray of shape (n_features,)
        Posterior means. [y per unit of x]
    intercept_ : float
        Posterior mean of the response at x = 0. [y]
    noise_sd_ : float
        Posterior scale of the noise. [y]
    dof_ : float
        Degrees of freedom of every prediction: `noise_dof` + n_rows.

    Notes
    -----
    The standard deviations are those at s = `noise_sd`: with the noise unknown, a coefficient is
    marginally a Student t of that scale. Zero rows are allowed and give the prior.
    """

    def __init__(
        self,
        *,
        intercept_mean: float = 0.0,
        intercept_sd: float = 1.0,
        coef_mean: ArrayLike = 0.0,
        coef_sd: ArrayLike = 1.0,
        noise_sd: float = 1.0,
        noise_dof: float = 4.0,
        origin: ArrayLike = 0.0,
    ) -> None:
        self.intercept_mean = intercept_mean
        self.intercept_sd = intercept_sd
        self.coef_mean = coef_mean
        self.coef_sd = coef_sd
        self.noise_sd = noise_sd
        self.noise_dof = noise_dof
        self.origin = origin

    def fit(self, X: ArrayLike, y: ArrayLike) -> Self:
        """Fit to rows; their order does not matter.

        Parameters
        ----------
        X : array-like of shape (n_rows, n_features)
            Inputs; n_rows may be 0.
        y : array-like of shape (n_rows,)
            Response.

        Returns
        -------
        ConjugateRegression
            Itself.
        """
        rows, response = validate_data(
            self, X, y, dtype=np.float64, y_numeric=True, ensure_min_samples=0
        )
        count = rows.shape[1]
        self._origin = np.broadcast_to(np.asarray(self.origin, float), count)
        means = np.broadcast_to(np.asarray(self.coef_mean, float), count)
        sds = np.broadcast_to(np.asarray(self.coef_sd, float), count)
        # In units of prior standard deviation every coefficient has the prior N(0, s²): the matrix
        # to factor is then 1 + ZᵀZ, safe whatever the units of x.
        self._scale = np.concatenate([[self.intercept_sd], sds]) / self.noise_sd
        whitened = self._whiten(rows)
        expected = self.intercept_mean + (rows - self._origin) @ means
        self._factor = cholesky(np.eye(count + 1) + whitened.T @ whitened, lower=True)
        moved = cho_solve((self._factor, True), whitened.T @ (response - expected))
        misfit = response - expected - whitened @ moved
        squares = self.noise_dof * self.noise_sd**2 + misfit @ misfit + moved @ moved
        self.dof_ = float(self.noise_dof + len(response))
        self.noise_sd_ = float(np.sqrt(squares / self.dof_))
        shift = moved * self._scale
        self.coef_ = means + shift[1:]
        self.intercept_ = float(self.intercept_mean + shift[0] - self._origin @ self.coef_)
        return self

    def _whiten(self, rows: Floats) -> Floats:
        return np.column_stack([np.ones(len(rows)), rows - self._origin]) * self._scale

    def _location_and_scale(self, X: ArrayLike) -> tuple[Floats, Floats]:
        check_is_fitted(self)
        rows = validate_data(self, X, dtype=np.float64, ensure_min_samples=0, reset=False)
        leverage = solve_triangular(self._factor, self._whiten(rows).T, lower=True)
        scale = self.noise_sd_ * np.sqrt(1.0 + np.sum(leverage**2, axis=0))
        return self.intercept_ + rows @ self.coef_, scale

    def predict(self, X: ArrayLike, return_std: bool = False) -> Any:
        """Predict new rows.

        Parameters
        ----------
        X : array-like of shape (n_rows, n_features)
            Inputs.
        return_std : bool
            Whether to return the standard deviation too.

        Returns
        -------
        mean : ndarray of shape (n_rows,)
            Mean of the predictive distribution. [y]
        std : ndarray of shape (n_rows,)
            Only with `return_std`: standard deviation of one new row, noise included; infinite
            with two degrees of freedom or fewer. [y]
        """
        mean, scale = self._location_and_scale(X)
        if not return_std:
            return mean
        spread = np.sqrt(self.dof_ / (self.dof_ - 2)) if self.dof_ > 2 else np.inf
        return mean, scale * spread

    def predict_interval(self, X: ArrayLike, level: float = 0.9) -> tuple[Floats, Floats]:
        """Return the two-sided Student-t interval of one new row.

        Parameters
        ----------
        X : array-like of shape (n_rows, n_features)
            Inputs.
        level : float
            Share of new rows that should fall inside, above 0 and below 1.

        Returns
        -------
        low, high : ndarray of shape (n_rows,)
            Ends of the interval. [y]
        """
        mean, scale = self._location_and_scale(X)
        half = scale * float(stdtrit(self.dof_, (1 + level) / 2))
        return mean - half, mean + half

    def probability_above(self, X: ArrayLike, y: ArrayLike) -> Floats:
        """Return the chance that one new row comes out above a value.

        Parameters
        ----------
        X : array-like of shape (n_rows, n_features)
            Inputs.
        y : float or array-like of shape (n_rows,)
            The value. [y]

        Returns
        -------
        ndarray of shape (n_rows,)
            Chances, 0 to 1.
        """
        mean, scale = self._location_and_scale(X)
        return np.asarray(stdtr(self.dof_, (mean - np.asarray(y, float)) / scale))
