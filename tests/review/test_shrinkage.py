"""Pooled rates against brute force, a published case and simulated shops."""

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, optimize, stats
from scipy.special import betaln

from advisor.errors import InputError
from advisor.review.intervals import pass_rate
from advisor.review.shrinkage import (
    KAPPA_LEAST,
    KAPPA_MOST,
    TYPICAL_COUPONS,
    pooled_rates,
)

# Efron and Morris, J. Amer. Stat. Assoc. 70 (1975), 311-319, from memory: hits of 18 players in
# their first 45 at bats, and their averages in the rest of the season.
HITS = [18, 17, 16, 15, 14, 14, 13, 12, 11, 11, 10, 10, 10, 10, 10, 9, 8, 7]
REST = np.array(
    "346 298 276 222 273 270 263 210 269 230 264 256 303 264 226 285 316 200".split(), float
)
REST /= 1000


class BruteForce:
    """The same model by adaptive quadrature, over log κ instead of a share, κ outside of m."""

    def __init__(self, passed, judged):
        self.passed, self.failed = np.array(passed), np.array(judged) - np.array(passed)
        self.total = self.mean_of(lambda m, kappa: 1.0)

    def mean_of(self, value):
        ends = np.log([KAPPA_LEAST, KAPPA_MOST])
        return integrate.dblquad(
            lambda m, t: value(m, np.exp(t)) * self._density(m, np.exp(t)),
            *ends, 0, 1, epsabs=0, epsrel=1e-5,
        )[0]  # fmt: skip

    def _density(self, m, kappa):
        a, b = m * kappa, (1 - m) * kappa
        log = np.sum(betaln(a + self.passed, b + self.failed) - betaln(a, b))
        return np.exp(log + 8) * kappa / (TYPICAL_COUPONS + kappa) ** 2

    def rate(self, i):
        n = self.passed[i] + self.failed[i]
        return self.mean_of(lambda m, k: (m * k + self.passed[i]) / (k + n)) / self.total

    def below(self, i, x):
        """Chance that the true rate of a group is below x."""
        y, f = self.passed[i], self.failed[i]
        chance = self.mean_of(lambda m, k: stats.beta.cdf(x, m * k + y, (1 - m) * k + f))
        return chance / self.total


def test_rates_and_ends_are_those_of_brute_force():
    passed, judged = [3, 5, 0], [6, 6, 1]
    brute = BruteForce(passed, judged)
    pooled = pooled_rates(passed, judged)
    overall = brute.mean_of(lambda m, k: m) / brute.total
    for i, each in enumerate(pooled):
        assert each.rate == pytest.approx(brute.rate(i), abs=5e-4)
        assert each.overall == pytest.approx(overall, abs=5e-4)
    assert brute.below(0, pooled[0].low) == pytest.approx(0.025, abs=1e-3)
    assert brute.below(2, pooled[2].high) == pytest.approx(0.975, abs=1e-3)


def test_a_large_shop_is_that_of_a_plain_fine_grid():
    rng = np.random.default_rng(2)
    judged = rng.integers(5, 400, 12)
    passed = rng.binomial(judged, rng.beta(22, 3, 12))
    m, u = (axis.ravel() for axis in np.meshgrid(np.linspace(0.5, 1, 401)[1:-1], GRID_OF_U))
    kappa = TYPICAL_COUPONS * (1 - u) / u
    a, b = m * kappa, (1 - m) * kappa
    log = sum(betaln(a + y, b + n - y) - betaln(a, b) for y, n in zip(passed, judged, strict=True))
    weight = np.exp(log - log.max())
    kept = weight > 1e-5
    weight /= weight[kept].sum()
    for i, each in enumerate(pooled_rates(passed, judged)):
        own = stats.beta(a[kept] + passed[i], b[kept] + judged[i] - passed[i])
        assert each.rate == pytest.approx(weight[kept] @ own.mean(), abs=1e-4)
        for p, end in ((0.025, each.low), (0.975, each.high)):
            expected = optimize.brentq(lambda x, p=p, own=own: weight[kept] @ own.cdf(x) - p, 0, 1)
            assert end == pytest.approx(expected, abs=3e-4)


# Midpoints of even steps of the share that is flat beforehand.
GRID_OF_U = TYPICAL_COUPONS / (TYPICAL_COUPONS + KAPPA_MOST) + (np.arange(150) + 0.5) / 150 * (
    TYPICAL_COUPONS / (TYPICAL_COUPONS + KAPPA_LEAST)
    - TYPICAL_COUPONS / (TYPICAL_COUPONS + KAPPA_MOST)
)

shops = st.lists(
    st.integers(0, 60).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))),
    min_size=1,
    max_size=8,
)


@given(shops)
def test_a_rate_lies_between_the_own_one_and_what_a_new_group_may_do(shop):
    for (passed, judged), each in zip(shop, pooled_rates(*zip(*shop, strict=True)), strict=True):
        ends = [each.overall] + ([passed / judged] if judged else [])
        # The overall rate is that of κ and m together, so the drawing is exact only for one κ.
        assert min(ends) - 0.02 <= each.rate <= max(ends) + 0.02
        assert 0 <= each.low <= each.rate <= each.high <= 1


@given(shops)
def test_fails_and_passes_are_mirrors(shop):
    passed, judged = zip(*shop, strict=True)
    failed = [n - y for y, n in shop]
    for one, other in zip(pooled_rates(passed, judged), pooled_rates(failed, judged), strict=True):
        seen = (one.rate, one.low, one.high, one.overall)
        mirrored = (1 - other.rate, 1 - other.high, 1 - other.low, 1 - other.overall)
        assert seen == pytest.approx(mirrored, abs=2e-3)


@given(shops)
def test_more_passes_of_as_many_coupons_are_never_worse(shop):
    rates = pooled_rates(*zip(*shop, strict=True))
    for ((y, n), one), ((z, k), other) in itertools.permutations(zip(shop, rates, strict=True), 2):
        if n == k and y < z:
            assert one.rate < other.rate
            assert one.low <= other.low + 1e-3


@given(
    st.lists(st.integers(0, 20), max_size=6),
    st.sampled_from([0, 1]),
)
def test_one_coupon_never_leads_or_ends_a_list_that_has_evidence_at_both_ends(middle, one):
    passed, judged = [20, 0, *middle, one], [20, 20, *(20 for _ in middle), 1]
    *others, single = (each.rate for each in pooled_rates(passed, judged))
    assert min(others) < single < max(others)


def test_the_fewer_coupons_the_nearer_to_the_shop():
    rates = pooled_rates([18, 18, 17, 16, 5, 10, 50], [20, 20, 20, 20, 10, 20, 100])
    half = [each.rate for each in rates[-3:]]
    assert half[0] > half[1] > half[2] > 0.5
    assert half[2] == pytest.approx(0.5, abs=0.03)
    assert half[0] == pytest.approx(0.62, abs=0.05)


def test_equal_groups_are_drawn_together_and_become_surer_for_it():
    rates = pooled_rates([27] * 20, [30] * 20)
    assert len(set(rates)) == 1
    own = pass_rate(27, 30)
    assert rates[0].rate == pytest.approx(0.9, abs=0.005)
    assert rates[0].high - rates[0].low < 0.55 * (own.high - own.low)


def test_groups_that_only_chance_tells_apart_are_drawn_almost_fully():
    # As far apart as 30 binomial draws from one rate are, no farther.
    passed = stats.binom(30, 0.9).ppf((np.arange(30) + 0.5) / 30).astype(int)
    rates = [each.rate for each in pooled_rates(passed, [30] * 30)]
    assert np.std(rates) < 0.25 * np.std(passed / 30)


def test_groups_that_really_differ_keep_their_rates():
    rates = pooled_rates([300, 150, 30, 240], [300] * 4)
    assert [each.rate for each in rates] == pytest.approx([1, 0.5, 0.1, 0.8], abs=0.01)


def test_nothing_judged_gets_what_a_new_welder_may_be_expected_to_do():
    new, *_ = pooled_rates([0, 88, 90, 85, 92], [0, 100, 100, 100, 100])
    assert new.rate == pytest.approx(new.overall)
    assert 0.84 < new.rate < 0.9
    assert new.low < 0.8 < 0.92 < new.high


def test_a_shop_without_any_coupon_knows_nothing():
    for each in pooled_rates([0, 0], [0, 0]):
        assert each.rate == pytest.approx(0.5, abs=1e-6)
        assert each.low < 0.01
        assert each.high > 0.99
    assert pooled_rates([], []) == ()


def test_one_group_alone_is_drawn_only_a_little():
    (alone,) = pooled_rates([18], [20])
    assert 0.8 < alone.rate < 0.9
    assert pooled_rates([1], [1])[0].rate < 0.8


def test_a_wider_level_holds_more():
    (narrow, *_), (wide, *_) = (pooled_rates([9, 7], [10, 10], level) for level in (0.5, 0.99))
    assert wide.low < narrow.low < narrow.rate < narrow.high < wide.high


def test_huge_counts_stay_finite():
    rates = pooled_rates([10**6, 999_000, 0], [10**6, 10**6, 10**6])
    assert [each.rate for each in rates] == pytest.approx([1, 0.999, 0], abs=1e-3)
    assert rates[1].low == pytest.approx(0.99894, abs=1e-4)


def test_batting_averages_come_nearer_to_the_rest_of_the_season():
    raw = np.array(HITS) / 45
    pooled = np.array([each.rate for each in pooled_rates(HITS, [45] * 18)])
    errors = [float(np.sum((rates - REST) ** 2)) for rates in (raw, pooled)]
    print(f"squared error raw {errors[0]:.4f}, pooled {errors[1]:.4f}")
    assert errors[0] == pytest.approx(0.0755, abs=5e-4)
    assert errors[1] < errors[0] / 3


@pytest.mark.parametrize(("m", "kappa", "welders"), [(0.88, 25, 8), (0.85, 6, 6), (0.93, 200, 12)])
def test_ends_hold_the_true_rates_of_simulated_welders(m, kappa, welders):
    rng, held, squares = np.random.default_rng(17), [], []
    for _ in range(120):
        truth = rng.beta(m * kappa, (1 - m) * kappa, welders)
        judged = rng.integers(1, 25, welders)
        passed = rng.binomial(judged, truth)
        rates = pooled_rates(passed, judged)
        held += [r.low <= t <= r.high for r, t in zip(rates, truth, strict=True)]
        squares.append([[r.rate for r in rates] - truth, passed / judged - truth])
    pooled, raw = np.sqrt(np.mean(np.square(np.array(squares)), axis=(0, 2)))
    print(f"m {m}, κ {kappa}: held {np.mean(held):.3f}, error {pooled:.3f}, raw {raw:.3f}")
    assert np.mean(held) >= 0.92
    assert pooled < 0.75 * raw


@pytest.mark.parametrize(
    ("passed", "judged", "level", "sentence"),
    [
        ([6], [5], 0.95, "6 passes of 5 coupons cannot be"),
        ([-1], [5], 0.95, "-1 passes of 5 coupons cannot be"),
        ([1, 2], [5], 0.95, "2 numbers of passes and 1 of judged coupons"),
        ([1], [5], 95, "the level is 95; it must be above 0 and below 1"),
    ],
)
def test_counts_that_cannot_be_are_refused(passed, judged, level, sentence):
    with pytest.raises(InputError, match=sentence):
        pooled_rates(passed, judged, level)
