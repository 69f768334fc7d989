"""The shop's rules for judging a coupon and for letting it speak for a joint."""

from __future__ import annotations

from dataclasses import dataclass, field

from advisor.errors import InputError
from advisor.language import msg, say
from advisor.weld.published import Schedule
from advisor.weld.size import SizeRule
from advisor.weld.words import TradeWord


class InterfaceFailureRule(TradeWord):
    """What a failure through the interface means; sources differ, the shop picks."""

    FAILS = "fails", msg("an interface failure fails")
    BY_SIZE = "by_size", msg("an interface failure is judged by its fused area")

    @classmethod
    def what(cls) -> str:
        """Return what the list is called in a sentence."""
        return say("interface-failure rule")

    @property
    def source(self) -> str:
        """Who says so."""
        if self is InterfaceFailureRule.FAILS:
            return say(
                "TWI FAQ on interface failures: causes are too small a weld or a brittle nugget"
            )
        return say("high-strength steel practice, from memory")


class ExpulsionRule(TradeWord):
    """What expulsion means for a coupon; sources differ, the shop picks."""

    FAILS = "fails", msg("expulsion fails the coupon")
    NOTED = "noted", msg("expulsion is only noted")

    @classmethod
    def what(cls) -> str:
        """Return what the list is called in a sentence."""
        return say("expulsion rule")

    @property
    def source(self) -> str:
        """Who says so."""
        if self is ExpulsionRule.FAILS:
            return say(
                "upper end of the weldable range: Murugan et al., J. Weld. Join. 36(1), 2018"
            )
        return say("common practice, no source")


@dataclass(frozen=True)
class JudgingRules:
    """When a coupon passes.

    Parameters
    ----------
    size : SizeRule
        Minimum size k√t.
    interface_failure : InterfaceFailureRule
        What a failure through the interface means.
    expulsion : ExpulsionRule
        What expulsion means.
    largest_aspect : float
        Largest allowed ratio of the two diameters (defined in AWS D8.1M:2013, cl. 3; the limit of
        2 is from memory).
    """

    size: SizeRule = field(default_factory=SizeRule)
    interface_failure: InterfaceFailureRule = InterfaceFailureRule.FAILS
    expulsion: ExpulsionRule = ExpulsionRule.FAILS
    largest_aspect: float = 2.0

    def __post_init__(self) -> None:
        if not 1 < self.largest_aspect <= 5:
            raise InputError(
                say(
                    "largest aspect ratio is {aspect:g}; it must be above 1, at most 5",
                    aspect=self.largest_aspect,
                )
            )


@dataclass(frozen=True)
class CoverageRules:
    """When passing coupons speak for a joint (defaults: common practice, no source).

    Parameters
    ----------
    passes_in_a_row : int
        Passing coupons wanted, one after the other at one setting.
    thickness_tolerance_mm : float
        How far a coupon's sheet may differ from the joint's. [mm]
    unbonded_days : int
        How old a coupon for an unbonded joint may be. [days]
    bonded_days : int
        How old a coupon for a bonded joint may be; it must be of the same job besides. [days]
    """

    passes_in_a_row: int = 2
    thickness_tolerance_mm: float = 0.05
    unbonded_days: int = 30
    bonded_days: int = 30

    def __post_init__(self) -> None:
        for message, value, low, high in (
            (_PASSES, self.passes_in_a_row, 1, 100),
            (_TOLERANCE, self.thickness_tolerance_mm, 0.0, 0.05),
            (_UNBONDED_AGE, self.unbonded_days, 1, 30),
            (_BONDED_AGE, self.bonded_days, 1, 30),
        ):
            if not low <= value <= high:
                raise InputError(say(message, value=value, low=low, high=high))


_PASSES = msg("passes in a row is {value:g}; the shop can tighten it: {low:g} to {high:g}")
_TOLERANCE = msg(
    "thickness tolerance is {value:g} mm; the shop can tighten it: {low:g} to {high:g} mm"
)
_UNBONDED_AGE = msg(
    "age of a coupon for an unbonded joint is {value:g} days; the shop can tighten it: {low:g} to "
    "{high:g} days"
)
_BONDED_AGE = msg(
    "age of a coupon for a bonded joint is {value:g} days; the shop can tighten it: {low:g} to "
    "{high:g} days"
)


@dataclass(frozen=True)
class ShopRules:
    """All rules of a shop together; a verdict keeps those it was made by.

    Parameters
    ----------
    judging : JudgingRules
        When a coupon passes.
    coverage : CoverageRules
        When coupons speak for a joint.
    bare_schedule : Schedule
        Published columns that starts for uncoated steel come from.
    dress_after_welds : int or None
        Welds after which the caps are to be dressed; None when the shop has not said.
    """

    judging: JudgingRules = field(default_factory=JudgingRules)
    coverage: CoverageRules = field(default_factory=CoverageRules)
    bare_schedule: Schedule = Schedule.HIGH_FORCE
    dress_after_welds: int | None = None

    def __post_init__(self) -> None:
        if self.dress_after_welds is not None and not 1 <= self.dress_after_welds <= 5000:
            raise InputError(
                say(
                    "caps are to be dressed after {welds} welds; give 1 to {most:,}, or leave it "
                    "empty",
                    welds=self.dress_after_welds,
                    most=5000,
                )
            )
