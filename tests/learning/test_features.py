import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from learning_makers import CAPS, RULES, SETTING, logged, stack_of, turned

from advisor.coupons.coupon import InterfaceResult
from advisor.coupons.rules import JudgingRules
from advisor.errors import NoAdviceError
from advisor.learning.features import (
    FEATURES,
    coupon_rows,
    curves,
    inputs,
    latest_wear,
    response_of,
    size_over_root,
)
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType
from advisor.weld.published import published_start
from advisor.weld.setting import Setting
from advisor.weld.sheet import Surface
from advisor.weld.size import GoverningRule, SizeRule
from advisor.weld.stack import AdhesiveState

SETTING_ROW = np.array([[SETTING.current_kA, SETTING.weld_ms, SETTING.force_kN]])


def start_of(stack):
    start = published_start(stack, RULES.bare_schedule)
    return np.array([[start.current_kA, start.weld_ms, start.force_kN]])


def column(found, name):
    return found[..., FEATURES.index(name)]


def test_published_start_with_the_face_of_its_row_is_a_row_of_zeros():
    # 1 mm, so that log thickness is zero too; its row has a face of 5 mm, as CAPS.
    stack = stack_of(1, 1)
    assert inputs(stack, CAPS, start_of(stack), RULES) == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize(
    ("factors", "name"), [((2, 1, 1), "current"), ((1, 2, 1), "time"), ((1, 1, 2), "force")]
)
def test_doubling_one_dial_moves_one_input_by_log_2_and_its_square(factors, name):
    stack = stack_of(1, 1)
    found = inputs(stack, CAPS, start_of(stack) * factors, RULES)[0, 0]
    assert column(found, name) == pytest.approx(math.log(2))
    # tanh(ln 2) = (2 - 1/2) / (2 + 1/2) = 0.6.
    assert column(found, f"{name}_squared") == pytest.approx(0.36)
    assert np.count_nonzero(np.abs(found) > 1e-12) == 2


@pytest.mark.parametrize("pair", ["current_by_time", "current_by_force", "time_by_force"])
def test_two_dials_moved_together_show_in_their_product(pair):
    stack, moved = stack_of(1, 1), pair.split("_by_")
    turned_by = dict.fromkeys(("current", "time", "force"), 1.0) | {moved[0]: 0.5, moved[1]: 2.0}
    factors = list(turned_by.values())
    found = inputs(stack, CAPS, start_of(stack) * factors, RULES)[0, 0]
    assert column(found, pair) == pytest.approx(-0.36)
    assert np.count_nonzero(np.abs(found) > 1e-12) == 5


@given(st.lists(st.floats(-8, 8), min_size=3, max_size=3))
def test_curves_end_where_the_dials_do_not(dials):
    assert np.abs(curves(np.array([dials]))).max() <= 1


def test_thickness_counts_by_what_the_weld_is_judged_by():
    # 0.8 on 1.6 mm: the thinner governs, the table is entered with it.
    found = inputs(stack_of(0.8, 1.6), CAPS, SETTING_ROW, RULES)
    assert column(found, "thickness") == pytest.approx(math.log(0.8))


@pytest.mark.parametrize(("welds", "expected"), [(None, 0), (0, 0), (100, math.log(2))])
def test_wear_counts_welds_since_dressing_in_hundreds(welds, expected):
    coupon = logged(1, stack_of(1, 1), SETTING, 5.0, welds_since_dressing=welds)
    assert column(coupon_rows([coupon], RULES).inputs, "wear") == pytest.approx([expected])
    found = inputs(stack_of(1, 1), CAPS, SETTING_ROW, RULES, welds_since_dressing=welds)
    assert column(found, "wear") == pytest.approx(expected)


def test_the_newest_coupon_says_how_worn_the_caps_are():
    made = [
        logged(n, stack_of(1, 1), SETTING, 5.0, welds_since_dressing=welds).coupon
        for n, welds in ((1, 40), (3, 60), (2, 50))
    ]
    assert latest_wear(made) == 60
    assert latest_wear([]) is None


@given(st.lists(st.floats(0.7, 2.0), min_size=2, max_size=4), st.integers(0, 9))
def test_a_coupon_s_row_is_the_row_its_setting_is_predicted_with(sheets, welds):
    stack = stack_of(*sheets, state=AdhesiveState.WET)
    sizes = [5.0] * (len(sheets) - 1)
    coupon = logged(1, stack, SETTING, *sizes, expulsion=True, welds_since_dressing=welds)
    asked = inputs(stack, CAPS, SETTING_ROW, RULES, expelled=True, welds_since_dressing=welds)
    assert np.array_equal(coupon_rows([coupon], RULES).inputs, asked[:, 0])


def test_face_counts_relative_to_the_face_of_the_row():
    stack = stack_of(1.2, 1.2)
    found = inputs(stack, Electrode(CapShape.FLAT, 10), start_of(stack), RULES)
    assert column(found, "face") == pytest.approx(math.log(10 / 5))


def test_three_sheets_worked_by_hand():
    # 0.8 + 1.6 + 1.6: entered with 1.6, total 4.0, thinner sheets 0.8 and 1.6.
    found = inputs(stack_of(0.8, 1.6, 1.6), CAPS, np.array([[10.0, 200, 3]]), RULES)
    assert found.shape == (2, 1, len(FEATURES))
    assert column(found, "sink") == pytest.approx(math.log(4.0 / 3.2))
    assert sorted(column(found, "interface").ravel()) == pytest.approx([math.log(0.5), 0])


@pytest.mark.parametrize("state", [s for s in AdhesiveState if s is not AdhesiveState.NONE])
def test_each_adhesive_state_has_its_own_indicator(state):
    found = inputs(stack_of(1, 1, state=state), CAPS, np.array([[10.0, 200, 3]]), RULES)[0, 0]
    assert {n: column(found, n) for n in ("wet", "part_cured", "cured")} == {
        n: float(n == state) for n in ("wet", "part_cured", "cured")
    }


# The response

# size / √t over the target 5, its root and what is left of it, all exact in decimals.
BY_HAND = {0.0: -2.0, 0.05: -1.8, 1.25: -1.0, 3.2: -0.4, 5.0: 0.0, 6.05: 0.2, 7.2: 0.4, 20.0: 2.0}
ratios = st.floats(0, 40)


@pytest.mark.parametrize(("ratio", "response"), BY_HAND.items())
def test_response_and_size_as_worked_by_hand(ratio, response):
    assert response_of(np.array([ratio])) == pytest.approx([response], abs=1e-12)
    assert size_over_root(np.array([response])) == pytest.approx([ratio], abs=1e-12)


@given(st.lists(ratios, min_size=1), st.lists(st.floats(-2, 5), min_size=1))
def test_response_and_size_undo_each_other(sizes, responses):
    sizes, responses = np.array(sizes), np.array(responses)
    assert size_over_root(response_of(sizes)) == pytest.approx(sizes, abs=1e-9)
    assert response_of(size_over_root(responses)) == pytest.approx(responses, abs=1e-9)


def test_at_the_target_the_response_changes_as_the_logarithm_does():
    # 5√t is the target of the TWI technical FAQ on interface failures.
    step = 1e-4
    below, at, above = response_of(5 * np.exp([-step, 0, step]))
    assert at == 0
    assert (above - below) / (2 * step) == pytest.approx(1, abs=1e-8)


@given(st.floats(0.01, 40))
def test_away_from_the_target_the_response_lies_above_the_logarithm(ratio):
    # e^x - 1 >= x, so a small weld is never as far below as its logarithm says.
    assert response_of(np.array(ratio)) >= math.log(ratio / 5) - 1e-12


@given(ratios, ratios)
def test_a_larger_weld_has_a_larger_response_and_the_other_way_round(one, other):
    small, large = sorted([one, other])
    if large - small > 1e-9:
        assert response_of(np.array(small)) < response_of(np.array(large))
    low, high = response_of(np.array([small, large]))
    assert size_over_root(np.array(low)) <= size_over_root(np.array(high))


@given(st.floats(-50, -2))
def test_no_weld_is_minus_two_and_less_is_no_weld(response):
    assert response_of(np.zeros(1)).tolist() == [-2]
    assert size_over_root(np.array([response])).tolist() == [0]


# 1.44 mm governs, so 1.2 √mm: 3.84 mm is 3.2√t, 6.00 mm the target, 8.64 mm 7.2√t.
@pytest.mark.parametrize(("size_mm", "response"), [(3.84, -0.4), (6.0, 0.0), (8.64, 0.4)])
def test_response_is_that_of_size_over_root_governing_thickness(size_mm, response):
    rows = coupon_rows([logged(1, stack_of(1.44, 2.0), SETTING, size_mm)], RULES)
    assert rows.response == pytest.approx([response], abs=1e-12)


def test_whole_stack_rule_changes_the_governing_thickness():
    judging = JudgingRules(size=SizeRule(governing=GoverningRule.WHOLE_STACK))
    coupon = logged(1, stack_of(0.8, 1.44, 1.44), SETTING, 3.84, 8.64)
    rows = coupon_rows([coupon], replace(RULES, judging=judging))
    # As of 1.44 mm at both interfaces, though 0.8 mm is the thinner at one.
    assert sorted(rows.response) == pytest.approx([-0.4, 0.4])


thickness = st.floats(0.7, 2.0)


@given(
    st.lists(thickness, min_size=2, max_size=4),
    st.sampled_from([Surface.BARE, Surface.HOT_DIP_ZINC, Surface.GALVANNEALED]),
    st.sampled_from(list(AdhesiveState)),
)
def test_a_coupon_turned_over_gives_the_same_rows_to_the_last_bit(sheets, surface, state):
    stack = stack_of(*sheets, surface=surface, state=state)
    coupon = logged(1, stack, SETTING, *(4 + i / 3 for i in range(len(sheets) - 1)))
    there, back = coupon_rows([coupon], RULES), coupon_rows([turned(coupon)], RULES)
    as_set = [sorted(map(tuple, np.column_stack([r.inputs, r.response]))) for r in (there, back)]
    assert as_set[0] == as_set[1]


@pytest.mark.parametrize("failure", [FailureType.NO_FUSION, FailureType.INTERFACE])
def test_without_a_button_the_size_is_below_three_and_a_half_root_t(failure):
    # The lowest limit any source gives: 3.5√t (ISO 14373 / ISO 18278-2 practice, from memory).
    results = (InterfaceResult(failure=failure), InterfaceResult(7.2, 7.2, FailureType.BUTTON))
    rows = coupon_rows([logged(1, stack_of(1, 1, 1), SETTING, results=results)], RULES)
    assert rows.is_below.tolist() == [True, False]
    assert rows.response == pytest.approx([2 * (math.sqrt(3.5 / 5) - 1), 0.4])


def test_a_measured_interface_failure_is_a_size():
    results = (InterfaceResult(3.2, 3.2, FailureType.INTERFACE),)
    rows = coupon_rows([logged(1, stack_of(1, 1), SETTING, results=results)], RULES)
    assert not rows.is_below.any()
    assert rows.response == pytest.approx([-0.4])


def test_coupons_that_teach_nothing_are_counted_by_reason():
    good, plain = stack_of(1.2, 1.2), SETTING
    unmeasured = (InterfaceResult(failure=FailureType.BUTTON),)
    coupons = [
        logged(1, good, plain, 5.0),
        logged(2, good, plain, results=unmeasured),
        logged(3, stack_of(1, 1, surface=Surface.WELD_PRIMER), plain, 5.0),
        logged(4, good, plain, 5.0, voided="wrong machine"),
        logged(5, stack_of(1, 1, 1), plain, 5.0, None),
        logged(6, good, plain, None),
        logged(7, stack_of(1, 1, 1), plain, results=(*unmeasured, InterfaceResult(5, 5))),
    ]
    rows = coupon_rows(coupons, RULES)
    assert rows.numbers == (1, 5, 5, 6, 7)
    assert rows.n_coupons == 4
    left = rows.left_out
    assert (left.voided, left.no_start, left.no_size, left.total) == (1, 1, 1, 3)


def test_no_coupons_give_no_rows():
    rows = coupon_rows([], RULES)
    assert rows.inputs.shape == (0, len(FEATURES))
    assert rows.response.shape == (0,)


def test_expelled_coupon_is_marked():
    found = coupon_rows([logged(1, stack_of(1, 1), SETTING, 5.0, expulsion=True)], RULES)
    assert column(found.inputs, "expelled") == pytest.approx([1])


def test_four_sheets_under_the_whole_stack_rule_teach_nothing():
    judging = JudgingRules(size=SizeRule(governing=GoverningRule.WHOLE_STACK))
    coupon = logged(1, stack_of(1, 1, 1, 1), Setting(10, 200, 3), 4.5, 4.5, 4.5)
    assert coupon_rows([coupon], replace(RULES, judging=judging)).left_out.no_start == 1


def test_inputs_refuse_a_stack_without_a_published_start():
    with pytest.raises(NoAdviceError, match="no published start for weld-through primer"):
        inputs(stack_of(1, 1, surface=Surface.WELD_PRIMER), CAPS, np.ones((1, 3)), RULES)
