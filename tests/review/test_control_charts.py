"""Control charts against worked examples of others, and the rules one by one."""

import numpy as np
import pytest

from advisor.errors import InputError
from advisor.review.control_charts import (
    LARGEST_RANGE,
    RANGE_PER_SD,
    RUN,
    Ewma,
    IndividualsLimits,
    Rule,
    Signal,
    ewma,
    find_signals,
    individuals_limits,
    limits_around,
    moving_range_df,
    running_average,
    width_for,
)

# NIST/SEMATECH e-Handbook, pmc324: read in outline, numbers from memory, recomputed.
NIST_AVERAGED = np.array(
    "52.0 47.0 53.0 49.3 50.1 47.0 51.0 50.1 51.2 50.5 49.6 47.6 49.9 51.3 47.8 51.2 52.6 52.4 "
    "53.6 52.1".split(),
    dtype=float,
)
NIST_AVERAGES = np.array(
    "50.60 49.52 50.56 50.18 50.16 49.21 49.75 49.85 50.26 50.33 50.11 49.36 49.52 50.05 49.38 "
    "49.92 50.73 51.23 51.94 51.99".split(),
    dtype=float,
)
# Likewise, pmc322: ten batches of a flow rate.
NIST_SINGLE = np.array([49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1])
# Thirty diameters with their limits: SAS/QC User's Guide, example 9.4 of MACONTROL, read.
DIAMETERS = np.array(
    "24.05 23.99 23.95 23.93 23.97 24.02 24.06 24.10 23.98 24.03 23.91 24.06 24.06 23.96 23.98 "
    "24.06 24.01 24.00 23.93 23.92 24.09 24.11 24.05 23.98 23.98 24.06 24.02 24.06 23.97 "
    "23.96".split(),
    dtype=float,
)


def test_weighted_averages_are_those_of_the_handbook_and_none_is_beyond():
    found = ewma(NIST_AVERAGED, 50, 2.0539, weight=0.3, width=3)
    assert found.averages == pytest.approx(NIST_AVERAGES, abs=0.0051)
    assert found.upper == pytest.approx(np.full(20, 52.5884), abs=1e-4)
    assert found.lower == pytest.approx(np.full(20, 47.4115), abs=2e-4)
    limits = limits_around(50, 2.0539)
    rules = {s.rule for s in find_signals(NIST_AVERAGED, limits, found)}
    assert Rule.AVERAGE not in rules


def test_single_values_have_the_limits_of_the_handbook():
    found = individuals_limits(NIST_SINGLE)
    assert np.abs(np.diff(NIST_SINGLE)).mean() == pytest.approx(1.8778, abs=1e-4)
    assert (found.centre, found.upper, found.lower) == pytest.approx(
        (50.81, 55.8041, 45.8159), abs=2e-4
    )


def test_thirty_diameters_have_the_limits_of_another_program():
    found = individuals_limits(DIAMETERS)
    assert (found.lower, found.centre, found.upper) == pytest.approx(
        (23.8571, 24.0083, 24.1596), abs=1e-4
    )
    assert found.sd == pytest.approx(0.050423, rel=5e-4)
    assert found.largest_range == pytest.approx(0.18585, rel=5e-4)


def test_the_recursion_is_the_one_written_out():
    values = np.random.default_rng(1).normal(5, 1, 30)
    expected, z = [], 5.0
    for value in values:
        z = 0.2 * value + 0.8 * z
        expected.append(z)
    assert ewma(values, 5, 1).averages == pytest.approx(expected)
    assert running_average(values[:, None], 5.0)[:, 0] == pytest.approx(expected)


def test_a_coupon_without_a_value_leaves_the_average_where_it_was():
    found = ewma([np.nan, 6.0, np.nan, 6.0], 5.0, 1.0).averages
    assert found == pytest.approx([5.0, 5.2, 5.2, 5.36])


def test_values_that_are_missing_are_left_out_of_a_baseline():
    gaps = np.insert(NIST_SINGLE, [3, 7], np.nan)
    assert individuals_limits(gaps).upper == individuals_limits(NIST_SINGLE).upper


def test_few_values_widen_the_limits_and_many_do_not():
    values = np.random.default_rng(2).normal(size=2000)
    few, plain = individuals_limits(values[:25], True), individuals_limits(values[:25])
    assert few.upper - few.lower > 1.1 * (plain.upper - plain.lower)
    many, plain = individuals_limits(values, True), individuals_limits(values)
    assert many.upper - many.lower == pytest.approx(plain.upper - plain.lower, rel=0.01)
    assert ewma([0.0], 0, 1, doubt=1 / 25, df=24).upper[0] > 1.2 * ewma([0.0], 0, 1).upper[0]


@pytest.mark.parametrize("n", [12, 25])
def test_widened_limits_let_a_further_coupon_out_as_seldom_as_known_ones(n):
    rng = np.random.default_rng(3)
    out = {True: 0, False: 0}
    for values in rng.normal(size=(20_000, n + 1)):
        for is_widened in out:
            found = individuals_limits(values[:-1], is_widened)
            out[is_widened] += not found.lower <= values[-1] <= found.upper
    assert out[True] / 20_000 == pytest.approx(0.0027, abs=0.0012)
    assert out[False] > 2 * out[True]


@pytest.mark.parametrize("n", [2, 12, 25, 60])
def test_degrees_of_freedom_of_a_moving_range_are_those_of_a_simulation(n):
    sd = np.abs(np.diff(np.random.default_rng(4).normal(size=(40_000, n)))).mean(axis=1)
    assert moving_range_df(n) == pytest.approx(sd.mean() ** 2 / sd.var() / 2, rel=0.05)


def test_the_width_keeps_its_tail():
    assert width_for(3.0, np.inf) == 3.0
    assert width_for(3.0, 1e7) == pytest.approx(3.0, rel=1e-5)
    draws = np.random.default_rng(5).standard_t(5, 400_000)
    assert (draws > width_for(2.0, 5)).mean() == pytest.approx(0.02275, abs=0.001)


def signals(values, no_button=None, centre=0.0):
    values = np.asarray(values, dtype=float)
    limits = limits_around(centre, 1.0)
    return find_signals(values, limits, ewma(values, centre, 1.0), no_button)


def test_a_quiet_series_gives_no_signal():
    assert signals([0.5, -0.5] * 20) == ()
    assert signals([]) == ()


def test_a_single_coupon_beyond_the_limits():
    found = signals([0.5, -0.5, 3.1, -0.4, 0.3])
    assert Signal(Rule.BEYOND, 2, 2, 1) in found
    assert Rule.BEYOND not in {s.rule for s in signals([0.5, -0.5, 2.9, -0.4])}


def test_a_small_lasting_shift_is_found_by_the_average_and_by_the_run():
    found = signals([0.4, -0.4] * 3 + [-1.5] * 12)
    assert {s.rule for s in found} == {Rule.AVERAGE, Rule.RUN}
    run = next(s for s in found if s.rule is Rule.RUN)
    # the last of the first six was below the centre too
    assert (run.first, run.last, run.side) == (5, 17, -1)
    average = next(s for s in found if s.rule is Rule.AVERAGE)
    assert average.last == 17
    assert average.side == -1


def test_seven_in_a_row_are_no_run_and_eight_are():
    below = [-0.5] * (RUN - 1)
    assert signals([0.5, *below, 0.5]) == ()
    assert signals([0.5, *below, -0.5, 0.5]) == (Signal(Rule.RUN, 1, 8, -1),)


def test_a_value_on_the_centre_ends_a_run():
    assert signals([0.5] * 4 + [0.0] + [0.5] * 4) == ()


def test_a_gap_neither_ends_a_run_nor_hides_a_jump():
    assert signals([0.5] * 4 + [np.nan] + [0.5] * 4) == (Signal(Rule.RUN, 0, 8, 1),)
    assert signals([2.5, np.nan, -2.5]) == (Signal(Rule.JUMP, 0, 2, -1),)


def test_a_jump_is_told_apart_from_a_range_just_inside():
    limit = LARGEST_RANGE * RANGE_PER_SD
    assert signals([limit / 2 - 0.01, -limit / 2 + 0.01]) == ()
    assert signals([-limit / 2 - 0.01, limit / 2]) == (Signal(Rule.JUMP, 0, 1, 1),)


def test_coupons_without_a_button_are_one_signal_where_they_follow_each_other():
    found = signals([0.1, np.nan, np.nan, 0.1, np.nan], [False, True, True, False, True])
    assert found == (Signal(Rule.NO_BUTTON, 1, 2, -1), Signal(Rule.NO_BUTTON, 4, 4, -1))


def test_limits_may_differ_from_coupon_to_coupon():
    limits = IndividualsLimits(0.0, 1.0, np.array([-3.0, -5.0]), np.array([3.0, 5.0]), 99.0)
    still = Ewma(np.zeros(2), -np.ones(2), np.ones(2))
    assert find_signals([4.0, 4.0], limits, still) == (Signal(Rule.BEYOND, 0, 0, 1),)


@pytest.mark.parametrize(
    ("rule", "side", "text"),
    [
        (Rule.BEYOND, -1, "coupon 3 to coupon 5: below the lower limit"),
        (Rule.BEYOND, 1, "coupon 3 to coupon 5: above the upper limit"),
        (Rule.AVERAGE, -1, "coupon 3 to coupon 5: weighted average below its lower limit"),
        (Rule.RUN, 1, "coupon 3 to coupon 5: 8 or more in a row above the centre"),
        (Rule.JUMP, -1, "coupon 3 to coupon 5: drop larger than the range limit"),
        (Rule.JUMP, 1, "coupon 3 to coupon 5: rise larger than the range limit"),
        (Rule.NO_BUTTON, -1, "coupon 3 to coupon 5: no button"),
    ],
)
def test_a_signal_says_what_and_where(rule, side, text):
    assert Signal(rule, 2, 4, side).words() == text


def test_a_signal_names_coupons_as_the_caller_does():
    assert Signal(Rule.NO_BUTTON, 2, 2, -1).words(lambda i: f"no. {i + 40}") == "no. 42: no button"


def test_a_rule_is_read_back_by_its_code():
    assert Rule.of("run") is Rule.RUN
    with pytest.raises(InputError, match="rule of the chart is 'shift'"):
        Rule.parse("shift")


def test_what_cannot_be_a_chart_is_refused():
    with pytest.raises(InputError, match="limits from 1 values are not possible"):
        individuals_limits([5.0, np.nan])
    with pytest.raises(InputError, match=r"weight of the newest value is 1\.2"):
        ewma([1.0], 0, 1, weight=1.2)
