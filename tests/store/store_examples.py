"""What the tests of the log share: a coupon that passes, one that fails, and a filled log."""

from dataclasses import replace
from datetime import UTC, datetime

from strategies import MACHINES, WELDERS

from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType
from advisor.weld.machine import Machine
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet
from advisor.weld.stack import Stack

BY = "Lead"
NOW = datetime(2027, 1, 1, tzinfo=UTC)
PASSING = Coupon(
    made_at=datetime(2026, 12, 1, 10, 0, tzinfo=UTC),
    welder="Kim",
    machine="gun 1",
    electrode=Electrode(CapShape.DOME, 6),
    stack=Stack((Sheet(1.2), Sheet(1.5))),
    setting=Setting(9.5, 200, 3.0),
    results=(InterfaceResult(4.6, 5.0, FailureType.BUTTON),),
)
FAILING = replace(PASSING, results=(InterfaceResult(4.2, 4.4, FailureType.BUTTON),))


def fill(log):
    """Enter the welders and machines that coupons are drawn for."""
    log.add_welder(BY, BY)
    for name in WELDERS:
        log.add_welder(name, BY)
    for name in MACHINES:
        log.save_machine(Machine(name, 40, 20, 50, True, 0.3, 0.05), BY)
    return log
