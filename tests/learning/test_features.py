import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from learning_makers import CAPS, RULES, SETTING, logged, stack_of, turned

from advisor.coupons.rules import JudgingRules
from advisor.errors import NoAdviceError
from advisor.learning.features import FEATURES, coupon_rows, inputs
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.published import published_start
from advisor.weld.setting import Setting
from advisor.weld.sheet import Surface
from advisor.weld.size import GoverningRule, SizeRule
from advisor.weld.stack import AdhesiveState


def start_of(stack):
    start = published_start(stack, RULES.bare_schedule)
    return np.array([[start.current_kA, start.weld_ms, start.force_kN]])


def column(found, name):
    return found[..., FEATURES.index(name)]


def test_published_start_with_the_face_of_its_row_is_a_row_of_zeros():
    stack = stack_of(1.2, 1.2)
    assert inputs(stack, CAPS, start_of(stack), RULES) == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize(
    ("factors", "name"), [((2, 1, 1), "current"), ((1, 2, 1), "time"), ((1, 1, 2), "force")]
)
def test_doubling_one_dial_moves_one_input_by_log_2(factors, name):
    stack = stack_of(1.2, 1.2)
    found = inputs(stack, CAPS, start_of(stack) * factors, RULES)[0, 0]
    assert column(found, name) == pytest.approx(math.log(2))
    assert np.count_nonzero(np.abs(found) > 1e-12) == 1


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


def test_response_is_log_of_size_over_root_governing_thickness():
    rows = coupon_rows([logged(1, stack_of(1.44, 2.0), SETTING, 6.0)], RULES)
    assert rows.response == pytest.approx([math.log(6.0 / 1.2)])


def test_whole_stack_rule_changes_the_governing_thickness():
    judging = JudgingRules(size=SizeRule(governing=GoverningRule.WHOLE_STACK))
    coupon = logged(1, stack_of(0.8, 1.44, 1.44), SETTING, 6.0, 6.0)
    rows = coupon_rows([coupon], replace(RULES, judging=judging))
    assert rows.response == pytest.approx([math.log(5)] * 2)


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


def test_coupons_that_teach_nothing_are_counted_by_reason():
    good, plain = stack_of(1.2, 1.2), SETTING
    coupons = [
        logged(1, good, plain, 5.0),
        logged(2, good, plain, None),
        logged(3, stack_of(1, 1, surface=Surface.WELD_PRIMER), plain, 5.0),
        logged(4, good, plain, 5.0, voided="wrong machine"),
        logged(5, stack_of(1, 1, 1), plain, 5.0, None),
    ]
    rows = coupon_rows(coupons, RULES)
    assert rows.numbers == (1, 5)
    assert rows.n_coupons == 2
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
