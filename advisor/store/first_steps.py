"""The first days of a shop: what its log should hold before the first bonded joint is welded."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from advisor.coupons.rules import ShopRules
from advisor.store.log import Log
from advisor.weld.stack import AdhesiveState

#: A shop with so many coupons knows its way (a choice of this tool).
ENOUGH_COUPONS = 5


class First(Enum):
    """What is done first in a new shop, in this order."""

    ADHESIVE = "adhesive"
    RULES = "rules"
    JOINT = "joint"
    COUPON = "coupon"
    MAKER = "maker"


#: Without these no bonded joint can be covered. The rules hold as they are, and the welder maker's
#: settings matter where adhesive has cured.
NEEDED = frozenset({First.ADHESIVE, First.JOINT, First.COUPON})


@dataclass(frozen=True)
class FirstStep:
    """One of the first steps.

    Parameters
    ----------
    what : First
        Which one.
    is_done : bool
        Whether the log holds it.
    """

    what: First
    is_done: bool


def first_steps(log: Log, *, rules_seen: bool = False) -> tuple[FirstStep, ...]:
    """Return the first steps of a shop; none once it is no longer new.

    Parameters
    ----------
    log : Log
        The shop's log.
    rules_seen : bool
        Whether somebody has looked at the rules and left them as they are.
    """
    coupons = log.counts()["coupons"]
    if coupons >= ENOUGH_COUPONS:
        return ()
    joints = [each.joint for each in log.joints()]
    done = {
        First.ADHESIVE: bool(log.adhesives()),
        First.RULES: rules_seen or log.rules() != ShopRules(),
        First.JOINT: any(joint.stack.is_bonded for joint in joints),
        First.COUPON: coupons > 0,
        First.MAKER: any(
            log.recommendation(joint.machine, joint.stack) is not None
            for joint in joints
            if joint.stack.adhesive_state is AdhesiveState.CURED
        ),
    }
    if all(done[each] for each in NEEDED):
        return ()
    return tuple(FirstStep(each, done[each]) for each in First)
