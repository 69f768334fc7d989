"""Wear of the caps: the line against another program, the ratio against two other ways."""

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from advisor.review.wear import FEWEST, SHORTEST_SPAN, Estimate, Line, WearReading, forecast

MINIMUM = 4.0
COUNTS = np.arange(0, 300, 15.0)


def worn(seed, slope=-0.004, sd=0.2, counts=COUNTS, fresh=5.5):
    return fresh + slope * counts + np.random.default_rng(seed).normal(0, sd, len(counts))


def peer(welds, values):
    return sm.OLS(values, sm.add_constant(welds)).fit()


def peer_at(fitted, welds, alpha):
    """Return the other program's prediction at some counts."""
    at = np.column_stack([np.ones(len(welds)), welds])
    return fitted.get_prediction(at).summary_frame(alpha=alpha)


@pytest.mark.parametrize("seed", range(3))
def test_line_and_bounds_are_those_of_another_program(seed):
    values = worn(seed)
    fitted, line = peer(COUNTS, values), Line.through(COUNTS, values)
    assert line.slope == pytest.approx(fitted.params[1])
    assert line.sd == pytest.approx(np.sqrt(fitted.scale))
    low, high = fitted.conf_int(0.1)[1]
    found = line.slope_estimate(0.9)
    assert (found.low, found.high) == pytest.approx((low, high))
    at = np.array([0.0, 100.0, 285.0, 600.0])
    # a one-sided 95 % bound is an end of the two-sided 90 % interval
    expected = peer_at(fitted, at, 0.1)["obs_ci_lower"]
    assert line.single_low(at) == pytest.approx(expected.to_numpy())


@pytest.mark.parametrize("seed", range(4))
def test_the_ratio_ends_where_the_other_program_s_mean_meets_the_minimum(seed):
    """Fieller's set holds the counts at which the minimum lies inside the interval of the mean."""
    values = worn(seed)
    fitted = peer(COUNTS, values)
    found = Line.through(COUNTS, values).reaches(MINIMUM, 0.95)

    def end(column, low, high):
        def over(w):
            return float(peer_at(fitted, [w], 0.05)[column].iloc[0]) - MINIMUM

        return brentq(over, low, high)

    assert found.value == pytest.approx(-(fitted.params[0] - MINIMUM) / fitted.params[1])
    assert found.low == pytest.approx(end("mean_ci_lower", 0, found.value))
    assert found.high == pytest.approx(end("mean_ci_upper", found.value, 5000))


def test_with_a_slope_that_may_be_none_only_the_near_end_is_left():
    values = worn(11, slope=-0.0005, sd=0.3)
    fitted = peer(COUNTS, values)
    found = Line.through(COUNTS, values).reaches(MINIMUM, 0.95)
    assert fitted.pvalues[1] > 0.05
    assert np.isinf(found.high)
    low = float(peer_at(fitted, [found.low], 0.05)["mean_ci_lower"].iloc[0])
    assert low == pytest.approx(MINIMUM)


def test_a_mean_at_the_minimum_with_no_slope_may_reach_it_anywhere():
    rng = np.random.default_rng(1)
    off = COUNTS - COUNTS.mean()
    values = MINIMUM - 1e-5 * off + rng.normal(0, 0.3, len(COUNTS))
    values += MINIMUM - values.mean()
    values -= (np.polyfit(COUNTS, values, 1)[0] + 1e-5) * off
    found = Line.through(COUNTS, values).reaches(MINIMUM, 0.95)
    assert (found.low, found.high) == (-np.inf, np.inf)


def test_a_line_that_rises_never_reaches_the_minimum():
    reading = forecast(COUNTS, worn(3, slope=0.004), MINIMUM)
    assert reading.at_minimum is None
    assert reading.welds_left is None
    assert reading.sentences[0] == "No wear seen up to 285 welds since dressing."


@pytest.mark.parametrize(("slope", "sd"), [(-0.004, 0.2), (-0.003, 0.4), (-0.001, 0.4)])
def test_the_interval_of_the_ratio_covers_the_truth(slope, sd):
    truth = (MINIMUM - 5.5) / slope
    hits, ends = [], []
    for seed in range(3000):
        found = Line.through(COUNTS, worn(seed, slope, sd)).reaches(MINIMUM, 0.95)
        if found is None:
            # no fall at all: nothing is claimed
            hits.append(True)
            continue
        hits.append(found.low <= truth <= found.high)
        ends.append(np.isfinite(found.high))
    print(f"slope {slope}, sd {sd}: cover {np.mean(hits):.3f}, finite {np.mean(ends):.3f}")
    assert 0.93 <= np.mean(hits) <= 0.985


def test_a_single_weld_is_above_its_bound_as_often_as_said():
    rng = np.random.default_rng(5)
    fine = []
    for seed in range(2000):
        line = Line.through(COUNTS, worn(seed, -0.004, 0.25))
        bound = line.single_low(np.array([250.0]))[0]
        fine.append(5.5 - 0.004 * 250 + rng.normal(0, 0.25) >= bound)
    assert np.mean(fine) == pytest.approx(0.95, abs=0.015)


@given(
    st.lists(st.integers(0, 900), min_size=FEWEST, max_size=40),
    st.floats(3.5, 7.0),
    st.floats(-0.01, 0.01),
    st.floats(0.01, 0.6),
    st.integers(0, 10_000),
)
def test_the_dressing_interval_stays_among_the_tested_counts(counts, fresh, slope, sd, seed):
    welds = np.array(counts, dtype=float)
    values = fresh + slope * welds + np.random.default_rng(seed).normal(0, sd, len(welds))
    reading = forecast(welds, values, MINIMUM)
    if reading.refusal:
        assert np.ptp(welds) < SHORTEST_SPAN
        return
    found = reading.dressing_interval
    line = Line.through(welds, values)
    tens = [w for w in range(10, 901, 10) if welds.min() <= w <= welds.max()]
    fine = [w for w in tens if line.single_low(np.array([float(w)]))[0] >= MINIMUM]
    assert found == (max(fine) if fine else None)


def test_however_good_the_welds_nothing_is_said_beyond_the_last_count():
    reading = forecast(COUNTS, worn(1, slope=-0.0001, sd=0.05, fresh=8.0), MINIMUM)
    assert reading.dressing_interval == 280
    assert reading.largest_count == 285
    assert "285 is as far as was tested" in reading.sentences[1]


def test_wear_is_said_in_words():
    reading = forecast(COUNTS, worn(1, slope=-0.005), MINIMUM)
    assert reading.slope.high < 0
    wear, dressing = reading.sentences
    assert "mm/√mm less every 100 welds since dressing" in wear
    left = reading.welds_left
    assert f"in {left.value:.0f} welds (95 % interval {left.low:.0f} to {left.high:.0f})" in wear
    assert f"Dress at {reading.dressing_interval} welds at the latest: beyond" in dressing
    assert 0 < reading.dressing_interval < 285


def test_welds_left_are_counted_from_the_newest_coupon():
    values = worn(2)
    late = forecast(COUNTS, values, MINIMUM)
    early = forecast(COUNTS[::-1], values[::-1], MINIMUM)
    assert late.at_minimum.value == pytest.approx(early.at_minimum.value)
    assert early.welds_left.value - late.welds_left.value == pytest.approx(285)


def test_caps_that_are_worn_out_have_no_welds_left():
    reading = forecast(COUNTS, worn(4, slope=-0.01, sd=0.1), MINIMUM)
    assert reading.welds_left.value == 0
    assert "the mean is at the minimum now" in reading.sentences[0]
    none = forecast(COUNTS, worn(4, fresh=4.0), MINIMUM)
    assert none.dressing_interval is None
    assert "At no tested weld count" in none.sentences[1]


def test_too_few_counts_or_too_narrow_ones_are_refused_in_words():
    values = worn(1)
    counted = np.where(np.arange(len(COUNTS)) < 7, COUNTS, np.nan)
    few = forecast(counted, values, MINIMUM)
    assert "7 coupons on these caps carry the welds since dressing; 8 are needed" in few.refusal
    narrow = forecast(100 + COUNTS / 30, values, MINIMUM)
    assert "lie within 10 welds of each other" in narrow.refusal
    for reading in (few, narrow, forecast([], [], MINIMUM)):
        assert reading.slope is None
        assert reading.dressing_interval is None
        assert reading.sentences == (reading.refusal,)


def test_coupons_without_a_size_say_nothing_about_wear():
    values = worn(1)
    gaps = np.insert(values, 5, np.nan)
    counts = np.insert(COUNTS, 5, 40.0)
    assert forecast(counts, gaps, MINIMUM) == forecast(COUNTS, values, MINIMUM)


def test_a_reading_is_a_value():
    assert WearReading(3, refusal="x").sentences == ("x",)
    assert Estimate(1.0, 0.5, 2.0) == Estimate(1.0, 0.5, 2.0)
