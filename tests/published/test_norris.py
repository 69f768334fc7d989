"""NIST Statistical Reference Datasets, linear regression, Norris (lower difficulty).

https://www.itl.nist.gov/div898/strd/lls/data/Norris.shtml: 36 observations of ozone monitors,
certified to 15 digits. The certified fit comes out only if every pair is typed as published.
"""

import numpy as np
import pytest

from advisor.learning.mixture import Mixture, learn, with_intercept
from advisor.learning.prior import Views

# y and x, one pair an observation, in the order of the file.
PAIRS = np.array(
    """
    0.1 0.2  338.8 337.4  118.1 118.2  888.0 884.6  9.2 10.1  228.1 226.5
    668.5 666.3  998.5 996.3  449.1 448.6  778.9 777.0  559.2 558.2  0.3 0.4
    0.1 0.6  778.1 775.5  668.8 666.9  339.3 338.0  448.9 447.5  10.8 11.6
    557.7 556.0  228.3 228.1  998.0 995.8  888.8 887.6  119.6 120.2  0.3 0.3
    0.6 0.3  557.6 556.8  339.3 339.1  888.0 887.2  998.5 999.0  778.9 779.0
    10.2 11.1  117.6 118.3  228.9 229.2  668.4 669.1  449.2 448.9  0.2 0.5
    """.split(),
    dtype=float,
).reshape(36, 2)
CERTIFIED_B0, CERTIFIED_B1 = -0.262323073774029, 1.00211681802045
CERTIFIED_RESIDUAL_SD = 0.884796396144373


def vaguely_fitted(noise_sd, noise_dof, views=1):
    """Fit with beliefs so vague that only the observations speak."""
    vague = Views(
        weights=np.full(views, 1 / views),
        means=np.zeros((views, 2)),
        sds=np.full((views, 2), 1e7),
        noise_sds=np.full(views, noise_sd),
        noise_dof=noise_dof,
        dial_sds=np.ones(views),
    )
    return Mixture(learn(vague, with_intercept(PAIRS[:, 1:]), PAIRS[:, 0]))


@pytest.mark.parametrize("views", [1, 3])
def test_vague_beliefs_give_the_certified_fit(views):
    mixture = vaguely_fitted(1.0, 4.0, views)
    assert mixture.coef[0] == pytest.approx(CERTIFIED_B0, abs=1e-10)
    assert mixture.coef[1] == pytest.approx(CERTIFIED_B1, abs=1e-12)
    residual = PAIRS[:, 0] - with_intercept(PAIRS[:, 1:]) @ mixture.coef
    # Two parameters were fitted, so 34 of the 36 observations are left for the scatter.
    assert np.sqrt(residual @ residual / 34) == pytest.approx(CERTIFIED_RESIDUAL_SD, abs=1e-12)


def test_posterior_noise_is_the_certified_one_mixed_with_its_prior():
    mixed = (3 * 0.7**2 + 34 * CERTIFIED_RESIDUAL_SD**2) / (3 + 36)
    assert vaguely_fitted(0.7, 3.0).scatter == pytest.approx(np.sqrt(mixed), rel=1e-9)
