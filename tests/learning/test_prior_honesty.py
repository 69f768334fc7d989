"""Honesty: machines drawn from the prior itself must fall inside the interval as often as it says.

This is an identity of the simulation, true for any prior; it breaks if noise, coefficients or
degrees of freedom are handled wrongly anywhere between the table and the interval.
"""

import numpy as np
import pytest
from learning_makers import RULES, stack_of

from advisor.learning.features import inputs
from advisor.learning.model import LEVEL, regression_from
from advisor.learning.prior import load_prior
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.sheet import Surface
from advisor.weld.stack import AdhesiveState

PRIOR = load_prior()
MACHINES, NEW = 1000, 10


def any_row(rng):
    """Return the inputs of one weld at a random stack, cap and setting."""
    thinner = rng.uniform(0.6, 1.5)
    stack = stack_of(
        thinner,
        thinner * rng.uniform(1, 1.9),
        surface=rng.choice([Surface.BARE, Surface.HOT_DIP_ZINC]),
        state=rng.choice(list(AdhesiveState)),
    )
    caps = Electrode(CapShape.DOME, rng.uniform(4, 8))
    setting = np.array([[rng.uniform(6, 15), rng.uniform(100, 400), rng.uniform(1.5, 5)]])
    return inputs(stack, caps, setting, RULES, expelled=rng.random() < 0.1)[0, 0]


@pytest.mark.parametrize("n", [0, 1, 3, 6, 10])
def test_nine_new_coupons_in_ten_fall_inside_the_interval(n):
    rng = np.random.default_rng([7, n])
    pool = np.array([any_row(rng) for _ in range(300)])
    model, inside = regression_from(PRIOR), 0
    for _ in range(MACHINES):
        # Noise from its prior; coefficients as wide as that noise makes them (conjugate prior).
        noise = PRIOR.noise_sd * np.sqrt(PRIOR.noise_dof / rng.chisquare(PRIOR.noise_dof))
        wider = noise / PRIOR.noise_sd
        at_start = rng.normal(PRIOR.size_at_start.mean, wider * PRIOR.size_at_start.sd)
        slopes = rng.normal(PRIOR.slope_means, wider * PRIOR.slope_sds)
        rows = pool[rng.integers(len(pool), size=n + NEW)]
        size = at_start + rows @ slopes + rng.normal(0, noise, len(rows))
        low, high = model.fit(rows[:n], size[:n]).predict_interval(rows[n:], LEVEL)
        inside += np.sum((low <= size[n:]) & (size[n:] <= high))
    assert 0.87 <= inside / (MACHINES * NEW) <= 0.93
