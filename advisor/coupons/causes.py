"""Why a coupon failed, in few words that can be counted."""

from __future__ import annotations

from collections.abc import Iterator

from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.coupons.rules import ExpulsionRule, InterfaceFailureRule, JudgingRules
from advisor.weld.failure import THROUGH_INTERFACE, WITHOUT_DIAMETER, FailureType
from advisor.weld.size import aspect_ratio
from advisor.weld.words import TradeWord


class Cause(TradeWord):
    """One thing that fails a coupon; a coupon may have several."""

    NO_FUSION = "no_fusion", "no fusion"
    SHEARED = "sheared", "sheared at the interface"
    TOO_SMALL = "too_small", "weld too small"
    UNEVEN = "uneven", "button too uneven"
    EXPULSION = "expulsion", "expulsion"
    EDGE_WELD = "edge_weld", "edge weld"
    CRACK = "crack", "visible crack"

    @classmethod
    def what(cls) -> str:
        """Return what the list is called in a sentence."""
        return "cause of a failure"


def causes(coupon: Coupon, rules: JudgingRules) -> tuple[Cause, ...]:
    """Return all that fails a coupon by the shop's rules, each once.

    Parameters
    ----------
    coupon : Coupon
        The coupon.
    rules : JudgingRules
        The rules it is judged by.

    Returns
    -------
    tuple of Cause
        In the order of the list; empty when nothing fails it.
    """
    found = set(_of_whole(coupon, rules))
    for index, result in enumerate(coupon.results):
        found.update(_of_interface(coupon, index, result, rules))
    return tuple(cause for cause in Cause if cause in found)


def _of_whole(coupon: Coupon, rules: JudgingRules) -> Iterator[Cause]:
    if coupon.expulsion and rules.expulsion is ExpulsionRule.FAILS:
        yield Cause.EXPULSION
    if coupon.edge_weld:
        yield Cause.EDGE_WELD
    if coupon.cracks:
        yield Cause.CRACK


def _of_interface(
    coupon: Coupon, index: int, result: InterfaceResult, rules: JudgingRules
) -> Iterator[Cause]:
    if result.failure in WITHOUT_DIAMETER:
        yield Cause.NO_FUSION
        return
    if _sheared(result, rules):
        yield Cause.SHEARED
    if result.size_mm is None:
        return
    # Rounded as `judge` rounds, so that both always agree.
    if round(result.size_mm - rules.size.minimum_mm(coupon.stack, index), 3) < 0:
        yield Cause.TOO_SMALL
    if result.smallest_mm and result.largest_mm:
        ratio = round(aspect_ratio(result.smallest_mm, result.largest_mm), 2)
        if ratio > rules.largest_aspect:
            yield Cause.UNEVEN


def _sheared(result: InterfaceResult, rules: JudgingRules) -> bool:
    if result.size_mm is None and result.failure is FailureType.INTERFACE:
        return True  # with nothing to measure it fails by either rule
    strict = rules.interface_failure is InterfaceFailureRule.FAILS
    return strict and result.failure in THROUGH_INTERFACE
