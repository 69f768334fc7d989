"""What a coupon was welded for: a first attempt, finding a setting, or repeating a proven one.

A pass rate over all three says little about a welder: who looks for a setting is meant to fail now
and then. What a coupon was for follows from the coupons before it, when it is written down.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta
from typing import NamedTuple

from advisor.language import msg, say
from advisor.weld.setting import CURRENT_STEP_KA, Setting
from advisor.weld.words import TradeWord

#: Coupons of one machine, stack and job belong together for so long (common practice, no source).
SERIES = timedelta(days=30)


class Purpose(TradeWord):
    """What a coupon was welded for (words and bounds: common practice, no source)."""

    FIRST = "first", msg("first attempt")
    SET_UP = "set_up", msg("set-up coupon")
    RELEASE = "release", msg("release coupon")

    @classmethod
    def what(cls) -> str:
        """Return what the list is called in a sentence."""
        return say("purpose of a coupon")

    @property
    def meaning(self) -> str:
        """Return what makes a coupon one of these, in a sentence."""
        return say(_MEANINGS[self])


_MEANINGS = {
    Purpose.FIRST: msg("the first of its machine, stack and job in 30 days"),
    Purpose.SET_UP: msg("a later one, at a setting that had not passed yet"),
    Purpose.RELEASE: msg("at a setting that had passed before on the same machine, stack and job"),
}


class Earlier(NamedTuple):
    """A coupon of the same machine, stack and job, welded up to `SERIES` before.

    Parameters
    ----------
    setting : Setting
        What was dialled.
    passed : bool
        Whether it passed.
    """

    setting: Setting
    passed: bool


def purpose_of(setting: Setting, earlier: Iterable[Earlier]) -> Purpose:
    """Say what a coupon was welded for.

    Parameters
    ----------
    setting : Setting
        What was dialled.
    earlier : iterable of Earlier
        Coupons of its machine, stack and job that were welded before it and count.

    Returns
    -------
    Purpose
        A first attempt, a set-up coupon, or a release coupon.
    """
    found = list(earlier)
    if not found:
        return Purpose.FIRST
    near = (
        each.setting
        for each in found
        # The current tells most settings apart; the whole comparison is slow.
        if each.passed and abs(each.setting.current_kA - setting.current_kA) < CURRENT_STEP_KA
    )
    return Purpose.RELEASE if any(setting.same_as(each) for each in near) else Purpose.SET_UP
