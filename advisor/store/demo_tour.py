"""What a look round the demo shop works on: a bonded joint whose test is missing."""

from __future__ import annotations

from dataclasses import replace
from itertools import count

from advisor.coupons.coverage import CoverState
from advisor.coupons.joint import Joint
from advisor.store.auditing import Waiting
from advisor.store.log import Log
from advisor.weld.stack import AdhesiveState

#: Number of the job that is opened when no other is left to look at.
_NEXT_JOB = 1042


def joint_to_prove(log: Log, by: str) -> int:
    """Return the number of a joint for a tour.

    Where every bonded joint of the demo shop has been proven before, one more job is opened, so
    that each visitor finds one whose test is missing.

    Parameters
    ----------
    log : Log
        The demo shop's log.
    by : str
        Who looks round.
    """
    missing = [each.stored.id for each in log.waiting() if _is_missing(each)]
    if missing:
        return missing[-1]
    usual = [each.joint for each in log.joints() if _is_plain_and_wet(each.joint)]
    return log.save_joint(replace(usual[-1], job=_free_job(log)), by)


def newest_number(log: Log, welder: str) -> int:
    """Return the number of the coupon that a person welded last; 0 when there is none."""
    return max((each.number for each in log.recent_coupons(1, welder_name=welder)), default=0)


def _is_plain_and_wet(joint: Joint) -> bool:
    return len(joint.stack.sheets) == 2 and joint.stack.adhesive_state is AdhesiveState.WET


def _is_missing(each: Waiting) -> bool:
    is_missing = each.coverage.state in (CoverState.MISSING, CoverState.EXPIRED)
    return is_missing and not each.is_released and _is_plain_and_wet(each.stored.joint)


def _free_job(log: Log) -> str:
    taken = set(log.jobs(open_only=False))
    return next(job for number in count(_NEXT_JOB) if (job := f"D-{number}") not in taken)
