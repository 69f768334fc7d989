"""Judging a coupon: pass, fail or not yet judged, with the reasons in numbers."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from advisor.coupons.causes import Cause
from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.coupons.rules import ExpulsionRule, InterfaceFailureRule, JudgingRules
from advisor.weld.failure import THROUGH_INTERFACE, WITHOUT_DIAMETER, FailureType
from advisor.weld.size import aspect_ratio
from advisor.weld.words import TradeWord


class Outcome(TradeWord):
    """What a verdict says."""

    PASS = "pass", "pass"
    FAIL = "fail", "fail"
    OPEN = "open", "not yet judged"

    @classmethod
    def what(cls) -> str:
        """Return what the list is called in a sentence."""
        return "verdict"


@dataclass(frozen=True)
class Reason:
    """One sentence of a verdict, which way it points, and what a failure is counted as.

    The cause is known where a coupon is judged; a stored verdict keeps the sentence alone.
    """

    outcome: Outcome
    text: str
    cause: Cause | None = field(default=None, compare=False)


@dataclass(frozen=True)
class Verdict:
    """The judgement of one coupon.

    Parameters
    ----------
    outcome : Outcome
        Pass, fail or not yet judged.
    reasons : tuple of Reason
        Every check made, interface by interface.
    """

    outcome: Outcome
    reasons: tuple[Reason, ...]

    @property
    def because(self) -> str:
        """The reasons that decided, in one line."""
        deciding = [r.text for r in self.reasons if r.outcome is self.outcome]
        return "; ".join(deciding)

    @property
    def causes(self) -> tuple[Cause, ...]:
        """All that fails the coupon, each once, in the order of the list."""
        found = {r.cause for r in self.reasons if r.outcome is Outcome.FAIL}
        return tuple(cause for cause in Cause if cause in found)


def causes(coupon: Coupon, rules: JudgingRules) -> tuple[Cause, ...]:
    """Return all that fails a coupon by the shop's rules; parameters as for `judge`."""
    return judge(coupon, rules).causes


def judge(coupon: Coupon, rules: JudgingRules) -> Verdict:
    """Judge a coupon by the shop's rules.

    Parameters
    ----------
    coupon : Coupon
        What was welded and found.
    rules : JudgingRules
        The shop's rules.

    Returns
    -------
    Verdict
        *Fail* if anything fails, else *not yet judged* if anything is still to be written down,
        else *pass*. No diameter is never a size of zero: an interface with nothing to measure
        fails without a diameter.
    """
    reasons: list[Reason] = []
    for index, result in enumerate(coupon.results):
        prefix = _interface_prefix(coupon, index)
        for reason in _judge_interface(coupon, index, result, rules):
            reasons.append(replace(reason, text=prefix + reason.text))
    reasons.extend(_judge_whole(coupon, rules))
    outcomes = {reason.outcome for reason in reasons}
    for outcome in (Outcome.FAIL, Outcome.OPEN):
        if outcome in outcomes:
            return Verdict(outcome, tuple(reasons))
    return Verdict(Outcome.PASS, tuple(reasons))


def weakest_size_mm(coupon: Coupon, rules: JudgingRules) -> float | None:
    """Return the size at the interface that is nearest to its minimum, or furthest below.

    Parameters
    ----------
    coupon : Coupon
        The coupon.
    rules : JudgingRules
        The shop's rules; the minimum of each interface comes from them.

    Returns
    -------
    float or None
        Size; None when an interface has no measured size. [mm]
    """
    sizes = [result.size_mm for result in coupon.results]
    found = [
        (size / rules.size.minimum_mm(coupon.stack, index), size)
        for index, size in enumerate(sizes)
        if size is not None
    ]
    return min(found)[1] if len(found) == len(sizes) else None


def _interface_prefix(coupon: Coupon, index: int) -> str:
    if len(coupon.results) == 1:
        return ""
    interface = coupon.stack.interfaces[index]
    upper, lower = interface.upper_sheet.thickness_mm, interface.lower_sheet.thickness_mm
    return f"interface {index + 1} ({upper:g} on {lower:g} mm): "


def _judge_interface(
    coupon: Coupon, index: int, result: InterfaceResult, rules: JudgingRules
) -> list[Reason]:
    if result.failure in WITHOUT_DIAMETER:
        text = "no fusion, no diameter to measure: fail"
        return [Reason(Outcome.FAIL, text, Cause.NO_FUSION)]
    if result.size_mm is None:
        return _judge_without_size(result, rules)
    found = [_judge_size(coupon, index, result.size_mm, rules), _judge_failure(result, rules)]
    return found + _judge_aspect(result, rules)


def _judge_without_size(result: InterfaceResult, rules: JudgingRules) -> list[Reason]:
    if result.failure is FailureType.INTERFACE:
        text = f"{result.failure.label}, nothing to measure: fail"
        return [Reason(Outcome.FAIL, text, Cause.SHEARED)]
    found = [Reason(Outcome.OPEN, "diameters not written down yet")]
    # A small button can be measured, but by the stricter rule no size can save it.
    if result.failure in THROUGH_INTERFACE:
        found.append(_judge_failure(result, rules))
    return found


def _judge_aspect(result: InterfaceResult, rules: JudgingRules) -> list[Reason]:
    if not result.smallest_mm or not result.largest_mm:
        return []
    # To 0.01 as it is written out, so that 4.2 / 3.5 is not "1.20, over 1.2".
    ratio = round(aspect_ratio(result.smallest_mm, result.largest_mm), 2)
    if ratio <= rules.largest_aspect:
        return []
    text = (
        f"aspect ratio {ratio:.2f} = {result.largest_mm:g} / {result.smallest_mm:g} mm "
        f"is over {rules.largest_aspect:g}: fail"
    )
    return [Reason(Outcome.FAIL, text, Cause.UNEVEN)]


def _judge_size(coupon: Coupon, index: int, size_mm: float, rules: JudgingRules) -> Reason:
    minimum = rules.size.minimum_mm(coupon.stack, index)
    formula = rules.size.formula(coupon.stack, index)
    # To 0.001 as it is written out, so that no one reads "4.38 against 4.38: fail by 0.0".
    margin = round(size_mm - minimum, 3)
    outcome = Outcome.PASS if margin >= 0 else Outcome.FAIL
    return Reason(
        outcome,
        f"{_mm(size_mm)} mm against {minimum:.2f} mm = {formula}: "
        f"{outcome.label} by {_mm(abs(margin))} mm",
        Cause.TOO_SMALL,
    )


def _mm(value: float) -> str:
    """Write a size with as many decimals as it has, at most three, at least one."""
    text = f"{value:.3f}".rstrip("0")
    return text + "0" if text.endswith(".") else text


def _judge_failure(result: InterfaceResult, rules: JudgingRules) -> Reason:
    if result.failure is None:
        return Reason(Outcome.OPEN, "failure type not written down yet")
    fails = (
        result.failure in THROUGH_INTERFACE
        and rules.interface_failure is InterfaceFailureRule.FAILS
    )
    outcome = Outcome.FAIL if fails else Outcome.PASS
    return Reason(outcome, f"{result.failure.label}: {outcome.label}", Cause.SHEARED)


def _judge_whole(coupon: Coupon, rules: JudgingRules) -> list[Reason]:
    """Judge what concerns the whole coupon.

    An edge weld is defined in AWS D8.1M:2013, cl. 3; that it and a visible crack fail a test
    coupon is common practice, no source.
    """
    found = []
    if coupon.expulsion:
        fails = rules.expulsion is ExpulsionRule.FAILS
        found.append(
            Reason(Outcome.FAIL, "expulsion: fail (upper end of the window)", Cause.EXPULSION)
            if fails
            else Reason(Outcome.PASS, "expulsion: noted")
        )
    if coupon.edge_weld:
        text = "edge weld, electrode mark crosses a sheet edge: fail"
        found.append(Reason(Outcome.FAIL, text, Cause.EDGE_WELD))
    if coupon.cracks:
        found.append(Reason(Outcome.FAIL, "visible crack: fail", Cause.CRACK))
    return found
