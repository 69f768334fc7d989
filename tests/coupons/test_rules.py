"""The shop's rules: defaults, how far they can be tightened, and who says so."""

from itertools import pairwise

import pytest

from advisor.coupons.rules import (
    CoverageRules,
    ExpulsionRule,
    InterfaceFailureRule,
    JudgingRules,
    ShopRules,
)
from advisor.errors import InputError
from advisor.weld.published import Schedule
from advisor.weld.size import GoverningRule, SizeRule


def test_defaults_are_the_strict_choices():
    rules = ShopRules()
    assert rules.judging.size == SizeRule(4.0, GoverningRule.EACH_INTERFACE)
    assert rules.judging.interface_failure is InterfaceFailureRule.FAILS
    assert rules.judging.expulsion is ExpulsionRule.FAILS
    assert rules.judging.largest_aspect == 2.0
    assert rules.coverage == CoverageRules(2, 0.05, 30, 30)
    assert rules.bare_schedule is Schedule.HIGH_FORCE


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"passes_in_a_row": 0}, "passes in a row is 0; the shop can tighten it: 1 to 100$"),
        ({"thickness_tolerance_mm": 0.06}, r"tolerance is 0\.06 mm; .* tighten it: 0 to 0\.05 mm"),
        ({"thickness_tolerance_mm": -0.01}, r"tolerance is -0\.01 mm; the shop can tighten it"),
        ({"thickness_tolerance_mm": float("nan")}, "tolerance is nan mm; the shop can tighten"),
        ({"unbonded_days": 31}, "for an unbonded joint is 31 days; .* tighten it: 1 to 30 days"),
        ({"bonded_days": 31}, "for a bonded joint is 31 days; the shop can tighten it: 1 to 30"),
        ({"bonded_days": 0}, "for a bonded joint is 0 days"),
    ],
)
def test_coverage_can_be_tightened_but_not_loosened(change, said):
    with pytest.raises(InputError, match=said):
        CoverageRules(**change)


@pytest.mark.parametrize("change", [{"bonded_days": 1}, {"passes_in_a_row": 59}])
def test_tighter_rules_are_accepted(change):
    assert CoverageRules(**change) != CoverageRules()


@pytest.mark.parametrize("limit", [1.0, 0.5, 5.1, float("nan")])
def test_aspect_limit_is_above_one(limit):
    with pytest.raises(
        InputError, match=r"largest aspect ratio is .*; it must be above 1, at most"
    ):
        JudgingRules(largest_aspect=limit)


@pytest.mark.parametrize("kind", [InterfaceFailureRule, ExpulsionRule, GoverningRule])
def test_where_sources_differ_each_choice_names_its_own(kind):
    sources = [rule.source for rule in kind]
    assert all(sources)
    assert all(one != other for one, other in pairwise(sources))
