"""The three intervals of a pass rate against another library, and the words they come in.

Published cases are checked in tests/published/test_intervals.py.
"""

import pytest
from scipy.stats import beta
from statsmodels.stats.proportion import proportion_confint

from advisor.errors import InputError
from advisor.review.intervals import PassRate, pass_rate, percent

GRID = [(passed, n) for n in (1, 2, 5, 20, 137) for passed in sorted({0, 1, n // 2, n - 1, n})]
THEIR_NAME = {"wilson": "wilson", "exact": "beta", "jeffreys": "jeffreys"}


@pytest.mark.parametrize("level", [0.8, 0.95, 0.99])
@pytest.mark.parametrize("method", THEIR_NAME)
def test_intervals_are_those_of_another_library(method, level):
    for passed, judged in GRID:
        rate = pass_rate(passed, judged, method, level)
        low, high = proportion_confint(passed, judged, 1 - level, THEIR_NAME[method])
        # At the extremes the other library keeps the tails of the beta distribution.
        if method == "jeffreys":
            low, high = (low if passed else 0.0), (high if passed < judged else 1.0)
        assert (rate.low, rate.high) == pytest.approx((low, high), abs=1e-9), (passed, judged)


def test_jeffreys_has_equal_tails_and_closed_ends_at_the_extremes():
    rate = pass_rate(15, 20, "jeffreys")
    assert beta(15.5, 5.5).cdf([rate.low, rate.high]) == pytest.approx([0.025, 0.975])
    assert pass_rate(0, 4, "jeffreys").low == 0
    assert pass_rate(4, 4, "jeffreys").high == 1
    assert pass_rate(4, 4, "jeffreys").low == pytest.approx(beta(4.5, 0.5).ppf(0.025))


@pytest.mark.parametrize("method", THEIR_NAME)
def test_every_interval_holds_the_rate_and_mirrors(method):
    for passed, judged in GRID:
        rate, mirrored = (
            pass_rate(passed, judged, method),
            pass_rate(judged - passed, judged, method),
        )
        assert rate.low <= rate.rate <= rate.high
        assert (1 - rate.high, 1 - rate.low) == pytest.approx((mirrored.low, mirrored.high))


def test_words_say_which_interval_and_which_level():
    assert pass_rate(15, 20).words() == "75 % (15 of 20), 95 % interval 53 to 89 % (Wilson)"
    assert pass_rate(4, 20, "exact", 0.9).words() == (
        "20 % (4 of 20), 90 % interval 7 to 40 % (exact)"
    )
    assert pass_rate(4, 20, "jeffreys").words().endswith("(Jeffreys)")
    assert PassRate(15, 20, 0.75, 0.53, 0.89).words() == pass_rate(15, 20).words()


@pytest.mark.parametrize(
    ("share", "beside", "shown"),
    [
        (0.784, None, "78"),
        (1.0, None, "100"),
        (0.0, None, "0"),
        (199 / 200, None, "99.5"),
        (0.99999, None, "99.9"),
        (0.0001, None, "0.1"),
        (0.897, 0.9, "89.7"),
        (0.8998, 0.9, "89.98"),
        (0.9, 0.9, "90"),
        (0.897, 0.925, "90"),
    ],
)
def test_a_percentage_is_not_rounded_onto_a_limit_it_does_not_reach(share, beside, shown):
    assert percent(share, beside) == shown


@pytest.mark.parametrize("method", THEIR_NAME)
@pytest.mark.parametrize("level", [0, 1, 95])
def test_a_level_that_is_no_share_is_refused(level, method):
    with pytest.raises(InputError, match=f"the level is {level}; it must be above 0 and below 1"):
        pass_rate(3, 5, method, level)
