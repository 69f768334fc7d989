"""Properties of the minimum size; the published figures are checked under tests/published."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import stacks

from advisor.errors import InputError
from advisor.weld.sheet import Sheet
from advisor.weld.size import SIZE_STEP_MM, GoverningRule, SizeRule, minimum_size_mm
from advisor.weld.stack import Stack

RULES = [SizeRule(k, governing) for k in (3.5, 4.0, 5.0) for governing in GoverningRule]


@given(st.floats(0.4, 0.75), st.sampled_from([3.5, 4.0, 5.0]))
def test_four_times_the_thickness_needs_twice_the_size(thickness_mm, k):
    # each size is rounded by at most half a step, the doubled one counts twice
    twice = 2 * minimum_size_mm(thickness_mm, k)
    assert minimum_size_mm(4 * thickness_mm, k) == pytest.approx(
        twice, abs=1.5 * SIZE_STEP_MM + 1e-9
    )


@given(st.floats(0.4, 3.0))
def test_minimum_is_a_whole_number_of_steps_next_to_k_root_t(thickness_mm):
    size = minimum_size_mm(thickness_mm)
    assert abs(size - 4 * math.sqrt(thickness_mm)) <= SIZE_STEP_MM / 2 + 1e-9
    assert size / SIZE_STEP_MM == pytest.approx(round(size / SIZE_STEP_MM), abs=1e-6)


@pytest.mark.parametrize("thickness_mm", [0.0, -1.0, math.nan])
def test_governing_thickness_must_be_positive(thickness_mm):
    with pytest.raises(InputError, match=r"governing thickness is .* mm; it must be positive"):
        minimum_size_mm(thickness_mm)


@pytest.mark.parametrize("rule", RULES)
@given(stack=stacks(most=3))
def test_turning_a_stack_over_turns_its_minima_over(rule, stack):
    count = len(stack.interfaces)
    minima = [rule.minimum_mm(stack, i) for i in range(count)]
    assert [rule.minimum_mm(stack.turned_over(), i) for i in range(count)] == minima[::-1]


@given(stacks(fewest=3, most=3))
def test_whole_stack_never_asks_less_than_the_weaker_interface(stack):
    each, whole = (SizeRule(governing=g) for g in GoverningRule)
    minima = [each.minimum_mm(stack, i) for i in range(2)]
    assert min(minima) <= whole.minimum_mm(stack, 0) == whole.minimum_mm(stack, 1)


@given(stacks(fewest=4, most=4))
def test_four_sheets_are_judged_interface_by_interface_or_not_at_all(stack):
    assert all(SizeRule().minimum_mm(stack, i) > 0 for i in range(3))
    with pytest.raises(InputError, match="choose the rule 'each interface: the thinner"):
        SizeRule(governing=GoverningRule.WHOLE_STACK).minimum_mm(stack, 0)


def test_formula_reads_as_on_the_bench():
    stack = Stack((Sheet(1.2), Sheet(2.0)))
    assert SizeRule().formula(stack, 0) == "4√1.2"
    assert SizeRule(3.5).formula(stack, 0) == "3.5√1.2"
