"""Invented stacks, machines and coupons for the tests of the learning rooms."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.rules import ShopRules
from advisor.coupons.verdict import judge
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType
from advisor.weld.machine import Machine
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet, Surface
from advisor.weld.stack import AdhesiveState, Bond, Stack

RULES = ShopRules()
MACHINE = Machine("Gun", largest_current_kA=15, largest_force_kN=6)
CAPS = Electrode(CapShape.DOME, 5)
FIRST = datetime(2025, 3, 3, 8, tzinfo=UTC)


def stack_of(*thicknesses_mm, surface=Surface.BARE, state=AdhesiveState.NONE):
    bond = Bond() if state is AdhesiveState.NONE else Bond("paste", state)
    sheets = tuple(Sheet(t, upper=surface, lower=surface) for t in thicknesses_mm)
    return Stack(sheets, (bond,) * (len(sheets) - 1))


def logged(number, stack, setting, *sizes_mm, voided="", **changes):
    """Log a coupon; a size of None is an interface without fusion."""
    results = tuple(
        InterfaceResult(failure=FailureType.NO_FUSION)
        if size is None
        else InterfaceResult(size, size, FailureType.BUTTON)
        for size in sizes_mm
    )
    made_at = FIRST + timedelta(hours=number)
    coupon = Coupon(made_at, "Welder", "Gun", CAPS, stack, setting, results)
    coupon = replace(coupon, **changes)
    return LoggedCoupon(number, coupon, judge(coupon, RULES.judging), voided=voided)


def turned(each):
    return replace(each, coupon=each.coupon.turned_over())


SETTING = Setting(10.0, 200, 3.0)
