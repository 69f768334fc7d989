"""Why a coupon failed: there is a cause exactly where there is a failure."""

from dataclasses import replace
from datetime import UTC, datetime
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import coupons, stacks

from advisor.coupons.causes import Cause
from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.coupons.rules import ExpulsionRule, InterfaceFailureRule, JudgingRules
from advisor.coupons.verdict import Outcome, causes, judge
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet
from advisor.weld.size import GoverningRule, SizeRule
from advisor.weld.stack import Stack

STRICT = JudgingRules()
MILD = JudgingRules(interface_failure=InterfaceFailureRule.BY_SIZE, expulsion=ExpulsionRule.NOTED)
GOOD = InterfaceResult(5.0, 5.2, FailureType.BUTTON)
PAIR = Coupon(
    made_at=datetime(2026, 3, 31, 14, 0, tzinfo=UTC),
    welder="Kim",
    machine="gun 1",
    electrode=Electrode(CapShape.DOME, 6.0),
    stack=Stack((Sheet(1.2), Sheet(1.2))),
    setting=Setting(8.0, 200.0, 2.5),
    results=(GOOD,),
)
RULES = [
    JudgingRules(SizeRule(k, governing), failure, expulsion, aspect)
    for k, governing, failure, expulsion, aspect in product(
        (3.5, 5.0), GoverningRule, InterfaceFailureRule, ExpulsionRule, (1.2, 2.0)
    )
]


#: No rule gives a governing thickness for the whole of four sheets.
JUDGED = st.sampled_from(RULES).flatmap(
    lambda rules: st.tuples(
        coupons(stacks(most=3 if rules.size.governing is GoverningRule.WHOLE_STACK else 4)),
        st.just(rules),
    )
)


@settings(max_examples=400)
@given(JUDGED)
def test_there_is_a_cause_exactly_where_the_verdict_is_a_failure(judged):
    drawn, rules = judged
    failed = judge(drawn, rules).outcome is Outcome.FAIL
    assert bool(causes(drawn, rules)) == failed


@given(JUDGED)
def test_each_cause_stands_once_and_in_the_order_of_the_list(judged):
    found = causes(*judged)
    assert list(found) == [cause for cause in Cause if cause in found]


@given(JUDGED)
def test_the_way_up_does_not_matter(judged):
    drawn, rules = judged
    assert causes(drawn.turned_over(), rules) == causes(drawn, rules)


def after(result, **flags):
    return replace(PAIR, results=(result,), **flags)


@pytest.mark.parametrize(
    ("coupon", "strict", "mild"),
    [
        (PAIR, [], []),
        (after(InterfaceResult()), [], []),
        (after(InterfaceResult(failure=FailureType.NO_FUSION)), ["no fusion"], ["no fusion"]),
        (
            after(InterfaceResult(failure=FailureType.INTERFACE)),
            ["sheared at the interface"],
            ["sheared at the interface"],
        ),
        (
            after(InterfaceResult(failure=FailureType.INTERFACE_WITH_BUTTON)),
            ["sheared at the interface"],
            [],
        ),
        (
            after(InterfaceResult(5.0, 5.2, FailureType.INTERFACE)),
            ["sheared at the interface"],
            [],
        ),
        (
            after(InterfaceResult(3.0, 3.0, FailureType.INTERFACE)),
            ["sheared at the interface", "weld too small"],
            ["weld too small"],
        ),
        # 4.375 mm against 4 times the root of 1.2, which is 4.382 mm.
        (
            after(InterfaceResult(4.37, 4.38, FailureType.BUTTON)),
            ["weld too small"],
            ["weld too small"],
        ),
        (after(InterfaceResult(4.38, 4.38, FailureType.BUTTON)), [], []),
        (
            after(InterfaceResult(4.0, 8.1, FailureType.BUTTON)),
            ["button too uneven"],
            ["button too uneven"],
        ),
        (after(GOOD, expulsion=True), ["expulsion"], []),
        (
            after(GOOD, expulsion=True, edge_weld=True, cracks=True),
            ["expulsion", "edge weld", "visible crack"],
            ["edge weld", "visible crack"],
        ),
    ],
)
def test_causes_by_hand_by_the_stricter_and_the_milder_rules(coupon, strict, mild):
    assert [cause.label for cause in causes(coupon, STRICT)] == strict
    assert [cause.label for cause in causes(coupon, MILD)] == mild


def test_the_same_cause_at_two_interfaces_is_one():
    small = InterfaceResult(2.0, 2.0, FailureType.BUTTON)
    three = replace(PAIR, stack=Stack((Sheet(1.2),) * 3), results=(small, small))
    assert causes(three, STRICT) == (Cause.TOO_SMALL,)


def test_the_codes_fit_into_their_column_together():
    assert len(" ".join(cause.value for cause in Cause)) <= 100
