"""What was foretold against what happened; the honest are blamed no more often than promised."""

import numpy as np
import pandas as pd
import pytest
from sklearn.calibration import calibration_curve
from sklearn.metrics import brier_score_loss

from advisor.errors import InputError
from advisor.review import foretold
from advisor.review.foretold import (
    ForetoldSums,
    honesty,
    honesty_of_sums,
    reliability,
    reliability_from_bins,
    sums_of,
)
from advisor.review.intervals import pass_rate


def forecasts(count):
    """Return chances, and outcomes that come as often as they say."""
    random = np.random.default_rng(count)
    p = random.uniform(0.5, 1.0, count)
    return p, random.random(count) < p


P, Y = forecasts(1000)


def test_the_score_is_the_mean_squared_error():
    found = honesty(P, Y)
    assert found.brier == pytest.approx(brier_score_loss(Y, P))
    assert found.base_brier == pytest.approx(brier_score_loss(Y, np.full(1000, Y.mean())))
    assert (found.foretold, found.seen) == (pytest.approx(P.mean()), pytest.approx(Y.mean()))


def test_spiegelhalter_as_he_writes_it():
    found = honesty(P, Y)
    numerator = ((Y - P) * (1 - 2 * P)).sum()
    assert found.z == pytest.approx(numerator / np.sqrt(((1 - 2 * P) ** 2 * P * (1 - P)).sum()))


def test_spiegelhalter_s_p_is_that_of_a_simulation():
    p = np.linspace(0.55, 0.98, 200)
    y = np.arange(200) % 5 != 0
    errors = ((np.random.default_rng(1).random((20_000, 200)) < p) - p) ** 2
    expected = (p * (1 - p)).sum()
    seen = abs(((y - p) ** 2).sum() - expected)
    share = (np.abs(errors.sum(axis=1) - expected) >= seen).mean()
    assert honesty(p, y).p == pytest.approx(share, abs=0.02)


def test_sums_of_two_parts_say_the_same_as_the_whole():
    parts = [sums_of(P[:300], Y[:300]), sums_of(P[300:], Y[300:])]
    names = ("count", "foretold", "happened", "squared_error", "variance", "error_variance")
    added = ForetoldSums(**{n: sum(getattr(part, n) for part in parts) for n in names})
    found, whole = honesty_of_sums(added), honesty(P, Y)
    assert (found.reading, found.count) == (whole.reading, whole.count)
    assert found.z == pytest.approx(whole.z)


def test_said_too_much_in_words():
    found = honesty([0.92] * 120, [1] * 102 + [0] * 18)
    assert found.words() == "said 92 %, seen 85 % (77 to 91 %) of 120: too sure"
    off, low, high = found.difference
    assert off == pytest.approx(0.07)
    assert 0 < low < off < high


def test_what_is_hoped_for_decides_which_error_is_too_sure():
    said_less = ([0.05] * 100, [1] * 20 + [0] * 80)
    assert honesty(*said_less).reading == foretold.TOO_CAUTIOUS
    assert honesty(*said_less, hoped_for=False).reading == foretold.TOO_SURE
    said_more = ([0.5] * 100, [1] * 20 + [0] * 80)
    assert honesty(*said_more, hoped_for=False).reading == foretold.TOO_CAUTIOUS


def test_few_are_not_judged():
    assert honesty([0.9] * 19, [0] * 19).words() == (
        "said 90 %, seen 0 % (0 to 18 %) of 19: too few to say (under 20)"
    )
    nothing = honesty([], [])
    assert nothing.difference is None
    assert nothing.words() == "nothing foretold yet: too few to say (under 20)"


@pytest.mark.parametrize("p", [0.0, 0.5, 1.0])
def test_chances_that_leave_nothing_to_test_have_no_test(p):
    found = honesty([p] * 40, [1, 0] * 20)
    assert found.z is None
    assert found.p is None


def blamed(draw_p, truth, shops=1000, count=120):
    """Return the share of forecasters that are called anything but honest."""
    wrong, random = 0, np.random.default_rng(count)
    for _ in range(shops):
        p = draw_p(random, count)
        found = honesty(p, random.random(count) < truth(p))
        wrong += found.reading not in (foretold.AS_SAID, foretold.FEW)
    return wrong / shops


@pytest.mark.parametrize(
    ("low", "high", "count"),
    [(0.5, 1.0, 120), (0.85, 0.99, 60), (0.9, 0.9, 200), (0.001, 0.05, 120), (0.0, 1.0, 20)],
)
def test_the_honest_are_seldom_blamed(low, high, count):
    share = blamed(lambda random, n: random.uniform(low, high, n), lambda p: p, count=count)
    print(f"honest between {low} and {high}, {count} coupons: blamed {share:.1%}")
    assert share <= 0.06


@pytest.mark.parametrize(
    ("what", "truth"),
    [("ten points too high", lambda p: p - 0.1), ("too far apart", lambda p: 0.5 + (p - 0.5) / 4)],
)
def test_the_dishonest_are_mostly_found(what, truth):
    def both_ends(random, n):
        return random.choice([0.15, 0.3, 0.7, 0.85], n)

    share = blamed(both_ends, truth, shops=400, count=300)
    print(f"{what}, 300 coupons: found {share:.0%}")
    assert share > 0.9


def test_wrong_at_each_chance_but_right_on_the_whole_is_said():
    p = np.repeat([0.1, 0.9], 100)
    y = np.tile([1, 0], 100)
    assert honesty(p, y).reading == foretold.UNEVEN


def test_equally_full_bins_are_those_of_another_library():
    table = reliability(P, Y)
    seen, said = calibration_curve(Y, P, n_bins=10, strategy="quantile")
    assert list(table["count"]) == [100] * 10
    np.testing.assert_allclose(table["seen"], seen)
    np.testing.assert_allclose(table["foretold"], said)


def test_a_bin_has_the_interval_of_a_pass_rate():
    for row in reliability(P, Y).itertuples():
        rate = pass_rate(round(row.seen * row.count), row.count)
        assert (row.low, row.high) == (rate.low, rate.high)
        assert row.bin_low <= row.foretold <= row.bin_high
        assert f"of {row.count}" in row.reading


@pytest.mark.parametrize("count", [1, 9, 10, 19, 20, 47, 95, 333])
def test_no_bin_is_almost_empty(count):
    p, y = forecasts(count)
    table = reliability(p, y)
    assert table["count"].sum() == count
    assert len(table) <= 10
    assert table["count"].min() >= min(count, foretold.FEWEST_IN_BIN)
    assert table["foretold"].is_monotonic_increasing


def test_equal_chances_stay_together():
    table = reliability([0.9] * 95 + [0.2] * 5, [1] * 90 + [0] * 10)
    assert list(table["count"]) == [100]
    table = reliability([0.9] * 95 + [0.2] * 12, [1] * 90 + [0] * 17)
    assert list(table["foretold"]) == pytest.approx([0.2, 0.9])


def test_narrow_bins_of_a_database_say_nearly_the_same():
    edges = np.linspace(0, 1, 101)
    which = pd.Series(np.minimum((P * 100).astype(int), 99))
    narrow = pd.DataFrame({"p": P, "y": Y}).groupby(which).agg(["count", "sum"])
    sums = pd.DataFrame(
        {
            "low": edges[narrow.index],
            "high": edges[narrow.index + 1],
            "count": narrow[("p", "count")],
            "sum_foretold": narrow[("p", "sum")],
            "sum_happened": narrow[("y", "sum")],
        }
    )
    found = reliability_from_bins(sums.sample(frac=1, random_state=1))
    assert found["count"].sum() == 1000
    assert found["count"].min() >= 50
    for row in found.itertuples():
        inside = (row.bin_low <= P) & (row.bin_high > P)
        assert row.seen == pytest.approx(Y[inside].mean())
        assert row.foretold == pytest.approx(P[inside].mean())


def test_nothing_foretold_is_an_empty_table():
    table = reliability([], [])
    assert table.empty
    assert {"foretold", "seen", "low", "high", "count"} <= set(table.columns)


@pytest.mark.parametrize(
    ("p", "y", "says"),
    [
        ([0.5], [1, 0], "1 chances and 2 outcomes"),
        ([0.5, 1.2], [1, 0], "a chance runs from 0 to 1"),
        ([0.5, float("nan")], [1, 0], "a chance runs from 0 to 1"),
        ([0.5], [0.5], "an outcome is 0 or 1"),
    ],
)
def test_what_cannot_be_is_refused(p, y, says):
    with pytest.raises(InputError, match=says):
        honesty(p, y)
    with pytest.raises(InputError, match=says):
        reliability(p, y)


def test_bins_that_cannot_be_are_refused():
    with pytest.raises(InputError, match="0 bins hold nothing"):
        reliability(P, Y, bins=0)
    with pytest.raises(InputError, match="lack the column low"):
        reliability_from_bins(pd.DataFrame({"count": [1]}))
