"""Sizes of a weld: 4√t, and the definitions of AWS D8.1M:2013, cl. 3."""

import math

import pytest

from advisor.errors import InputError
from advisor.weld.sheet import Sheet
from advisor.weld.size import (
    GoverningRule,
    SizeRule,
    aspect_ratio,
    button_size_mm,
    minimum_size_mm,
    stack_governing_mm,
)
from advisor.weld.stack import Stack


def stack_of(*thicknesses_mm: float) -> Stack:
    return Stack(tuple(Sheet(t) for t in thicknesses_mm))


# 4√t as minimum: Murugan et al., J. Weld. Join. 36(1), 2018 (read). Figures computed.
@pytest.mark.parametrize(
    ("thickness_mm", "size_mm"), [(0.8, 3.58), (1.0, 4.00), (1.2, 4.38), (1.5, 4.90), (2.0, 5.66)]
)
def test_four_root_t_in_mm(thickness_mm, size_mm):
    assert minimum_size_mm(thickness_mm) == size_mm
    assert SizeRule().minimum_mm(stack_of(thickness_mm, thickness_mm), 0) == size_mm


# In inches the constant is 4/√25.4 = 0.794, d and t in inches (computed).
@pytest.mark.parametrize("thickness_in", [0.031, 0.047, 0.062, 0.078, 0.118])
def test_four_root_t_in_inches_has_another_constant(thickness_in):
    constant = 4 / math.sqrt(25.4)
    half_a_hundredth_mm = 0.005
    assert constant == pytest.approx(0.794, abs=0.0005)
    size_in = minimum_size_mm(thickness_in * 25.4) / 25.4
    by_hand = constant * math.sqrt(thickness_in)
    assert size_in == pytest.approx(by_hand, rel=0, abs=half_a_hundredth_mm / 25.4)


# TWI FAQ on interface failures (read): reject below 70–80 % of 5√t, that is 3.5–4√t.
@pytest.mark.parametrize(("share", "k"), [(0.7, 3.5), (0.8, 4.0), (1.0, 5.0)])
def test_shares_of_the_target_of_five_root_t(share, k):
    target = 5 * math.sqrt(1.2)
    assert SizeRule(k=k).minimum_mm(stack_of(1.2, 1.2), 0) == pytest.approx(
        share * target, abs=0.005
    )


@pytest.mark.parametrize("k", [0.794, 3.49, 6.01, float("nan")])
def test_a_factor_no_source_gives_is_refused(k):
    with pytest.raises(InputError, match=r"it must be 3\.5 to 6 with t in mm .*in inches"):
        SizeRule(k=k)


# AWS D8.1M:2013, cl. 3 (read): button size is (largest + smallest dimension) / 2.
def test_button_size_is_the_mean_of_largest_and_smallest():
    assert button_size_mm(4.0, 5.0) == 4.5
    assert button_size_mm(4.4, 4.4) == 4.4


# AWS D8.1M:2013, cl. 3 (read): aspect ratio is largest / smallest dimension.
def test_aspect_ratio_is_largest_over_smallest():
    assert aspect_ratio(3.0, 6.0) == 2.0
    assert aspect_ratio(4.4, 4.4) == 1.0


# AWS D8.1M:2013, cl. 3 (read): governing metal thickness.
@pytest.mark.parametrize(
    ("thicknesses_mm", "governing_mm"),
    [
        ((0.8, 1.2), 0.8),
        ((1.2, 0.8), 0.8),
        ((1.0, 1.0), 1.0),
        ((0.8, 1.2, 1.6), 1.2),
        ((1.6, 0.8, 1.2), 1.2),
        ((2.0, 0.8, 2.0), 2.0),
        ((0.8, 0.8, 2.0), 0.8),
    ],
)
def test_governing_thickness_of_two_and_three_sheets(thicknesses_mm, governing_mm):
    stack = stack_of(*thicknesses_mm)
    assert stack_governing_mm(stack) == governing_mm
    for interface in range(len(thicknesses_mm) - 1):
        assert GoverningRule.WHOLE_STACK.thickness_mm(stack, interface) == governing_mm


# Each interface with the thinner of its two sheets: ISO 14373 / 18278-2 practice, from memory.
def test_each_interface_has_its_own_governing_thickness():
    stack = stack_of(0.8, 2.0, 1.2, 1.6)
    rule = GoverningRule.EACH_INTERFACE
    assert [rule.thickness_mm(stack, i) for i in range(3)] == [0.8, 1.2, 1.2]


def test_the_clause_has_no_rule_for_four_sheets():
    with pytest.raises(InputError, match="no governing thickness for 4 sheets; choose the rule"):
        SizeRule(governing=GoverningRule.WHOLE_STACK).minimum_mm(stack_of(1, 1, 1, 1), 0)


def test_each_rule_names_who_says_so():
    assert GoverningRule.WHOLE_STACK.source == "AWS D8.1M:2013, cl. 3"
    assert GoverningRule.EACH_INTERFACE.source.endswith("from memory")
