"""Releasing a joint: a named person's recorded decision, with its evidence frozen.

A release stands on certain revisions of certain coupons. When one of them is voided or corrected
to a fail later, or a newer matching coupon fails at that setting, the joint is open again.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from advisor.coupons.coverage import Coverage, CoverState
from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.verdict import Outcome
from advisor.errors import RecordError
from advisor.language import say
from advisor.weld.setting import Setting


@dataclass(frozen=True)
class Evidence:
    """One coupon as it stood at the release.

    Parameters
    ----------
    number, revision : int
        The coupon, and its revision then.
    """

    number: int
    revision: int


@dataclass(frozen=True)
class Release:
    """A joint released for welding.

    Parameters
    ----------
    by : str
        Who released it.
    at : datetime
        When.
    setting : Setting
        The proven setting the joint is to be welded with.
    evidence : tuple of Evidence
        The coupons it stands on.
    note : str
        Free text.
    """

    by: str
    at: datetime
    setting: Setting
    evidence: tuple[Evidence, ...]
    note: str = ""


def release_joint(coverage: Coverage, by: str, at: datetime, note: str = "") -> Release:
    """Return the release of a covered joint.

    Raises
    ------
    RecordError
        The joint is not covered; the text says what is missing.
    """
    if coverage.state is not CoverState.COVERED or coverage.setting is None:
        raise RecordError(
            say(
                "the joint cannot be released: {headline}. {detail}",
                headline=coverage.headline,
                detail=coverage.detail,
            )
        )
    evidence = tuple(Evidence(c.number, c.revision) for c in coverage.evidence)
    return Release(by.strip(), at, coverage.setting, evidence, note.strip())


def reopened(
    release: Release, evidence_now: Mapping[int, LoggedCoupon], coverage_now: Coverage
) -> tuple[str, ...]:
    """Say why a release no longer stands; nothing when it does.

    Parameters
    ----------
    release : Release
        The newest release of the joint.
    evidence_now : mapping of int to LoggedCoupon
        Its coupons by number, as the log holds them now.
    coverage_now : Coverage
        What all coupons say now. That a coupon has grown old since does not re-open a joint.

    Returns
    -------
    tuple of str
        One sentence a reason.
    """
    reasons = [
        reason for each in release.evidence for reason in _lost(each, evidence_now.get(each.number))
    ]
    if coverage_now.state is CoverState.FAILED:
        reasons.append(say("a matching coupon failed: {detail}", detail=coverage_now.detail))
    return tuple(reasons)


def _lost(then: Evidence, now: LoggedCoupon | None) -> Iterable[str]:
    if now is None:
        yield say("coupon #{coupon} is not in the log any more", coupon=then.number)
    elif now.voided:
        yield say("coupon #{coupon} was voided: {why}", coupon=then.number, why=now.voided)
    elif now.verdict.outcome is not Outcome.PASS:
        yield say(
            "coupon #{coupon} was corrected and is now: {verdict}",
            coupon=then.number,
            verdict=now.verdict.outcome.label,
        )
