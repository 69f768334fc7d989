"""Verdicts: outcomes and the very words of their reasons."""

import re
from datetime import UTC, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import coupons, results_for, stacks

from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.coupons.rules import ExpulsionRule, InterfaceFailureRule, JudgingRules
from advisor.coupons.verdict import Outcome, judge, weakest_size_mm
from advisor.errors import InputError
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet, SteelFamily, Surface
from advisor.weld.size import GoverningRule, SizeRule
from advisor.weld.stack import Stack

STRICT = JudgingRules()
BY_SIZE = JudgingRules(interface_failure=InterfaceFailureRule.BY_SIZE)
BUTTON = FailureType.BUTTON


def coupon(*results: InterfaceResult, sheets_mm: tuple[float, ...] = (1.2, 1.2), **flags) -> Coupon:
    return Coupon(
        made_at=datetime(2026, 3, 31, 14, 0, tzinfo=UTC),
        welder="Kim",
        machine="gun 1",
        electrode=Electrode(CapShape.DOME, 6.0),
        stack=Stack(tuple(Sheet(t) for t in sheets_mm)),
        setting=Setting(8.0, 200.0, 2.5),
        results=results,
        **flags,
    )


def button(smallest_mm: float, largest_mm: float | None = None) -> InterfaceResult:
    return InterfaceResult(smallest_mm, largest_mm or smallest_mm, BUTTON)


def texts(verdict) -> list[str]:
    return [reason.text for reason in verdict.reasons]


@pytest.mark.parametrize(
    ("smallest", "largest", "outcome", "text"),
    [
        (4.2, 4.4, Outcome.FAIL, "4.3 mm against 4.38 mm = 4√1.2: fail by 0.08 mm"),
        (4.37, 4.38, Outcome.FAIL, "4.375 mm against 4.38 mm = 4√1.2: fail by 0.005 mm"),
        (4.38, 4.38, Outcome.PASS, "4.38 mm against 4.38 mm = 4√1.2: pass by 0.0 mm"),
        (5.0, 6.0, Outcome.PASS, "5.5 mm against 4.38 mm = 4√1.2: pass by 1.12 mm"),
        (5.0, 5.0, Outcome.PASS, "5.0 mm against 4.38 mm = 4√1.2: pass by 0.62 mm"),
    ],
)
def test_size_is_given_against_its_minimum_with_the_margin(smallest, largest, outcome, text):
    verdict = judge(coupon(button(smallest, largest)), STRICT)
    assert verdict.outcome is outcome
    assert texts(verdict)[0] == text


@given(st.floats(4.375, 4.385))
def test_words_and_outcome_agree_at_the_limit(size):
    """As sizes typed in inches come: 4.3796 mm is not "4.38 against 4.38: fail by 0.0"."""
    verdict = judge(coupon(button(size)), STRICT)
    said = re.match(r"([\d.]+) mm against 4\.38 mm .*? by ([\d.]+) mm", verdict.because)
    written, by = said.groups()
    assert verdict.outcome is (Outcome.PASS if float(written) >= 4.38 else Outcome.FAIL)
    assert float(by) == pytest.approx(abs(float(written) - 4.38), abs=1e-9)


def test_the_factor_of_the_shop_is_used_and_named():
    rules = JudgingRules(size=SizeRule(k=5.0))
    assert texts(judge(coupon(button(5.0)), rules))[0] == (
        "5.0 mm against 5.48 mm = 5√1.2: fail by 0.48 mm"
    )


def test_a_pass_says_size_and_failure_type():
    verdict = judge(coupon(button(5.0)), STRICT)
    assert verdict.because.endswith("pass by 0.62 mm; button pulled: pass")


def test_no_fusion_fails_without_a_diameter():
    verdict = judge(coupon(InterfaceResult(failure=FailureType.NO_FUSION)), STRICT)
    assert verdict.outcome is Outcome.FAIL
    assert texts(verdict) == ["no fusion, no diameter to measure: fail"]


@pytest.mark.parametrize("rules", [STRICT, BY_SIZE])
@pytest.mark.parametrize("failure", [FailureType.NO_FUSION, FailureType.INTERFACE])
def test_nothing_to_measure_is_never_zero(rules, failure):
    verdict = judge(coupon(InterfaceResult(failure=failure)), rules)
    assert verdict.outcome is Outcome.FAIL
    assert not re.search(r"\d", verdict.because)


def test_interface_with_nothing_to_measure_says_so():
    verdict = judge(coupon(InterfaceResult(failure=FailureType.INTERFACE)), BY_SIZE)
    assert verdict.because == "interface sheared flat, nothing to measure: fail"


def test_a_small_button_not_measured_yet_waits_for_its_size_only_where_size_decides():
    unmeasured = coupon(InterfaceResult(failure=FailureType.INTERFACE_WITH_BUTTON))
    assert judge(unmeasured, BY_SIZE).outcome is Outcome.OPEN
    assert judge(unmeasured, STRICT).because == "interface with a small button: fail"


@pytest.mark.parametrize(
    ("result", "missing"),
    [
        (InterfaceResult(), "diameters not written down yet"),
        (InterfaceResult(failure=BUTTON), "diameters not written down yet"),
        (InterfaceResult(5.0, 5.0), "failure type not written down yet"),
    ],
)
def test_what_is_not_written_down_is_not_yet_judged(result, missing):
    verdict = judge(coupon(result), STRICT)
    assert verdict.outcome is Outcome.OPEN
    assert verdict.outcome.label == "not yet judged"
    assert verdict.because == missing


def test_a_failure_decides_before_the_rest_is_written_down():
    verdict = judge(coupon(InterfaceResult(4.0, 4.0)), STRICT)
    assert verdict.outcome is Outcome.FAIL
    assert verdict.because == "4.0 mm against 4.38 mm = 4√1.2: fail by 0.38 mm"


@pytest.mark.parametrize(
    ("failure", "label"),
    [
        (FailureType.INTERFACE, "interface sheared flat"),
        (FailureType.INTERFACE_WITH_BUTTON, "interface with a small button"),
    ],
)
def test_a_large_interface_failure_is_judged_by_the_rule_the_shop_chose(failure, label):
    sheared = coupon(InterfaceResult(5.0, 5.2, failure))
    assert judge(sheared, STRICT).because == f"{label}: fail"
    assert judge(sheared, BY_SIZE).outcome is Outcome.PASS
    assert f"{label}: pass" in texts(judge(sheared, BY_SIZE))


@pytest.mark.parametrize("failure", [FailureType.INTERFACE, FailureType.INTERFACE_WITH_BUTTON])
def test_a_small_interface_failure_fails_by_either_rule(failure):
    sheared = coupon(InterfaceResult(3.0, 3.2, failure))
    assert {judge(sheared, rules).outcome for rules in (STRICT, BY_SIZE)} == {Outcome.FAIL}


@pytest.mark.parametrize("failure", [FailureType.PART_BUTTON, FailureType.PART_THICKNESS])
@pytest.mark.parametrize("rules", [STRICT, BY_SIZE])
def test_tearing_in_the_thickness_is_judged_by_size(failure, rules):
    assert judge(coupon(InterfaceResult(5.0, 5.0, failure)), rules).outcome is Outcome.PASS


def test_expulsion_fails_or_is_noted():
    spat = coupon(button(5.0), expulsion=True)
    assert judge(spat, STRICT).because == "expulsion: fail (upper end of the window)"
    noted = judge(spat, JudgingRules(expulsion=ExpulsionRule.NOTED))
    assert noted.outcome is Outcome.PASS
    assert "expulsion: noted" in texts(noted)


def test_aspect_ratio_over_the_limit_fails():
    verdict = judge(coupon(button(3.5, 7.7)), STRICT)
    assert verdict.because == "aspect ratio 2.20 = 7.7 / 3.5 mm is over 2: fail"


@pytest.mark.parametrize(
    ("smallest", "largest", "limit"),
    [(4.0, 8.0, 2.0), (4.0, 8.01, 2.0), (4.5, 5.4, 1.2), (6.0, 6.6, 1.1)],
)
def test_aspect_ratio_at_the_limit_passes(smallest, largest, limit):
    rules = JudgingRules(largest_aspect=limit)
    assert judge(coupon(button(smallest, largest)), rules).outcome is Outcome.PASS


@pytest.mark.parametrize(
    ("flag", "text"),
    [
        ("edge_weld", "edge weld, electrode mark crosses a sheet edge: fail"),
        ("cracks", "visible crack: fail"),
    ],
)
def test_edge_weld_and_cracks_fail_a_good_button(flag, text):
    verdict = judge(coupon(button(5.0), **{flag: True}), STRICT)
    assert verdict.outcome is Outcome.FAIL
    assert verdict.because == text


def test_three_sheets_name_the_interface():
    verdict = judge(coupon(button(4.0), button(4.2), sheets_mm=(0.8, 1.2, 1.5)), STRICT)
    assert texts(verdict) == [
        "interface 1 (0.8 on 1.2 mm): 4.0 mm against 3.58 mm = 4√0.8: pass by 0.42 mm",
        "interface 1 (0.8 on 1.2 mm): button pulled: pass",
        "interface 2 (1.2 on 1.5 mm): 4.2 mm against 4.38 mm = 4√1.2: fail by 0.18 mm",
        "interface 2 (1.2 on 1.5 mm): button pulled: pass",
    ]
    assert verdict.because == texts(verdict)[2]


def test_every_interface_must_pass():
    good, missing = button(5.0), InterfaceResult(failure=FailureType.NO_FUSION)
    for results in ((good, missing), (missing, good)):
        assert judge(coupon(*results, sheets_mm=(1, 1, 1)), STRICT).outcome is Outcome.FAIL
    open_one = coupon(good, InterfaceResult(), sheets_mm=(1, 1, 1))
    assert judge(open_one, STRICT).outcome is Outcome.OPEN


def test_whole_stack_rule_cannot_judge_four_sheets():
    four = coupon(*[button(5.0)] * 3, sheets_mm=(1, 1, 1, 1))
    rules = JudgingRules(size=SizeRule(governing=GoverningRule.WHOLE_STACK))
    with pytest.raises(InputError, match="gives no governing thickness for 4 sheets; choose the"):
        judge(four, rules)
    assert judge(four, STRICT).outcome is Outcome.PASS


@given(coupons(), st.sampled_from([STRICT, BY_SIZE]))
def test_a_coupon_turned_over_is_judged_alike(piece, rules):
    def said(verdict) -> list[str]:
        return sorted(re.sub(r"^interface \d \(.*? mm\): ", "", text) for text in texts(verdict))

    one, other = judge(piece, rules), judge(piece.turned_over(), rules)
    assert one.outcome is other.outcome
    assert said(one) == said(other)


def outcome_by_the_rules(piece: Coupon, by_size: bool) -> Outcome:
    """State the rules once more, one line a rule, for the shop's k of 4 and each interface."""
    fails, waits = [piece.expulsion, piece.edge_weld, piece.cracks], []
    for interface, found in zip(piece.stack.interfaces, piece.results, strict=True):
        sheared = found.failure in (FailureType.INTERFACE, FailureType.INTERFACE_WITH_BUTTON)
        empty = found.failure in (FailureType.INTERFACE, FailureType.NO_FUSION)
        fails.append(sheared and not by_size)
        if found.size_mm is None:
            fails.append(empty)
            waits.append(not empty)
            continue
        mean = (found.smallest_mm + found.largest_mm) / 2
        fails.append(mean < round(4 * interface.thinner_mm**0.5, 2) - 1e-9)
        fails.append(found.largest_mm / found.smallest_mm >= 2.005)
        waits.append(found.failure is None)
    if any(fails):
        return Outcome.FAIL
    return Outcome.OPEN if any(waits) else Outcome.PASS


RARELY = st.sampled_from([False, False, False, True])


@settings(max_examples=200)
@given(data=st.data(), by_size=st.booleans(), flags=st.tuples(RARELY, RARELY, RARELY))
def test_outcome_follows_from_the_rules_and_nothing_else(data, by_size, flags):
    stack = data.draw(stacks(most=3, families=(SteelFamily.LOW_CARBON,), surfaces=(Surface.BARE,)))
    names = ("expulsion", "edge_weld", "cracks")
    piece = coupon(
        *data.draw(results_for(stack)),
        sheets_mm=stack.thicknesses_mm,
        **dict(zip(names, flags, strict=True)),
    )
    verdict = judge(piece, BY_SIZE if by_size else STRICT)
    assert verdict.because
    assert verdict.outcome is outcome_by_the_rules(piece, by_size)


def test_the_weakest_size_is_the_one_nearest_its_own_minimum():
    """4√0.8 = 3.58, 4√1.2 = 4.38: 4.4 mm clears the first by more than 4.5 the second."""
    three = coupon(button(4.4), button(4.5), sheets_mm=(0.8, 1.2, 1.5))
    assert weakest_size_mm(three, STRICT) == 4.5
    assert weakest_size_mm(three.turned_over(), STRICT) == 4.5


def test_an_unmeasured_interface_leaves_no_weakest_size():
    three = coupon(button(4.4), InterfaceResult(), sheets_mm=(0.8, 1.2, 1.5))
    assert weakest_size_mm(three, STRICT) is None
