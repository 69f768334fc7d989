"""Many sets of beliefs at once, weighted by how well each foretold the coupons.

Each view of the prior is one conjugate regression (normal-inverse-gamma), whose answer is exact and
whose every prediction is a Student t, with tails that shrink as rows come in. The evidence (the
marginal likelihood) of the coupons turns the prior weights into posterior ones. All views share the
sufficient statistics of the rows, so the cost is one pass over the rows plus a few small matrices,
however many coupons there are. A prediction is the mixture of the views' Student t.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaln, stdtr, stdtrit

from advisor.learning.prior import Views

Floats = NDArray[np.float64]

#: Views that hold less than this share of the weight are dropped from predictions. Choice of this
#: project: no chance changes by as much.
_NEGLIGIBLE = 1e-4
#: Steps of a search, and how near its result is. Choice of this project: more digits than are
#: shown.
_STEPS, _EXACT = 60, 1e-10


@dataclass(frozen=True)
class Posterior:
    """What each view believes after the measured rows.

    Parameters
    ----------
    log_weights : ndarray of shape (n_views,)
        Logs of prior weight times evidence, up to a common constant.
    coefs : ndarray of shape (n_views, 1 + n_features)
        Posterior means, the intercept first.
    units : ndarray of shape (n_views, 1 + n_features)
        Prior standard deviations over the scatter: in these units the prior precision is 1.
    precisions : ndarray of shape (n_views, 1 + n_features, 1 + n_features)
        Posterior precision in those units, over the scatter squared.
    scatter : ndarray of shape (n_views,)
        Posterior scale of the noise.
    dof : float
        Degrees of freedom of every prediction.
    """

    log_weights: Floats
    coefs: Floats
    units: Floats
    precisions: Floats
    scatter: Floats
    dof: float


def with_intercept(inputs: Floats) -> Floats:
    """Return rows with a first column of ones."""
    return np.column_stack([np.ones(len(inputs)), inputs])


def learn(views: Views, rows: Floats, response: Floats) -> Posterior:
    """Update every view with measured rows.

    Parameters
    ----------
    views : Views
        Beliefs before the rows.
    rows : ndarray of shape (n_rows, 1 + n_features)
        Inputs, the first column ones.
    response : ndarray of shape (n_rows,)
        What was measured.

    Returns
    -------
    Posterior
        Beliefs after them.
    """
    # Relative to one shared line, so that the sums of squares do not cancel.
    shared = views.weights @ views.means
    rest, means = response - rows @ shared, views.means - shared
    gram, moment, square = rows.T @ rows, rows.T @ rest, float(rest @ rest)
    units = views.sds / views.noise_sds[:, None]
    precisions = units[:, :, None] * gram * units[:, None, :] + np.eye(rows.shape[1])
    pull = units * (moment - means @ gram)
    moved = np.linalg.solve(precisions, pull[:, :, None])[:, :, 0]
    misfit = square - 2 * means @ moment + np.sum(means @ gram * means, axis=1)
    squares = np.maximum(misfit - np.sum(moved * pull, axis=1), 0.0)
    dof, before = views.noise_dof + len(rest), views.noise_dof * views.noise_sds**2
    evidence = (
        -0.5 * np.linalg.slogdet(precisions)[1]
        + 0.5 * views.noise_dof * np.log(before)
        - 0.5 * dof * np.log(before + squares)
    )
    return Posterior(
        np.log(views.weights) + evidence,
        views.means + units * moved,
        units,
        precisions,
        np.sqrt((before + squares) / dof),
        dof,
    )


class Mixture:
    """Predictions of the views together.

    Parameters
    ----------
    posterior : Posterior
        What each view believes.

    Attributes
    ----------
    weights : ndarray of shape (n_kept,)
        Posterior weights of the views worth keeping; they sum to 1.
    coef : ndarray of shape (1 + n_features,)
        Mean over the views of the intercept and the slopes.
    scatter : float
        Mean over the views of the scale of the noise.
    dof : float
        Degrees of freedom of every view.
    """

    def __init__(self, posterior: Posterior) -> None:
        weights = np.exp(posterior.log_weights - posterior.log_weights.max())
        kept = weights > _NEGLIGIBLE * weights.sum()
        self.weights = weights[kept] / weights[kept].sum()
        self.dof = posterior.dof
        self._coefs, self._scatter = posterior.coefs[kept], posterior.scatter[kept]
        units = posterior.units[kept]
        inverse = np.linalg.inv(posterior.precisions[kept])
        self._spread = units[:, :, None] * inverse * units[:, None, :]
        self.coef = self.weights @ self._coefs
        self.scatter = float(self.weights @ self._scatter)

    def moments(self) -> tuple[Floats, Floats]:
        """Return mean and variance of every coefficient over all views.

        Returns
        -------
        mean, variance : ndarray of shape (1 + n_features,)
            The intercept first; given the scatter, so without the factor dof / (dof - 2).
        """
        own = self._scatter[:, None] ** 2 * np.diagonal(self._spread, axis1=1, axis2=2)
        return self.coef, self.weights @ (own + (self._coefs - self.coef) ** 2)

    def _locations_and_scales(self, rows: Floats) -> tuple[Floats, Floats]:
        """Return the Student t of every view, shape (n_views, n_rows) each."""
        doubt = np.sum(np.matmul(rows, self._spread) * rows, axis=2)
        return self._coefs @ rows.T, self._scatter[:, None] * np.sqrt(1.0 + doubt)

    def probability_above(self, rows: Floats, bounds: Floats) -> Floats:
        """Return the chance that one new row comes out above a value.

        Parameters
        ----------
        rows : ndarray of shape (n_rows, 1 + n_features)
            Inputs, the first column ones.
        bounds : ndarray of shape (n_rows,)
            The values.

        Returns
        -------
        ndarray of shape (n_rows,)
            Chances, 0 to 1.
        """
        locations, scales = self._locations_and_scales(rows)
        return np.asarray(self.weights @ stdtr(self.dof, (locations - bounds) / scales))

    def quantiles(self, rows: Floats, shares: tuple[float, ...]) -> Floats:
        """Return quantiles of one new row.

        Parameters
        ----------
        rows : ndarray of shape (n_rows, 1 + n_features)
            Inputs, the first column ones.
        shares : tuple of float
            Shares that come out below, above 0 and below 1.

        Returns
        -------
        ndarray of shape (n_shares, n_rows)
            Values, exact to 1e-10 of the response.
        """
        locations, scales = self._locations_and_scales(rows)
        return np.array([self._quantile(locations, scales, share) for share in shares])

    def _quantile(self, locations: Floats, scales: Floats, share: float) -> Floats:
        """Solve for a quantile by Newton's method, bisecting where it would leave the bracket."""
        each = locations + scales * stdtrit(self.dof, share)
        # A mixture's quantile lies between the smallest and the largest of its parts.
        low, high = each.min(axis=0), each.max(axis=0)
        value = self.weights @ each
        for _ in range(_STEPS):
            z = (value - locations) / scales
            over = self.weights @ stdtr(self.dof, z) - share
            low, high = np.where(over < 0, value, low), np.where(over < 0, high, value)
            step = value - over / (self.weights @ (_density(z, self.dof) / scales))
            better = np.where((step >= low) & (step <= high), step, (low + high) / 2)
            if np.all(np.abs(better - value) < _EXACT):
                return np.asarray(better)
            value = better
        return np.asarray(value)


def _density(z: Floats, dof: float) -> Floats:
    front = np.exp(gammaln((dof + 1) / 2) - gammaln(dof / 2)) / np.sqrt(dof * np.pi)
    return np.asarray(front * (1 + z**2 / dof) ** (-(dof + 1) / 2))
