"""Three generic models to be measured against: no knowledge of welding, logs of the inputs only."""

from __future__ import annotations

import warnings
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri, stdtrit
from sklearn.exceptions import ConvergenceWarning
from sklearn.gaussian_process import GaussianProcessRegressor
from sklearn.gaussian_process.kernels import RBF, WhiteKernel
from sklearn.linear_model import BayesianRidge
from sklearn.preprocessing import StandardScaler

Floats = NDArray[np.float64]
#: Coverages that are measured.
LEVELS = (0.5, 0.9)


@dataclass(frozen=True)
class Predicted:
    """Sizes predicted for some welds.

    Parameters
    ----------
    size_mm : ndarray of shape (n_welds,)
        Point prediction. [mm]
    low_mm, high_mm : ndarray of shape (n_levels, n_welds)
        Ends of the interval at each of `LEVELS`. [mm]
    """

    size_mm: Floats
    low_mm: Floats
    high_mm: Floats


def mean_of_coupons(x: Floats, size_mm: Floats, new: Floats) -> Predicted:
    """Predict the mean of the coupons for every weld, with its Student-t interval.

    Parameters
    ----------
    x : ndarray of shape (n_coupons, n_inputs)
        Not looked at.
    size_mm : ndarray of shape (n_coupons,)
        Sizes measured, two or more. [mm]
    new : ndarray of shape (n_welds, n_inputs)
        Welds to predict; only their number matters.
    """
    count = len(size_mm)
    half = stdtrit(count - 1, _upper()) * size_mm.std(ddof=1) * np.sqrt(1 + 1 / count)
    mean = np.full(len(new), size_mm.mean())
    return Predicted(mean, mean - half[:, None], mean + half[:, None])


def bayesian_ridge(x: Floats, size_mm: Floats, new: Floats) -> Predicted:
    """Predict by scikit-learn's BayesianRidge on standardised logs, intervals normal.

    Parameters
    ----------
    x : ndarray of shape (n_coupons, n_inputs)
        Logs of the inputs.
    size_mm : ndarray of shape (n_coupons,)
        Sizes measured. [mm]
    new : ndarray of shape (n_welds, n_inputs)
        Logs of the inputs of the welds to predict.
    """
    return _in_logs(BayesianRidge(), x, size_mm, new)


def gaussian_process(x: Floats, size_mm: Floats, new: Floats) -> Predicted:
    """Predict by scikit-learn's Gaussian process, RBF plus white noise; as `bayesian_ridge`.

    Parameters
    ----------
    x : ndarray of shape (n_coupons, n_inputs)
        Logs of the inputs.
    size_mm : ndarray of shape (n_coupons,)
        Sizes measured. [mm]
    new : ndarray of shape (n_welds, n_inputs)
        Logs of the inputs of the welds to predict.
    """
    return _in_logs(GaussianProcessRegressor(RBF() + WhiteKernel()), x, size_mm, new)


#: Name in the report and the model.
GENERIC: dict[str, Callable[[Floats, Floats, Floats], Predicted]] = {
    "mean": mean_of_coupons,
    "bayesian_ridge": bayesian_ridge,
    "gaussian_process": gaussian_process,
}


def _upper() -> Floats:
    return (1 + np.array(LEVELS)) / 2


def _in_logs(
    model: BayesianRidge | GaussianProcessRegressor, x: Floats, size_mm: Floats, new: Floats
) -> Predicted:
    inputs, response = StandardScaler().fit(x), np.log(size_mm)
    middle, spread = response.mean(), response.std() or 1.0
    with warnings.catch_warnings():
        # A length scale at its bound is what few coupons lead to; the model stays the generic one.
        warnings.simplefilter("ignore", ConvergenceWarning)
        model.fit(inputs.transform(x), (response - middle) / spread)
    mean, sd = model.predict(inputs.transform(new), return_std=True)
    half = ndtri(_upper())[:, None] * sd
    size, low, high = (np.exp(middle + spread * z) for z in (mean, mean - half, mean + half))
    return Predicted(size, low, high)
