"""How many coupons pass until a chart signals: simulated, by a Markov chain, and as published."""

import numpy as np
import pytest
from scipy.stats import norm

from advisor.review.control_charts import (
    AVERAGE_WIDTH,
    WEIGHT,
    ewma,
    individuals_limits,
    limits_around,
    moving_range_df,
)

# Lucas & Saccucci, Technometrics 32 (1990), as printed in textbooks: from memory.
PUBLISHED = [
    (0.2, 2.962, 0.0, 500.0),
    (0.2, 2.962, 0.5, 41.8),
    (0.2, 2.962, 1.0, 10.5),
    (0.1, 2.814, 0.0, 500.0),
    (0.1, 2.814, 0.5, 31.3),
    (0.1, 2.814, 1.0, 10.3),
]


def chain(half, weight, shift, states):
    """Chances to go from state to state inside the limits (Brook & Evans, Biometrika 59, 1972).

    `half`, `shift` of shape (n_charts,); the average starts in the middle of -half to half.
    """
    edges = half[:, None] * np.linspace(-1, 1, states + 1)
    middles = (edges[:, 1:] + edges[:, :-1]) / 2
    reach = (edges[:, None, :] - (1 - weight) * middles[:, :, None]) / weight
    return np.diff(norm.cdf(reach - shift[:, None, None]), axis=2)


def chain_length(half, weight, shift=0.0, states=201):
    half = np.atleast_1d(np.asarray(half, dtype=float))
    moves = chain(half, weight, shift + np.zeros(len(half)), states)
    ones = np.ones((len(half), states, 1))
    return np.linalg.solve(np.eye(states) - moves, ones)[:, states // 2, 0]


def share_within(half, weight, shift, coupons, states=61):
    moves, left = chain(half, weight, shift, states), np.ones((len(half), states, 1))
    for _ in range(coupons):
        left = moves @ left
    return 1 - left[:, states // 2, 0]


def simulated_length(is_signal, shift, paths, longest):
    """Mean number of coupons to the first signal; `is_signal` looks at one series."""
    rng = np.random.default_rng(20260301)
    lengths = []
    for _ in range(paths):
        hit = is_signal(rng.normal(shift, 1, longest))
        lengths.append(np.argmax(hit) + 1 if hit.any() else longest)
    return np.mean(lengths), np.std(lengths) / np.sqrt(paths)


@pytest.mark.parametrize(("weight", "width", "shift", "published"), PUBLISHED)
def test_the_average_signals_after_as_many_coupons_as_published(weight, width, shift, published):
    def is_signal(values):
        found = ewma(values, 0, 1, weight, width)
        return np.abs(found.averages) > found.upper

    paths, longest = (5000, 6000) if shift == 0 else (6000, 600)
    mean, error = simulated_length(is_signal, shift, paths, longest)
    upper = ewma([0.0], 0, 1, weight, width).upper[0]
    exact = chain_length(upper, weight, shift)[0]
    print(f"λ {weight} L {width} shift {shift}: {mean:.1f} ± {error:.1f}, chain {exact:.2f}")
    assert mean == pytest.approx(exact, abs=4 * error)
    assert exact == pytest.approx(published, rel=0.006)


def test_the_chain_agrees_with_an_integral_equation_of_others():
    """Crowder's method: 11.154267016 (SAS/QC User's Guide, function EWMAARL, read)."""
    upper = ewma([0.0], 0, 1, 0.25, 3.0).upper[0]
    assert chain_length(upper, 0.25, 1.0, 401)[0] == pytest.approx(11.154267, abs=2e-3)


@pytest.mark.parametrize(("shift", "published"), [(0.0, 370.4), (1.0, 43.9)])
def test_single_values_signal_after_as_many_coupons_as_published(shift, published):
    limits = limits_around(0, 1)

    def is_signal(values):
        return (values > limits.upper) | (values < limits.lower)

    mean, error = simulated_length(is_signal, shift, 5000, 4000)
    exact = 1 / (norm.sf(limits.upper - shift) + norm.cdf(limits.lower - shift))
    print(f"single, shift {shift}: {mean:.1f} ± {error:.1f}, exact {exact:.1f}")
    assert mean == pytest.approx(exact, abs=4 * error)
    assert exact == pytest.approx(published, rel=0.002)


def charts_from(n, is_widened, machines=600):
    """Half-widths and centres of charts whose limits come from n coupons of a stable machine."""
    values = np.random.default_rng(7).normal(size=(machines, n))
    found = [individuals_limits(row) for row in values]
    doubt, df = (1 / n, moving_range_df(n)) if is_widened else (0.0, np.inf)
    half = [f.sd * ewma([0.0], 0, 1, doubt=doubt, df=df).upper[0] for f in found]
    return np.array(half), np.array([f.centre for f in found])


def test_limits_from_25_coupons_need_to_be_widened():
    """With known limits 11 % of stable machines signal within 60 coupons."""
    known = ewma([0.0], 0, 1).upper
    aim = share_within(known, WEIGHT, np.zeros(1), 60)[0]
    shares = {}
    for is_widened in (False, True):
        half, centre = charts_from(25, is_widened)
        lengths = chain_length(half, WEIGHT, -centre, 61)
        late = chain_length(half, WEIGHT, 1 - centre, 61)
        shares[is_widened] = share_within(half, WEIGHT, -centre, 60).mean()
        seen = share_within(half, WEIGHT, 1 - centre, 60).mean()
        print(
            f"25 coupons, widened {is_widened}: run length median {np.median(lengths):.0f}, mean "
            f"{lengths.mean():.3g}; false within 60: {shares[is_widened]:.3f} (known {aim:.3f}); "
            f"1 sd: median {np.median(late):.1f}, seen within 60 {seen:.3f}"
        )
    assert shares[False] > 2 * aim
    assert shares[True] < aim
    assert seen > 0.7


def test_the_defaults_are_those_of_the_table():
    assert (WEIGHT, AVERAGE_WIDTH) == PUBLISHED[0][:2]
