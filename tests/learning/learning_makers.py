"""Invented stacks, machines and coupons for the tests of the learning rooms."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np

from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.rules import ShopRules
from advisor.coupons.verdict import judge
from advisor.learning.advice import Advice
from advisor.learning.bench import Bench
from advisor.learning.model import MachineModel
from advisor.learning.prior import Views
from advisor.learning.reach import question
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


def views_of(means, sds, noise_sds, noise_dof, weights=None):
    """Beliefs of a few views, shape (n_views, n_coefficients); equally likely unless told."""
    means, sds, noise_sds = (np.array(part, float) for part in (means, sds, noise_sds))
    count = len(noise_sds)
    weights = np.full(count, 1 / count) if weights is None else np.array(weights, float)
    return Views(weights, means, sds, noise_sds, noise_dof, np.full(count, 0.2))


def advice_on(coupons=(), stack=None, machine=MACHINE, caps=CAPS, rules=RULES):
    """Advice after fitting a model to these coupons; two sheets of 1.2 mm unless told."""
    stack = stack or stack_of(1.2, 1.2)
    return Advice(MachineModel(rules).fit(coupons), stack, machine, caps, rules, coupons)


def bench_on(coupons=(), stack=None, machine=MACHINE, caps=CAPS, rules=RULES):
    """What `advice_on` works on."""
    asked = question(stack or stack_of(1.2, 1.2), machine, caps, rules, coupons)
    return Bench(asked, MachineModel(rules).fit(coupons))
