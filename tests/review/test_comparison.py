"""Two welders on the same work: against two other computations, brute force and simulated shops."""

import itertools
import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import comb
from scipy.stats import fisher_exact
from statsmodels.stats.contingency_tables import StratifiedTable

from advisor.errors import InputError
from advisor.review.comparison import compare

COLUMNS = ["stratum", "passed_a", "failed_a", "passed_b", "failed_b"]
# Admitted and rejected, men and women, six departments: Bickel, Hammel and O'Connell, Science 187
# (1975), 398-404, as in R's UCBAdmissions (from memory).
ADMISSIONS = [
    (512, 313, 89, 19),
    (353, 207, 17, 8),
    (120, 205, 202, 391),
    (138, 279, 131, 244),
    (53, 138, 94, 299),
    (22, 351, 24, 317),
]


def frame(cells):
    return pd.DataFrame([(f"work {i}", *row) for i, row in enumerate(cells)], columns=COLUMNS)


def compared(cells, level=0.95):
    return compare(frame(cells), "Kim", "Robin", level)


small = st.lists(st.tuples(*[st.integers(0, 4)] * 4), min_size=1, max_size=3)
cells_of_work = st.lists(st.tuples(*[st.integers(0, 15)] * 4), min_size=1, max_size=5)


def usable(cells):
    return [
        (pa, fa, pb, fb) for pa, fa, pb, fb in cells if min(pa + fa, pb + fb, pa + pb, fa + fb) > 0
    ]


def enumerated(cells):
    """Return exact p and mid-p from every table with the same margins, one by one."""
    choices = []
    for pa, fa, pb, fb in cells:
        k = pa + pb
        whole = comb(pa + fa + pb + fb, k, exact=True)
        ways = [
            comb(pa + fa, x, exact=True) * comb(pb + fb, k - x, exact=True) for x in range(k + 1)
        ]
        choices.append([(x, way / whole) for x, way in enumerate(ways) if way])
    chance: dict[int, float] = {}
    for tables in itertools.product(*choices):
        total = sum(x for x, _ in tables)
        chance[total] = chance.get(total, 0) + math.prod(p for _, p in tables)
    seen = chance[sum(row[0] for row in cells)]
    rarer = sum(p for p in chance.values() if p < seen * (1 - 1e-7))
    alike = sum(p for p in chance.values() if abs(p - seen) <= seen * 1e-7)
    return rarer + alike, rarer + alike / 2


@given(small)
def test_p_is_that_of_every_table_counted_one_by_one(cells):
    found, same_work = compared(cells), usable(cells)
    if not same_work:
        assert found.p is None
        return
    exact, middle = enumerated(same_work)
    assert found.p_exact == pytest.approx(exact, abs=1e-9)
    assert found.p == pytest.approx(middle, abs=1e-9)


@pytest.mark.parametrize(
    "row", [(8, 2, 1, 5), (18, 2, 10, 10), (3, 9, 40, 20), (0, 4, 3, 2), (5, 0, 0, 5), (7, 3, 7, 3)]
)
def test_one_kind_of_work_is_fishers_exact_test(row):
    found = compared([row])
    assert found.p_exact == pytest.approx(fisher_exact([row[:2], row[2:]]).pvalue, abs=1e-12)
    assert found.naive_p == pytest.approx(found.p)


@pytest.mark.parametrize("level", [0.8, 0.95])
@pytest.mark.parametrize(
    "cells",
    [
        ADMISSIONS,
        [(18, 2, 10, 1), (6, 9, 2, 3)],
        [(18, 6, 3, 1), (6, 14, 20, 3), (1, 1, 0, 4)],
        [(4, 3, 3, 4)],
    ],
)
def test_odds_and_interval_are_those_of_another_library(cells, level):
    found = compared(cells, level)
    theirs = StratifiedTable([np.reshape(row, (2, 2)) for row in cells])
    assert found.odds_ratio == pytest.approx(theirs.oddsratio_pooled)
    ends = theirs.oddsratio_pooled_confint(1 - level)
    assert (found.low, found.high) == pytest.approx(ends)


def test_admissions_come_out_as_documented():
    # R's help of mantelhaen.test (from memory): common odds ratio 0.9047, 0.7719 to 1.0603.
    found = compared(ADMISSIONS)
    assert (found.odds_ratio, found.low, found.high) == pytest.approx(
        (0.9047, 0.7719, 1.0603), abs=5e-5
    )
    assert found.p > 0.2
    assert found.naive_p < 1e-15
    assert (found.naive_rate_a, found.naive_rate_b) == pytest.approx((1198 / 2691, 557 / 1835))


@given(cells_of_work)
def test_swapping_the_two_turns_the_odds_over_and_nothing_else(cells):
    one, other = compared(cells), compared([(pb, fb, pa, fa) for pa, fa, pb, fb in cells])
    assert (one.strata, one.usable_a, one.usable_b) == (
        other.strata,
        other.usable_b,
        other.usable_a,
    )
    if one.p is None:
        assert other.p is None
        return
    assert (one.p, one.p_exact) == pytest.approx((other.p, other.p_exact))
    turned = [1 / x if x else math.inf for x in (other.odds_ratio, other.high, other.low)]
    assert [one.odds_ratio, one.low, one.high] == pytest.approx(turned)
    assert one.seen_a - one.expected_a == pytest.approx(other.expected_a - other.seen_a)


@given(cells_of_work)
def test_work_that_says_nothing_changes_nothing(cells):
    idle = [(7, 3, 0, 0), (0, 0, 2, 5), (9, 0, 4, 0), (0, 3, 0, 8)]
    with_idle, without = compared([*cells, *idle]), compared(cells)
    for field in ("p", "p_exact", "odds_ratio", "low", "high", "expected_a"):
        assert getattr(with_idle, field) == getattr(without, field)
    for field in ("seen_a", "usable_a", "usable_b", "strata"):
        assert getattr(with_idle, field) == getattr(without, field)


@given(cells_of_work)
def test_bounds_hold(cells):
    found = compared(cells)
    if found.p is not None:
        assert 0 <= found.p <= found.p_exact <= 1
        assert found.low <= found.odds_ratio <= found.high
        assert (found.odds_ratio > 1) == (found.seen_a > found.expected_a + 1e-9)


def test_rows_of_the_same_work_are_added_up():
    rows = [("x", 4, 1, 2, 3), ("x", 5, 2, 1, 1), (None, 3, 3, 1, 4)]
    split = compare(pd.DataFrame(rows, columns=COLUMNS), "Kim", "Robin")
    assert split == compared([(9, 3, 3, 4), (3, 3, 1, 4)])


def test_where_one_has_all_passes_the_end_is_exact():
    found = compared([(9, 0, 3, 6)])
    assert (found.odds_ratio, found.high) == (math.inf, math.inf)
    # Fisher's noncentral distribution: at the end, a table like this has a chance of 2.5 %.
    ways = [comb(9, x) * comb(9, 12 - x) * found.low**x for x in range(3, 10)]
    assert ways[-1] / sum(ways) == pytest.approx(0.025)


def test_thousands_of_coupons_without_overlap_stay_finite():
    found = compared([(3000, 0, 0, 3000)])
    assert found.p == 0
    assert found.low > 1e4


# --- words ---------------------------------------------------------------------------------------


def test_words_of_a_difference():
    words = compared([(18, 6, 3, 1), (6, 14, 20, 3), (2, 0, 0, 0)]).words()
    assert "2 kinds of work can be compared, with 44 judged coupons by Kim and 27 by Robin" in words
    assert "Kim has 24 passes where 30.1 would be expected from the same work" in words
    assert "The odds of Kim to pass are 0.15 times those of Robin (95 % interval 0.04 to" in words
    assert "on the same work Kim passes less often than Robin" in words
    assert "57 % by Kim and 85 % by Robin passed" in words
    assert "which mixes the welder with the work" in words


def test_words_of_no_difference_do_not_claim_equality():
    words = compared([(8, 2, 7, 3)]).words()
    assert "1 kind of work can be compared" in words
    assert "do not tell the two apart, which does not show that they are equal" in words


def test_words_where_nothing_can_be_compared():
    apart = compared([(18, 2, 0, 0), (0, 0, 5, 5), (3, 0, 3, 0)])
    assert (apart.p, apart.odds_ratio, apart.strata, apart.usable_a) == (None, None, 0, 0)
    assert apart.words().startswith("Kim and Robin cannot be compared: there is no kind of work")
    assert "91 % by Kim and 62 % by Robin passed" in apart.words()
    nobody = compared([(3, 1, 0, 0)])
    assert (nobody.naive_p, nobody.naive_rate_a, nobody.naive_rate_b) == (None, 0.75, None)
    assert nobody.words().endswith("some failed.")
    assert compared([]).naive_rate_a is None


def test_words_of_odds_without_an_end():
    assert "odds of Kim to pass are at least 1.90 times" in compared([(9, 0, 3, 6)]).words()
    assert "odds of Kim to pass are at most 0.53 times" in compared([(3, 6, 9, 0)]).words()


# --- refusals ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("row", "sentence"),
    [
        ((-1, 2, 3, 4), "-1 coupons cannot be"),
        ((1.5, 2, 3, 4), "1.5 coupons cannot be"),
        ((math.nan, 2, 3, 4), "nan coupons cannot be"),
        ((math.inf, 2, 3, 4), "inf coupons cannot be"),
    ],
)
def test_counts_that_cannot_be_are_refused(row, sentence):
    with pytest.raises(InputError, match=sentence):
        compared([row])


def test_nobody_is_compared_with_oneself_nor_at_a_level_that_is_no_share():
    with pytest.raises(InputError, match="name two different welders"):
        compare(frame(ADMISSIONS), "Kim", "Kim")
    with pytest.raises(InputError, match="the level is 95; it must be above 0 and below 1"):
        compared(ADMISSIONS, level=95)


# --- simulated shops -----------------------------------------------------------------------------

# Chance to pass an easy stack, one of middling difficulty, and a hard one of three sheets; coupons
# of each that the two weld. Invented.
PASSING = np.array([0.95, 0.85, 0.60])
MOSTLY_HARD, MOSTLY_EASY = np.array([5, 10, 30]), np.array([30, 10, 5])


def shop(rng, odds_of_a):
    odds = PASSING / (1 - PASSING) * odds_of_a
    passed_a = rng.binomial(MOSTLY_HARD, odds / (1 + odds))
    passed_b = rng.binomial(MOSTLY_EASY, PASSING)
    return np.stack([passed_a, MOSTLY_HARD - passed_a, passed_b, MOSTLY_EASY - passed_b], axis=1)


def shares_below(shops, odds_of_a, seed):
    rng = np.random.default_rng(seed)
    found = [compared(shop(rng, odds_of_a)) for _ in range(shops)]
    ours = np.mean([each.p is not None and each.p < 0.05 for each in found])
    naive = np.mean([each.naive_p < 0.05 for each in found])
    return float(ours), float(naive)


def test_equal_welders_with_unlike_work_are_seldom_called_different():
    shops = 1200
    ours, naive = shares_below(shops, 1.0, seed=11)
    print(f"false alarms at 5 %: same work {ours:.3f}, over all work {naive:.3f} ({shops} shops)")
    # A true share of 5 % would exceed 6.5 % in one of a hundred runs of this many shops.
    assert ours <= 0.065
    assert naive > 0.4


def test_a_really_worse_welder_is_found_in_most_shops():
    ours, _ = shares_below(300, 0.15, seed=12)
    print(f"odds 0.15 of the other's: found in {ours:.2f} of shops")
    assert ours > 0.7


def test_a_worse_welder_with_the_easy_work_is_found_though_the_rates_say_the_reverse():
    found = compared([(35, 10, 10, 0), (2, 8, 30, 15)])
    assert found.naive_rate_a > 0.67
    assert found.p < 0.01
    assert found.seen_a < found.expected_a


def test_a_single_coupon_decides_nothing_about_anybody():
    """0 of 1 against 18 of 18: the mid-p is 0.026, and the sentence still tells nobody apart."""
    found = compared([(0, 1, 18, 0)])
    assert found.p < 0.05
    assert "fewer than 5 coupons of one of them say nothing about either" in found.words()
    assert "less often" not in found.words()
