"""Honesty: machines drawn from the prior itself must fall inside the interval as often as it says.

This is an identity of the simulation, true for any prior; it breaks if noise, coefficients, views,
bounds or degrees of freedom are handled wrongly anywhere between the table and the interval.
"""

import numpy as np
import pytest
from learning_makers import RULES, stack_of

from advisor.learning.features import (
    NO_BUTTON_ROOT,
    SLOPES,
    LeftOut,
    Rows,
    curves,
    inputs,
    response_of,
)
from advisor.learning.mixture import with_intercept
from advisor.learning.model import mixture_from
from advisor.learning.prior import load_prior
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.sheet import Surface
from advisor.weld.stack import AdhesiveState

VIEWS = load_prior().views
NEW = 10
#: Response that a weld without a button is known to lie below.
BOUND = response_of(np.array(NO_BUTTON_ROOT))


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
    is_expelled, welds = rng.random() < 0.1, int(rng.integers(0, 300))
    return inputs(stack, caps, setting, RULES, expelled=is_expelled, welds_since_dressing=welds)[
        0, 0
    ]


def machine(rng, pool, taught):
    """Return rows and sizes of one machine whose truth is drawn from the prior."""
    view = rng.choice(len(VIEWS.weights), p=VIEWS.weights)
    inside = pool[rng.integers(len(pool), size=taught + NEW)]
    if taught:
        # The coupons lie around a current that is drawn from the prior too.
        dials = inside[:, :3].copy()
        dials[:, 0] += rng.normal(0, VIEWS.dial_sds[view]) - dials[:taught, 0].mean()
        inside = np.column_stack([dials, inside[:, 3 : len(SLOPES)], curves(dials)])
    # Noise from its prior; coefficients as wide as that noise makes them (conjugate prior).
    wider = np.sqrt(VIEWS.noise_dof / rng.chisquare(VIEWS.noise_dof))
    truth = rng.normal(VIEWS.means[view], wider * VIEWS.sds[view])
    rows = with_intercept(inside)
    return rows, rows @ truth + rng.normal(0, wider * VIEWS.noise_sds[view], len(rows))


def below(rows, size, is_below):
    """Return what would be logged; where the size is below the bound, only the bound."""
    return Rows(
        rows[:, 1:],
        np.where(is_below, BOUND, size),
        is_below,
        tuple(range(len(size))),
        LeftOut(),
    )


def shares(machines, n, seed, *, is_cut):
    """Return how many new sizes fall inside the middle 50 % and 90 %, and how many were cut."""
    rng, above, cut = np.random.default_rng([seed, n]), [], []
    pool = np.array([any_row(rng) for _ in range(200)])
    for _ in range(machines):
        rows, size = machine(rng, pool, n)
        is_below = (size[:n] < BOUND) & is_cut
        cut.extend(is_below)
        mixture = mixture_from(VIEWS, below(rows[:n], size[:n], is_below))
        above.append(mixture.probability_above(rows[n:], size[n:]))
    inside = np.abs(np.array(above) - 0.5)
    return np.mean(inside < 0.25), np.mean(inside < 0.45), sum(cut) / (n * machines or 1)


@pytest.mark.parametrize("n", [0, 1, 3, 6, 10])
def test_new_coupons_fall_inside_the_interval_as_often_as_it_says(n):
    half, nine_in_ten, cut = shares(500, n, 7, is_cut=False)
    assert cut == 0
    assert 0.46 <= half <= 0.54
    assert 0.87 <= nine_in_ten <= 0.93


def test_the_same_holds_where_coupons_without_a_button_only_say_below():
    half, nine_in_ten, cut = shares(200, 8, 11, is_cut=True)
    # Enough of both kinds that handling either wrongly would show.
    assert 0.1 < cut < 0.5
    assert 0.44 <= half <= 0.56
    assert 0.86 <= nine_in_ten <= 0.94
