"""Judging a coupon: pass, fail or not yet judged, with the reasons in numbers."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from advisor.coupons.causes import Cause
from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.coupons.rules import ExpulsionRule, InterfaceFailureRule, JudgingRules
from advisor.language import ENGLISH, figure, language, msg, say, speaking
from advisor.weld.failure import THROUGH_INTERFACE, WITHOUT_DIAMETER, FailureType
from advisor.weld.size import aspect_ratio
from advisor.weld.words import TradeWord


class Outcome(TradeWord):
    """What a verdict says."""

    PASS = "pass", msg("pass")
    FAIL = "fail", msg("fail")
    OPEN = "open", msg("not yet judged")

    @classmethod
    def what(cls) -> str:
        """Return what the list is called in a sentence."""
        return say("verdict")


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
        for reason in _judge_interface(coupon, index, result, rules):
            reasons.append(replace(reason, text=_at_interface(coupon, index, reason.text)))
    reasons.extend(_judge_whole(coupon, rules))
    outcomes = {reason.outcome for reason in reasons}
    for outcome in (Outcome.FAIL, Outcome.OPEN):
        if outcome in outcomes:
            return Verdict(outcome, tuple(reasons))
    return Verdict(Outcome.PASS, tuple(reasons))


def in_words(coupon: Coupon, rules: JudgingRules, stored: Verdict) -> Verdict:
    """Return a verdict that was stored, with its reasons in the language spoken.

    Parameters
    ----------
    coupon : Coupon
        What was judged.
    rules : JudgingRules
        The rules it was judged by.
    stored : Verdict
        The verdict as it is kept, in English.

    Returns
    -------
    Verdict
        The same reasons, said anew; `stored` as it is where judging by today's program would not
        give exactly its words.
    """
    if language() == ENGLISH:
        return stored
    with speaking(ENGLISH):
        again = judge(coupon, rules)
    return judge(coupon, rules) if again == stored else stored


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


def _at_interface(coupon: Coupon, index: int, reason: str) -> str:
    """Name the interface that a reason is about, where there is more than one."""
    if len(coupon.results) == 1:
        return reason
    interface = coupon.stack.interfaces[index]
    return say(
        "interface {interface} ({upper:g} on {lower:g} mm): {reason}",
        interface=index + 1,
        upper=interface.upper_sheet.thickness_mm,
        lower=interface.lower_sheet.thickness_mm,
        reason=reason,
    )


def _judge_interface(
    coupon: Coupon, index: int, result: InterfaceResult, rules: JudgingRules
) -> list[Reason]:
    if result.failure in WITHOUT_DIAMETER:
        text = say("no fusion, no diameter to measure: fail")
        return [Reason(Outcome.FAIL, text, Cause.NO_FUSION)]
    if result.size_mm is None:
        return _judge_without_size(result, rules)
    found = [_judge_size(coupon, index, result.size_mm, rules), _judge_failure(result, rules)]
    return found + _judge_aspect(result, rules)


def _judge_without_size(result: InterfaceResult, rules: JudgingRules) -> list[Reason]:
    if result.failure is FailureType.INTERFACE:
        text = say("{failure}, nothing to measure: fail", failure=result.failure.label)
        return [Reason(Outcome.FAIL, text, Cause.SHEARED)]
    found = [Reason(Outcome.OPEN, say("diameters not written down yet"))]
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
    text = say(
        "aspect ratio {ratio:.2f} = {largest:g} / {smallest:g} mm is over {most:g}: fail",
        ratio=ratio,
        largest=result.largest_mm,
        smallest=result.smallest_mm,
        most=rules.largest_aspect,
    )
    return [Reason(Outcome.FAIL, text, Cause.UNEVEN)]


def _judge_size(coupon: Coupon, index: int, size_mm: float, rules: JudgingRules) -> Reason:
    minimum = rules.size.minimum_mm(coupon.stack, index)
    # To 0.001 as it is written out, so that no one reads "4.38 against 4.38: fail by 0.0".
    margin = round(size_mm - minimum, 3)
    outcome = Outcome.PASS if margin >= 0 else Outcome.FAIL
    text = say(
        _SIZES[outcome],
        size=_mm(size_mm),
        minimum=minimum,
        formula=rules.size.formula(coupon.stack, index),
        margin=_mm(abs(margin)),
    )
    return Reason(outcome, text, Cause.TOO_SMALL)


_SIZES = {
    Outcome.PASS: msg("{size} mm against {minimum:.2f} mm = {formula}: pass by {margin} mm"),
    Outcome.FAIL: msg("{size} mm against {minimum:.2f} mm = {formula}: fail by {margin} mm"),
}


def _mm(value: float) -> str:
    """Write a size with as many decimals as it has, at most three, at least one."""
    decimals = len(f"{value:.3f}".rstrip("0").partition(".")[2])
    return figure(value, f".{max(decimals, 1)}f")


def _judge_failure(result: InterfaceResult, rules: JudgingRules) -> Reason:
    if result.failure is None:
        return Reason(Outcome.OPEN, say("failure type not written down yet"))
    fails = (
        result.failure in THROUGH_INTERFACE
        and rules.interface_failure is InterfaceFailureRule.FAILS
    )
    outcome = Outcome.FAIL if fails else Outcome.PASS
    return Reason(outcome, say(_FAILURES[outcome], failure=result.failure.label), Cause.SHEARED)


_FAILURES = {Outcome.PASS: msg("{failure}: pass"), Outcome.FAIL: msg("{failure}: fail")}


def _judge_whole(coupon: Coupon, rules: JudgingRules) -> list[Reason]:
    """Judge what concerns the whole coupon.

    An edge weld is defined in AWS D8.1M:2013, cl. 3; that it and a visible crack fail a test
    coupon is common practice, no source.
    """
    found = []
    if coupon.expulsion:
        fails = rules.expulsion is ExpulsionRule.FAILS
        found.append(
            Reason(Outcome.FAIL, say("expulsion: fail (upper end of the window)"), Cause.EXPULSION)
            if fails
            else Reason(Outcome.PASS, say("expulsion: noted"))
        )
    if coupon.edge_weld:
        text = say("edge weld, electrode mark crosses a sheet edge: fail")
        found.append(Reason(Outcome.FAIL, text, Cause.EDGE_WELD))
    if coupon.cracks:
        found.append(Reason(Outcome.FAIL, say("visible crack: fail"), Cause.CRACK))
    return found
