"""Coupons without a button: all they say is "below this size".

Each such row is a step of a normal distribution function in the coefficients. Expectation
propagation replaces it by the normal factor that leaves the same mean and variance; a handful of
sweeps over all rows at once settles it, without any random numbers. The scatter is held at what the
measured rows say: a weld without a button tells nothing about it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.special import log_ndtr

from advisor.learning.mixture import Floats, Posterior

#: Sweeps over the rows, and how much of each change is taken, against see-sawing.
_SWEEPS, _DAMPING = 30, 0.7
_LEAST = 1e-10
#: Change of a factor's pull at which it has settled, in units of the scatter. Choice of this
#: project: far below what a coupon tells.
_SETTLED = 1e-6


@dataclass(frozen=True)
class _Sites:
    """Normal factors in place of the rows, in units of the scatter; shape (n_views, n_rows) each.

    `weight` is the precision of a factor, `pull` the precision times its mean; `count` says how
    many equal rows stand behind each.
    """

    weight: Floats
    pull: Floats
    count: Floats


def add_bounds(posterior: Posterior, rows: Floats, bounds: Floats) -> Posterior:
    """Update every view with rows of which only an upper bound is known.

    Parameters
    ----------
    posterior : Posterior
        Beliefs after the measured rows.
    rows : ndarray of shape (n_rows, 1 + n_features)
        Inputs, the first column ones.
    bounds : ndarray of shape (n_rows,)
        The response came out below these.

    Returns
    -------
    Posterior
        Beliefs after them, weights of the views included.
    """
    if not len(rows):
        return posterior
    # Equal rows have equal factors, so each kind is worked out once.
    kinds, count = np.unique(np.column_stack([rows, bounds]), axis=0, return_counts=True)
    rows, bounds = kinds[:, :-1], kinds[:, -1]
    whitened = rows * posterior.units[:, None, :]
    # From here on everything is measured from each view's mean line, in units of its scatter.
    limits = (bounds - posterior.coefs @ rows.T) / posterior.scatter[:, None]
    sites = _Sites(np.zeros_like(limits), np.zeros_like(limits), count.astype(float))
    for _ in range(_SWEEPS):
        before, sites = sites, _swept(posterior, whitened, limits, sites)
        if np.max(np.abs(sites.pull - before.pull)) < _SETTLED:
            break
    precisions, moved = _updated(posterior, whitened, sites)
    evidence = _log_evidence(posterior, whitened, limits, sites)
    return replace(
        posterior,
        log_weights=posterior.log_weights + evidence,
        coefs=posterior.coefs + posterior.scatter[:, None] * posterior.units * moved,
        precisions=precisions,
    )


def _updated(posterior: Posterior, whitened: Floats, sites: _Sites) -> tuple[Floats, Floats]:
    """Return precision and mean of the whitened coefficients with the factors in place."""
    turned = whitened.transpose(0, 2, 1) * sites.count
    precisions = posterior.precisions + (turned * sites.weight[:, None, :]) @ whitened
    pull = (turned @ sites.pull[:, :, None])[:, :, 0]
    return precisions, np.asarray(np.linalg.solve(precisions, pull[:, :, None])[:, :, 0])


def _cavities(posterior: Posterior, whitened: Floats, sites: _Sites) -> tuple[Floats, Floats]:
    """Return mean and variance of each row's line value with its own factor taken out."""
    precisions, moved = _updated(posterior, whitened, sites)
    variance = np.sum((whitened @ np.linalg.inv(precisions)) * whitened, axis=2)
    mean = (whitened @ moved[:, :, None])[:, :, 0]
    left = np.maximum(1 - variance * sites.weight, _LEAST)
    return (mean - variance * sites.pull) / left, variance / left


def _swept(posterior: Posterior, whitened: Floats, limits: Floats, old: _Sites) -> _Sites:
    mean, variance = _cavities(posterior, whitened, old)
    spread = np.sqrt(1 + variance)
    z = (limits - mean) / spread
    # Moments of a normal cut off by a normal distribution function.
    ratio = np.exp(-0.5 * z**2 - 0.5 * np.log(2 * np.pi) - log_ndtr(z))
    lost = ratio * (z + ratio) / spread**2
    new_mean = mean - variance * ratio / spread
    new_variance = variance * (1 - variance * lost)
    weight = np.maximum(lost / np.maximum(1 - variance * lost, _LEAST), _LEAST)
    pull = new_mean / new_variance - mean / variance
    return _Sites(
        old.weight + _DAMPING * (weight - old.weight),
        old.pull + _DAMPING * (pull - old.pull),
        old.count,
    )


def _log_evidence(posterior: Posterior, whitened: Floats, limits: Floats, sites: _Sites) -> Floats:
    """Return the log chance of all bounds together, for every view."""
    mean, variance = _cavities(posterior, whitened, sites)
    precisions, moved = _updated(posterior, whitened, sites)
    chance = log_ndtr((limits - mean) / np.sqrt(1 + variance))
    stretched = 1 + sites.weight * variance
    # log of ∫ N(line; cavity) · factor, whose constant makes the factor as tall as the row.
    gain = (2 * mean * sites.pull - sites.weight * mean**2 + variance * sites.pull**2) / stretched
    tall = chance + 0.5 * np.log(stretched) - 0.5 * gain
    pull = ((whitened.transpose(0, 2, 1) * sites.count) @ sites.pull[:, :, None])[:, :, 0]
    before, after = (np.linalg.slogdet(each)[1] for each in (posterior.precisions, precisions))
    return np.asarray(tall @ sites.count + 0.5 * (before - after + np.sum(moved * pull, axis=1)))
