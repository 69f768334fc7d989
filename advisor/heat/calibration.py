"""Fit the figures of the contacts again: ``python -m advisor.heat.calibration``.

Sixteen uncoated settings in the middle of their bands, both columns of ISO 14373:2015 Table B.1,
are to give 5√t, to stay clear of boiling and to keep their melt inside the contact. Each figure is
held, weakly, near a value that is usual from memory. Prints the fitted figures; they are copied
into ``reference/heat_parameters.csv`` by hand, once.
"""

from __future__ import annotations

import sys
from dataclasses import astuple, fields, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from advisor.heat.cases import UNCOATED, Case, published_cases
from advisor.heat.parameters import ContactParameters, Options
from advisor.heat.properties import BOILING_DEGC, LIQUIDUS_DEGC

Field = NDArray[np.float64]
#: Usual values, from memory, and how far the fit may go.
USUAL = ContactParameters(0.01, 0.05, 1.0, 0.5, 3.0)
_LOWEST = ContactParameters(0.001, 0.01, 0.3, 0.05, 1.0)
_HIGHEST = ContactParameters(0.1, 0.4, 3.0, 1.0, 8.0)
#: Weight of the usual value of each figure, and of the limits.
_HELD, _LIMITS, _DEPTH = 0.03, 5.0, 0.25
#: From here on, in the logarithm, a size is far from 5√t: 4 and 6√t are 0.22 and 0.18 away.
_FAR = 0.15
#: Melt that comes nearer to the caps than this is not what a good weld looks like (from memory).
_DEEP = 0.8
_CLEAR_DEGC = 350.0


def misfit(case: Case, options: Options) -> list[float]:
    """Return how far one case is off: logarithm of the size, heat near boiling, melt near the edge.

    Parameters
    ----------
    case : Case
        The setting.
    options : Options
        Holds the figures to try.
    """
    history = case.run(options)
    size = case.over_root(history) / 5
    off = float(np.log(max(size, 0.3)))
    if size < 0.3:
        off -= (LIQUIDUS_DEGC + 200 - history.hottest_degC) / 1000
    hot = max(0.0, (history.hottest_degC - BOILING_DEGC + _CLEAR_DEGC) / 500)
    full = float(np.max(history.nugget_mm[:, 0] / history.contact_mm[:, 1]))
    far = max(0.0, abs(off) - _FAR)
    deep = max(0.0, max(history.penetration) - _DEEP)
    return [off, *(_LIMITS * each for each in (far, hot, max(0.0, full - 0.97), _DEPTH * deep))]


def misfits(shifted: Field, fineness: float, steps: int) -> Field:
    """Return the misfits of all sixteen cases and of the figures themselves.

    Parameters
    ----------
    shifted : ndarray of shape (5,)
        Logarithms of the figures over their usual values, and 4.
    fineness, steps : float, int
        Grid and time steps.
    """
    tried = _figures(shifted)
    options = Options(contacts=tried, fineness=fineness, steps=steps, frames=2)
    found = [each for case in published_cases(UNCOATED) for each in misfit(case, options)]
    return np.array([*found, *(_HELD * (shifted - _shifted(USUAL)))])


def fit(start: ContactParameters, fineness: float, steps: int, tries: int) -> ContactParameters:
    """Return the fitted figures.

    Parameters
    ----------
    start : ContactParameters
        Where to begin.
    fineness, steps : float, int
        Grid and time steps.
    tries : int
        Most steps of the fit.
    """
    found = least_squares(
        misfits,
        _shifted(start),
        bounds=(_shifted(_LOWEST), _shifted(_HIGHEST)),
        args=(fineness, steps),
        diff_step=[0.01],
        x_scale=0.3,
        max_nfev=tries,
        verbose=2,
    )
    return _figures(found.x)


def _shifted(figures: ContactParameters) -> Field:
    """Return logarithms that stay away from 0, because the fit steps by a share of them."""
    return np.asarray(4 + np.log(np.array(astuple(figures)) / np.array(astuple(USUAL))))


def _figures(shifted: Field) -> ContactParameters:
    usual = np.array(astuple(USUAL))
    names = [each.name for each in fields(ContactParameters)]
    found = zip(names, (usual * np.exp(shifted - 4)).tolist(), strict=True)
    return replace(USUAL, **dict(found))


def main() -> int:
    """Fit on a coarse grid, then on a finer one, and print the figures."""
    coarse = fit(USUAL, 0.6, 100, 20)
    print(coarse, flush=True)
    fine = fit(coarse, 0.8, 120, 8)
    print(fine)
    return 0


if __name__ == "__main__":
    sys.exit(main())
